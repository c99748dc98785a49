package bank

import (
	"context"
	"fmt"
	"strings"
)

// RowChange is one row that an entry of the journal changed, as columns by
// name: whole numbers (int64), texts and blobs. Before or After is nil where
// the row was not there.
type RowChange struct {
	Table         string
	Key           []string
	Before, After map[string]any
}

// Changes lists the rows that an entry changed, in order of table and key.
// The journal holds how a row was before; how it was after is how it was
// before the next change, or how it is now. It reads all later entries.
// ErrNotFound if there is no such entry.
func (b *Bank) Changes(ctx context.Context, entry int64) ([]RowChange, error) {
	var list []RowChange
	err := b.read(ctx, func(v view) (err error) {
		list, err = v.changes(ctx, entry)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read entry %d of the journal: %w", entry, err)
	}
	return list, nil
}

func (v view) changes(ctx context.Context, entry int64) ([]RowChange, error) {
	type state struct {
		before, after []byte
		known         bool
	}
	var order []rowID
	rows := map[rowID]*state{}
	err := v.eachChange(ctx, "entry = ?", entry, func(id rowID, before []byte) {
		order = append(order, id)
		rows[id] = &state{before: before}
	})
	if err != nil {
		return nil, err
	}
	if len(order) == 0 {
		return nil, notFound("entry", fmt.Sprint(entry))
	}
	err = v.eachChange(ctx, "entry > ?", entry, func(id rowID, before []byte) {
		if s, ok := rows[id]; ok && !s.known {
			s.after, s.known = before, true
		}
	})
	if err != nil {
		return nil, err
	}
	list := make([]RowChange, 0, len(order))
	for _, id := range order {
		s := rows[id]
		if !s.known {
			if s.after, err = v.image(ctx, id); err != nil {
				return nil, err
			}
		}
		c := RowChange{Table: id.table.name, Key: strings.Split(id.key, keySep)}
		if c.Before, err = columns(s.before); err != nil {
			return nil, err
		}
		if c.After, err = columns(s.after); err != nil {
			return nil, err
		}
		list = append(list, c)
	}
	return list, nil
}

// eachChange hands on rows of the journal in the order of entries.
func (v view) eachChange(ctx context.Context, where string, entry int64, f func(id rowID, before []byte)) error {
	return v.each(ctx, "SELECT tbl, key, before FROM change WHERE "+where+" ORDER BY entry, tbl, key", []any{entry},
		func(scan func(...any) error) error {
			var name string
			var id rowID
			var before []byte
			if err := scan(&name, &id.key, &before); err != nil {
				return err
			}
			var err error
			if id.table, err = tableNamed(name); err != nil {
				return err
			}
			f(id, before)
			return nil
		})
}

// image reads a row as it is now; nil if it isn't there.
func (v view) image(ctx context.Context, id rowID) (image []byte, err error) {
	err = v.each(ctx, id.table.selectSQL(), keyArgs(id.key), func(scan func(...any) error) error {
		vals, into := id.table.targets()
		if err := scan(into...); err != nil {
			return err
		}
		image, err = id.table.image(vals)
		return err
	})
	return image, err
}

// columns unpacks an image; nil stays nil.
func columns(image []byte) (map[string]any, error) {
	if image == nil {
		return nil, nil
	}
	m := map[string]any{}
	err := eachColumn(image, func(name string, v any) { m[name] = v })
	return m, err
}
