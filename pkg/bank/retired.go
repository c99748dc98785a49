package bank

import (
	"context"
	"fmt"
	"strings"

	"rushlight/pkg/story"
)

// Retired lists the quotes that a reel once had, as they were last, with
// themes, rating and note: for taking them up again where a transcript says
// them again. A reel that isn't there, or lost none, gives an empty list.
func (b *Bank) Retired(ctx context.Context, reel string) ([]story.Quote, error) {
	var list []story.Quote
	err := b.read(ctx, func(v view) (err error) {
		list, err = v.retiredOf(ctx, reel)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read what %s had: %w", reel, err)
	}
	return list, nil
}

// RetiredQuote is a quote that is no longer there, as it was last. Error:
// ErrNotFound if the code never was a quote's, or still is.
func (b *Bank) RetiredQuote(ctx context.Context, code story.Code) (story.Quote, error) {
	var list []story.Quote
	err := b.read(ctx, func(v view) (err error) {
		if list, err = v.retired(ctx, "code = ?", string(code)); err == nil && len(list) == 0 {
			err = ErrNotFound
		}
		return err
	})
	if err != nil {
		return story.Quote{}, fmt.Errorf("retired quote %s: %w", code, err)
	}
	return list[0], nil
}

// retiredOf lists the retired quotes of a reel, whose name they hold as it was
// spelt then.
func (v view) retiredOf(ctx context.Context, reel string) ([]story.Quote, error) {
	var spelt []any
	err := v.each(ctx, "SELECT DISTINCT reel FROM retired", nil, func(scan func(...any) error) error {
		var name string
		err := scan(&name)
		if fold(name) == fold(reel) {
			spelt = append(spelt, name)
		}
		return err
	})
	if err != nil || len(spelt) == 0 {
		return nil, err
	}
	return v.retired(ctx, "reel IN ("+marks(len(spelt))+")", spelt...)
}

// retired lists the retired quotes that a condition picks.
func (v view) retired(ctx context.Context, where string, args ...any) ([]story.Quote, error) {
	var list []story.Quote
	at := map[story.Code]int{}
	err := v.each(ctx, "SELECT code, reel, speaker, tin, tout, text FROM retired WHERE "+where, args, func(scan func(...any) error) error {
		var q story.Quote
		err := scan(&q.Code, &q.Reel, &q.Speaker, &q.In, &q.Out, &q.Text)
		at[q.Code] = len(list)
		list = append(list, q)
		return err
	})
	if err != nil || len(list) == 0 {
		return nil, err
	}
	gone, err := v.retiredBy(ctx, at)
	if err != nil {
		return nil, err
	}
	names := map[string]string{}
	err = v.each(ctx, "SELECT key, name FROM theme", nil, func(scan func(...any) error) error {
		var key, name string
		err := scan(&key, &name)
		names[key] = name
		return err
	})
	if err != nil {
		return nil, err
	}
	for i, entry := range gone {
		if err := v.lastMarks(ctx, &list[i], entry, names); err != nil {
			return nil, err
		}
	}
	return list, nil
}

// retiredBy gives the entry that took each quote away. It looks into each entry
// for the rows of one table, which the journal's key finds, so that it never
// reads all rows of the journal.
func (v view) retiredBy(ctx context.Context, at map[story.Code]int) (map[int]int64, error) {
	gone := map[int]int64{}
	err := v.each(ctx, `SELECT c.entry, c.key FROM journal AS j CROSS JOIN change AS c ON c.entry = j.entry
		WHERE c.tbl = 'retired' ORDER BY j.entry`, nil, func(scan func(...any) error) error {
		var entry int64
		var code story.Code
		err := scan(&entry, &code)
		if i, ok := at[code]; ok {
			gone[i] = entry
		}
		return err
	})
	return gone, err
}

// lastMarks puts themes, rating and note on a quote that is gone: what the
// entry that took it away found on it. names are those of themes, by key.
func (v view) lastMarks(ctx context.Context, q *story.Quote, entry int64, names map[string]string) error {
	// The key is the code, a zero byte and the theme's key.
	err := v.each(ctx, `SELECT key FROM change WHERE entry = ?1 AND tbl = 'tag'
		AND key > ?2 || char(0) AND key < ?2 || char(1) AND before IS NOT NULL ORDER BY key`,
		[]any{entry, string(q.Code)}, func(scan func(...any) error) error {
			var key string
			err := scan(&key)
			_, theme, _ := strings.Cut(key, keySep)
			if name, ok := names[theme]; ok {
				q.Themes = append(q.Themes, name)
			}
			return err
		})
	if err != nil {
		return err
	}
	return v.each(ctx, "SELECT before FROM change WHERE entry = ? AND tbl = 'mark' AND key = ? AND before IS NOT NULL",
		[]any{entry, string(q.Code)}, func(scan func(...any) error) error {
			var before []byte
			if err := scan(&before); err != nil {
				return err
			}
			vals, err := tableMark.values(before)
			if err != nil {
				return err
			}
			rating, _ := vals[0].(int64)
			q.Rating = int(rating)
			q.Note, _ = vals[1].(string)
			return nil
		})
}
