package bank

import (
	"context"
	"fmt"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Retired lists the quotes that a reel once had, as they were last, with
// themes, rating and note: for taking them up again where a transcript says
// them again. A reel that isn't there, or lost none, gives an empty list.
func (b *Bank) Retired(ctx context.Context, reel string) ([]story.Quote, error) {
	list, err := b.retired(ctx, func(q story.Quote) bool { return fold(q.Reel) == fold(reel) })
	if err != nil {
		return nil, fmt.Errorf("read what %s had: %w", reel, err)
	}
	return list, nil
}

// RetiredQuote is a quote that is no longer there, as it was last. Error:
// ErrNotFound if the code never was a quote's, or still is.
func (b *Bank) RetiredQuote(ctx context.Context, code story.Code) (story.Quote, error) {
	list, err := b.retired(ctx, func(q story.Quote) bool { return q.Code == code })
	if err == nil && len(list) == 0 {
		err = ErrNotFound
	}
	if err != nil {
		return story.Quote{}, fmt.Errorf("retired quote %s: %w", code, err)
	}
	return list[0], nil
}

// retired lists the retired quotes that are wanted.
func (b *Bank) retired(ctx context.Context, wanted func(story.Quote) bool) ([]story.Quote, error) {
	var list []story.Quote
	err := b.read(ctx, func(v view) error {
		at := map[story.Code]int{}
		err := v.each(ctx, "SELECT code, reel, speaker, tin, tout, text FROM retired", nil, func(scan func(...any) error) error {
			var q story.Quote
			var in, out int64
			if err := scan(&q.Code, &q.Reel, &q.Speaker, &in, &out, &q.Text); err != nil {
				return err
			}
			if wanted(q) {
				q.In, q.Out = timecode.Ticks(in), timecode.Ticks(out)
				at[q.Code] = len(list)
				list = append(list, q)
			}
			return nil
		})
		if err != nil || len(list) == 0 {
			return err
		}
		return v.lastMarks(ctx, list, at)
	})
	return list, fault(err)
}

// lastMarks puts themes, rating and note on quotes that are gone: what the
// entry that took each away found on it.
func (v view) lastMarks(ctx context.Context, list []story.Quote, at map[story.Code]int) error {
	gone := map[story.Code]int64{}
	err := v.each(ctx, "SELECT entry, key FROM change WHERE tbl = 'quote' ORDER BY entry", nil, func(scan func(...any) error) error {
		var entry int64
		var code story.Code
		if err := scan(&entry, &code); err != nil {
			return err
		}
		if _, ok := at[code]; ok {
			gone[code] = entry
		}
		return nil
	})
	if err != nil {
		return err
	}
	names := map[string]string{}
	err = v.each(ctx, "SELECT key, name FROM theme", nil, func(scan func(...any) error) error {
		var key, name string
		err := scan(&key, &name)
		names[key] = name
		return err
	})
	if err != nil {
		return err
	}
	return v.each(ctx, "SELECT entry, tbl, key, before FROM change WHERE tbl IN ('mark', 'tag') AND before IS NOT NULL ORDER BY entry, tbl, key", nil,
		func(scan func(...any) error) error {
			var entry int64
			var tbl, key string
			var before []byte
			if err := scan(&entry, &tbl, &key, &before); err != nil {
				return err
			}
			code, theme, _ := strings.Cut(key, keySep)
			i, ok := at[story.Code(code)]
			if !ok || gone[story.Code(code)] != entry {
				return nil
			}
			if tbl == tableTag.name {
				if name, ok := names[theme]; ok {
					list[i].Themes = append(list[i].Themes, name)
				}
				return nil
			}
			vals, err := tableMark.values(before)
			if err != nil {
				return err
			}
			rating, _ := vals[0].(int64)
			note, _ := vals[1].(string)
			list[i].Rating, list[i].Note = int(rating), note
			return nil
		})
}
