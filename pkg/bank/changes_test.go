package bank

import (
	"context"
	"strings"
)

// rowStory is one row that an entry of the journal changed, as columns by
// name: whole numbers (int64), texts and blobs. before or after is nil where
// the row was not there.
type rowStory struct {
	table         string
	key           []string
	before, after map[string]any
}

// stories lists the rows that an entry changed, in order of table and key. The
// journal holds how a row was before; how it was after is how it was before
// the next change, or how it is now: so all later entries are read.
func (v view) stories(ctx context.Context, entry int64) ([]rowStory, error) {
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
	err = v.eachChange(ctx, "entry > ?", entry, func(id rowID, before []byte) {
		if s, ok := rows[id]; ok && !s.known {
			s.after, s.known = before, true
		}
	})
	if err != nil {
		return nil, err
	}
	list := make([]rowStory, 0, len(order))
	for _, id := range order {
		s := rows[id]
		if !s.known {
			if s.after, err = v.image(ctx, id); err != nil {
				return nil, err
			}
		}
		c := rowStory{table: id.table.name, key: strings.Split(id.key, keySep)}
		if c.before, err = columns(s.before); err != nil {
			return nil, err
		}
		if c.after, err = columns(s.after); err != nil {
			return nil, err
		}
		list = append(list, c)
	}
	return list, nil
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
