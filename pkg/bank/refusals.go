package bank

import (
	"context"
	"fmt"

	"rushlight/pkg/story"
)

// Refuse keeps a theme from being put on quotes by its rule; one that the rule
// has put there is taken off. It lasts until somebody tags the quote with the
// theme by hand, or the quote or the theme goes. n is how many were not refused
// before. ErrNotFound if the theme or a quote isn't there; story.ErrInvalid for
// a quote that carries the theme by hand.
func (tx *Tx) Refuse(theme string, codes []story.Code) (n int, err error) {
	if err := tx.themeThere(theme); err != nil {
		return 0, err
	}
	for _, c := range codes {
		if err := tx.there(c); err != nil {
			return n, err
		}
		row := rowKey(string(c), themeKey(theme))
		had, on, err := tx.tagRow(row)
		if err != nil {
			return n, err
		}
		if on && had.by == story.ByHand {
			return n, fmt.Errorf("quote %s: refusal %w: it carries %q by hand; take that off first", c, story.ErrInvalid, theme)
		}
		if _, err := tx.del(tableTag, row); err != nil {
			return n, err
		}
		fresh, err := tx.refuse(row)
		if err != nil {
			return n, err
		}
		if fresh {
			n++
		}
	}
	return n, nil
}

// refuse notes a refusal; one that is there stays as it is.
func (tx *Tx) refuse(row string) (fresh bool, err error) {
	if there, err := tx.has(tableRefusal, row); err != nil || there {
		return false, err
	}
	return tx.put(tableRefusal, row, tx.who, moment(tx.moment()))
}

// moveRefusals makes what was refused for one theme refused for another, but
// for the quotes that carry that.
func (tx *Tx) moveRefusals(from, to string) error {
	codes, err := tx.texts("SELECT code FROM refusal WHERE theme = ?", from)
	if err != nil {
		return err
	}
	for _, c := range codes {
		vals, err := tx.values(tableRefusal, rowKey(c, from))
		if err != nil {
			return err
		}
		if _, err := tx.del(tableRefusal, rowKey(c, from)); err != nil {
			return err
		}
		on, err := tx.has(tableTag, rowKey(c, to))
		if err != nil {
			return err
		}
		refused, err := tx.has(tableRefusal, rowKey(c, to))
		if err != nil {
			return err
		}
		if on || refused {
			continue
		}
		if _, err := tx.put(tableRefusal, rowKey(c, to), vals...); err != nil {
			return err
		}
	}
	return nil
}

// Refused lists the quotes for which a theme was refused, in the order of
// Quotes. ErrNotFound if there is no such theme.
func (b *Bank) Refused(ctx context.Context, theme string) ([]story.Code, error) {
	var list []story.Code
	err := b.read(ctx, func(v view) error {
		var one int
		err := v.q.QueryRowContext(ctx, "SELECT 1 FROM theme WHERE key = ?", themeKey(theme)).Scan(&one)
		if isNone(err) {
			return notFound("theme", theme)
		}
		if err != nil {
			return fault(err)
		}
		return v.each(ctx, `SELECT q.code FROM refusal AS f
			JOIN quote AS q ON q.code = f.code JOIN recording AS r ON r.key = q.reel
			WHERE f.theme = ? ORDER BY `+shotOrder+`, q.ord`, []any{themeKey(theme)},
			func(scan func(...any) error) error {
				list = append(list, "")
				return scan(&list[len(list)-1])
			})
	})
	if err != nil {
		return nil, fmt.Errorf("read what was refused: %w", err)
	}
	return list, nil
}
