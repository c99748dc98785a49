package bank

import (
	"bytes"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"runtime/debug"
	"strings"
)

// rowID names one row of the bank.
type rowID struct {
	table *table
	key   string
}

// sum tells whether two images of a row are the same: the first half of their
// SHA-256. A row that isn't there has the zero sum.
type sum [16]byte

func sumOf(image []byte) sum {
	if image == nil {
		return sum{}
	}
	whole := sha256.Sum256(image)
	return sum(whole[:16])
}

// rowChange is a row that a transaction wrote: how it was before and how it is
// now. How it was stands in the journal by then.
type rowChange struct{ before, now sum }

// image reads a row as it is now; nil if it isn't there.
func (tx *Tx) image(t *table, key string) ([]byte, error) {
	id := rowID{t, key}
	if r, ok := tx.rows[id]; ok && r.now == (sum{}) {
		return nil, nil
	}
	if image, ok := tx.ahead[id]; ok {
		return image, nil
	}
	if strings.Count(key, keySep) != len(t.key)-1 {
		// No name in the bank holds the separator.
		return nil, nil
	}
	stmt, err := tx.prepare(t.selectSQL())
	if err != nil {
		return nil, err
	}
	vals, into := t.targets()
	switch err := stmt.QueryRowContext(tx.ctx, keyArgs(key)...).Scan(into...); {
	case errors.Is(err, sql.ErrNoRows):
		return nil, nil
	case err != nil:
		return nil, fault(err)
	}
	return t.image(vals)
}

// lookAhead reads rows of a table with one key column together, so that image
// doesn't ask for each; those that aren't there, too.
func (tx *Tx) lookAhead(t *table, keys []string) error {
	for _, key := range keys {
		if _, ok := tx.rows[rowID{t, key}]; !ok {
			tx.ahead[rowID{t, key}] = nil
		}
	}
	query := "SELECT " + t.key[0] + "," + strings.Join(t.cols, ",") + " FROM " + t.name + " WHERE " + t.key[0] + " IN (" + marks(len(keys)) + ")"
	return tx.view.each(tx.ctx, query, textArgs(keys), func(scan func(...any) error) error {
		var key string
		vals, into := t.targets()
		if err := scan(append([]any{&key}, into...)...); err != nil {
			return err
		}
		return tx.sawAhead(t, key, vals)
	})
}

// sawAhead takes note of a row that was read with others.
func (tx *Tx) sawAhead(t *table, key string, vals []any) error {
	image, err := t.image(vals)
	if err == nil {
		tx.ahead[rowID{t, key}] = image
	}
	return err
}

// values reads the columns of a row as they are now; nil if it isn't there.
func (tx *Tx) values(t *table, key string) ([]any, error) {
	image, err := tx.image(t, key)
	if err != nil || image == nil {
		return nil, err
	}
	return t.values(image)
}

// has tells whether a row is there.
func (tx *Tx) has(t *table, key string) (bool, error) {
	if r, ok := tx.rows[rowID{t, key}]; ok {
		return r.now != sum{}, nil
	}
	image, err := tx.image(t, key)
	return image != nil, err
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

// set makes a row hold vals, whose image is given.
func (tx *Tx) set(t *table, key string, vals []any, image []byte) (bool, error) {
	r, same, err := tx.begin(t, key, image)
	if err != nil || same {
		return false, err
	}
	query, args := t.insertSQL(), append(keyArgs(key), vals...)
	if r.now != (sum{}) {
		query, args = t.updateSQL(), append(append([]any{}, vals...), keyArgs(key)...)
	}
	stmt, err := tx.prepare(query)
	if err != nil {
		return false, err
	}
	makeRoom(len(image))
	if _, err := stmt.ExecContext(tx.ctx, args...); err != nil {
		return false, fmt.Errorf("store in %s: %w", t.name, fault(err))
	}
	tx.wrote(t, key, rowChange{r.before, sumOf(image)})
	return true, nil
}

// makeRoom gives back what is no longer used before SQLite makes two copies of
// a large body, such as the envelope of more than about four hours, and after
// it gave one: it has memory of its own, which the collector knows nothing of.
func makeRoom(size int) {
	if size > 4<<20 {
		debug.FreeOSMemory()
	}
}

// del takes a row away. It tells whether it was there.
func (tx *Tx) del(t *table, key string) (bool, error) {
	r, same, err := tx.begin(t, key, nil)
	if err != nil || same {
		return false, err
	}
	stmt, err := tx.prepare(t.deleteSQL())
	if err != nil {
		return false, err
	}
	if _, err := stmt.ExecContext(tx.ctx, keyArgs(key)...); err != nil {
		return false, fmt.Errorf("remove from %s: %w", t.name, fault(err))
	}
	tx.wrote(t, key, rowChange{r.before, sum{}})
	return true, nil
}

// begin is before a row is made to be as an image says: how it was at first
// goes into the journal. same tells that it is so already.
func (tx *Tx) begin(t *table, key string, image []byte) (r rowChange, same bool, err error) {
	r, ok := tx.rows[rowID{t, key}]
	if ok {
		return r, r.now == sumOf(image), nil
	}
	before, err := tx.image(t, key)
	if err != nil || (before == nil) == (image == nil) && bytes.Equal(before, image) {
		return r, true, err
	}
	r = rowChange{sumOf(before), sumOf(before)}
	if err := tx.note(rowID{t, key}, before); err != nil {
		return r, false, err
	}
	tx.rows[rowID{t, key}] = r
	return r, false, nil
}

func (tx *Tx) wrote(t *table, key string, r rowChange) {
	tx.rows[rowID{t, key}] = r
	delete(tx.ahead, rowID{t, key})
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
	s, err := tx.conn.PrepareContext(tx.ctx, query)
	if err != nil {
		return nil, fault(err)
	}
	tx.stmts[query] = s
	return s, nil
}

func keyArgs(key string) []any { return textArgs(strings.Split(key, keySep)) }

func textArgs(texts []string) []any {
	args := make([]any, len(texts))
	for i, s := range texts {
		args[i] = s
	}
	return args
}
