package bank

import (
	"context"
	"database/sql"
	"fmt"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Selects gives a list by name, in any case, as it plays now: an item that
// isn't trimmed has the in and out of its quote, and an item whose quote is
// gone is Lost and is as the quote was last. ErrNotFound.
func (b *Bank) Selects(ctx context.Context, name string) (story.Selects, error) {
	var s story.Selects
	err := b.read(ctx, func(v view) (err error) {
		s, err = v.selects(ctx, name)
		return err
	})
	return s, err
}

// Selects gives a list by name as Bank.Selects does, as it is inside the
// change.
func (tx *Tx) Selects(name string) (story.Selects, error) { return tx.view.selects(tx.ctx, name) }

// AllSelects gives all lists in alphabetical order.
func (b *Bank) AllSelects(ctx context.Context) ([]story.Selects, error) {
	var list []story.Selects
	err := b.read(ctx, func(v view) error {
		rows, err := v.q.QueryContext(ctx, "SELECT key FROM selects ORDER BY key")
		if err != nil {
			return fmt.Errorf("read selects: %w", fault(err))
		}
		defer func() { _ = rows.Close() }()
		for rows.Next() {
			var key string
			if err := rows.Scan(&key); err != nil {
				return fmt.Errorf("read selects: %w", fault(err))
			}
			s, err := v.selects(ctx, key)
			if err != nil {
				return err
			}
			list = append(list, s)
		}
		return fault(rows.Err())
	})
	return list, err
}

func (v view) selects(ctx context.Context, name string) (story.Selects, error) {
	var s story.Selects
	key := fold(name)
	if tidy, err := story.SelectsName(name); err == nil {
		key = fold(tidy)
	}
	err := v.q.QueryRowContext(ctx, "SELECT name, target FROM selects WHERE key = ?", key).Scan(&s.Name, &s.Target)
	if isNone(err) {
		return s, notFound("selects", name)
	}
	if err != nil {
		return s, fmt.Errorf("read selects: %w", fault(err))
	}
	// A quote that is there gives its own columns, one that is gone those of
	// its last state.
	rows, err := v.q.QueryContext(ctx, `SELECT i.id, i.code, i.trimmed, i.tin, i.tout, i.note,
		q.code IS NULL,
		coalesce(r.reel, g.reel), coalesce(q.speaker, g.speaker), coalesce(q.text, g.text),
		coalesce(q.tin, g.tin), coalesce(q.tout, g.tout),
		coalesce(r.rate_num, g.rate_num), coalesce(r.rate_den, g.rate_den),
		coalesce(r.drop_frame, g.drop_frame), coalesce(r.start, g.start)
		FROM item AS i
		LEFT JOIN quote AS q ON q.code = i.code
		LEFT JOIN recording AS r ON r.key = q.reel
		LEFT JOIN retired AS g ON g.code = i.code
		WHERE i.selects = ? ORDER BY i.pos`, key)
	if err != nil {
		return s, fmt.Errorf("read selects: %w", fault(err))
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		it, err := scanItem(rows)
		if err != nil {
			return s, fmt.Errorf("read selects: %w", fault(err))
		}
		s.Items = append(s.Items, it)
	}
	return s, fault(rows.Err())
}

func scanItem(rows *sql.Rows) (story.Item, error) {
	var it story.Item
	var own timecode.Span
	c := &it.Clock
	err := rows.Scan(&it.ID, &it.Code, &it.Trimmed, &it.In, &it.Out, &it.Note, &it.Lost,
		&it.Reel, &it.Speaker, &it.Text, &own.In, &own.Out,
		&c.Base.Rate.Num, &c.Base.Rate.Den, &c.Base.Drop, &c.Start)
	if !it.Trimmed {
		it.Span = own
	}
	return it, err
}

// PutSelects stores a list, new or in place of the one with its name (in any
// case). Of the items only ID, Code, Trimmed, Note and, where trimmed, the
// span are stored; the rest follows from the quotes. Items with ID 0 get a
// new one, never used in this list before; read the list again to see it.
// ErrNotFound for an item whose quote was never in the bank, story.ErrInvalid
// for a name that can't be, an ID twice, or a trim whose out is not after its
// in.
func (tx *Tx) PutSelects(s story.Selects) error {
	name, err := story.SelectsName(s.Name)
	if err != nil {
		return err
	}
	key := fold(name)
	next, had, err := tx.selectsState(key)
	if err != nil {
		return err
	}
	seen := make(map[int]bool, len(s.Items))
	for _, it := range s.Items {
		if err := tx.validItem(it); err != nil {
			return fmt.Errorf("selects %q: %w", name, err)
		}
		if it.ID != 0 && seen[it.ID] {
			return fmt.Errorf("selects %q: item %d %w: it stands there twice", name, it.ID, story.ErrInvalid)
		}
		seen[it.ID] = true
		next = max(next, it.ID+1)
	}
	for _, id := range had {
		if !seen[id] {
			if _, err := tx.del(tableItem, itemKey(key, id)); err != nil {
				return err
			}
		}
	}
	for i, it := range s.Items {
		if it.ID == 0 {
			it.ID = next
			next++
		}
		if !it.Trimmed {
			it.Span = timecode.Span{}
		}
		_, err := tx.put(tableItem, itemKey(key, it.ID),
			i, string(it.Code), it.Trimmed, int64(it.In), int64(it.Out), it.Note)
		if err != nil {
			return err
		}
	}
	_, err = tx.put(tableSelects, key, name, int64(s.Target), next)
	return err
}

func itemKey(selects string, id int) string { return rowKey(selects, fmt.Sprint(id)) }

func (tx *Tx) validItem(it story.Item) error {
	switch {
	case it.ID < 0:
		return fmt.Errorf("item %d %w: want a number from 1, or 0 for a new item", it.ID, story.ErrInvalid)
	case it.Trimmed && it.Empty():
		return fmt.Errorf("quote %s: trim %w: out %s is not after in %s", it.Code, story.ErrInvalid, it.Out, it.In)
	}
	ok, err := tx.has(tableQuote, string(it.Code))
	if err == nil && !ok {
		ok, err = tx.has(tableRetired, string(it.Code))
	}
	if err == nil && !ok {
		err = missing([]story.Code{it.Code}, func(story.Code) bool { return false })
	}
	return err
}

// selectsState gives the next free ID of a list and the IDs it has; 1 and
// none for a new list.
func (tx *Tx) selectsState(key string) (next int, ids []int, err error) {
	vals, err := tx.values(tableSelects, key)
	if err != nil || vals == nil {
		return 1, nil, err
	}
	n, _ := vals[2].(int64)
	err = tx.each("SELECT id FROM item WHERE selects = ?", key, func(scan func(...any) error) error {
		ids = append(ids, 0)
		return scan(&ids[len(ids)-1])
	})
	return int(n), ids, err
}

// RemoveSelects takes a list away; its quotes stay. ErrNotFound.
func (tx *Tx) RemoveSelects(name string) error {
	s, err := tx.Selects(name)
	if err != nil {
		return err
	}
	key := fold(s.Name)
	for _, it := range s.Items {
		if _, err := tx.del(tableItem, itemKey(key, it.ID)); err != nil {
			return err
		}
	}
	_, err = tx.del(tableSelects, key)
	return err
}
