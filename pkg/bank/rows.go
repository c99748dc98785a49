package bank

import (
	"bytes"
	"database/sql"
	"errors"
	"fmt"
	"strings"
)

// rowID names one row of the bank.
type rowID struct {
	table *table
	key   string
}

// rowChange is a row that a transaction looked at: how it was before and how
// it is now, nil where it is not there.
type rowChange struct {
	rowID
	before, now []byte
}

// row gives the record of a row, read from the bank the first time.
func (tx *Tx) row(t *table, key string) (*rowChange, error) {
	id := rowID{t, key}
	if r, ok := tx.rows[id]; ok {
		return r, nil
	}
	if strings.Count(key, keySep) != len(t.key)-1 {
		// No name in the bank holds the separator.
		return tx.know(t, key, nil), nil
	}
	stmt, err := tx.prepare(t.selectSQL())
	if err != nil {
		return nil, err
	}
	vals, into := t.targets()
	var image []byte
	switch err := stmt.QueryRowContext(tx.ctx, keyArgs(key)...).Scan(into...); {
	case errors.Is(err, sql.ErrNoRows):
	case err != nil:
		return nil, fault(err)
	default:
		if image, err = t.image(vals); err != nil {
			return nil, err
		}
	}
	return tx.know(t, key, image), nil
}

// know takes note of a row as it is in the bank, if it isn't known yet.
func (tx *Tx) know(t *table, key string, image []byte) *rowChange {
	id := rowID{t, key}
	r, ok := tx.rows[id]
	if !ok {
		r = &rowChange{rowID: id, before: image, now: image}
		tx.rows[id] = r
	}
	return r
}

// has tells whether a row is there.
func (tx *Tx) has(t *table, key string) (bool, error) {
	r, err := tx.row(t, key)
	return err == nil && r.now != nil, err
}

// put makes a row hold vals, one for each of the table's columns. It tells
// whether that changed anything.
func (tx *Tx) put(t *table, key string, vals ...any) (bool, error) {
	for i, v := range vals {
		// The bank holds 64-bit numbers, texts and blobs.
		switch v := v.(type) {
		case int:
			vals[i] = int64(v)
		case bool:
			vals[i] = int64(0)
			if v {
				vals[i] = int64(1)
			}
		case []byte:
			// An empty blob comes back as nil, which SQLite takes for NULL.
			if v == nil {
				vals[i] = []byte{}
			}
		}
	}
	image, err := t.image(vals)
	if err != nil {
		return false, err
	}
	return tx.set(t, key, vals, image)
}

func (tx *Tx) set(t *table, key string, vals []any, image []byte) (bool, error) {
	r, err := tx.row(t, key)
	if err != nil || r.now != nil && bytes.Equal(r.now, image) {
		return false, err
	}
	var stmt *sql.Stmt
	var args []any
	if r.now == nil {
		stmt, err = tx.prepare(t.insertSQL())
		args = append(keyArgs(key), vals...)
	} else {
		stmt, err = tx.prepare(t.updateSQL())
		args = append(append(args, vals...), keyArgs(key)...)
	}
	if err != nil {
		return false, err
	}
	if _, err := stmt.ExecContext(tx.ctx, args...); err != nil {
		return false, fmt.Errorf("store in %s: %w", t.name, fault(err))
	}
	r.now = image
	return true, nil
}

// del takes a row away. It tells whether it was there.
func (tx *Tx) del(t *table, key string) (bool, error) {
	r, err := tx.row(t, key)
	if err != nil || r.now == nil {
		return false, err
	}
	stmt, err := tx.prepare(t.deleteSQL())
	if err != nil {
		return false, err
	}
	if _, err := stmt.ExecContext(tx.ctx, keyArgs(key)...); err != nil {
		return false, fmt.Errorf("remove from %s: %w", t.name, fault(err))
	}
	r.now = nil
	return true, nil
}

// restore puts a row back to an image; nil takes it away.
func (tx *Tx) restore(t *table, key string, image []byte) error {
	if image == nil {
		_, err := tx.del(t, key)
		return err
	}
	vals, err := t.values(image)
	if err != nil {
		return err
	}
	again, err := t.image(vals)
	if err != nil {
		return err
	}
	_, err = tx.set(t, key, vals, again)
	return err
}

// prepare gives a statement of this transaction, prepared once.
func (tx *Tx) prepare(query string) (*sql.Stmt, error) {
	if s, ok := tx.stmts[query]; ok {
		return s, nil
	}
	s, err := tx.tx.PrepareContext(tx.ctx, query)
	if err != nil {
		return nil, fault(err)
	}
	tx.stmts[query] = s
	return s, nil
}

func keyArgs(key string) []any {
	parts := strings.Split(key, keySep)
	args := make([]any, len(parts))
	for i, p := range parts {
		args[i] = p
	}
	return args
}
