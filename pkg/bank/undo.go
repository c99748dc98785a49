package bank

import (
	"bytes"
	"context"
	"fmt"

	"rushlight/pkg/story"
)

// Undo takes back the last change that is not itself an undo and was not yet
// taken back, whoever made it, as a new entry that names it, and its maker if
// that was somebody else: every row is again as it was.
// ErrNothingToUndo if none is left.
func (b *Bank) Undo(ctx context.Context) (story.Entry, error) {
	return b.change(ctx, "undo", "", func(tx *Tx) (int64, error) {
		var n int64
		var summary, who string
		err := tx.conn.QueryRowContext(ctx, `SELECT entry, summary, who FROM journal AS j
			WHERE undoes = 0 AND NOT EXISTS (SELECT 1 FROM journal AS u WHERE u.undoes > 0 AND u.undoes = j.entry)
			ORDER BY entry DESC LIMIT 1`).Scan(&n, &summary, &who)
		if isNone(err) {
			return 0, ErrNothingToUndo
		}
		if err != nil {
			return 0, fault(err)
		}
		tx.summary = fmt.Sprintf("took back %d: %s", n, summary)
		if who != tx.who {
			tx.summary = fmt.Sprintf("took back %d of %s: %s", n, who, summary)
		}
		return n, tx.takeBack(n)
	})
}

// takeBack restores every row that entry n changed. The rows of the journal
// are read meanwhile: they lie in another table.
func (tx *Tx) takeBack(n int64) error {
	var failed error
	var old map[string][]any
	err := tx.view.eachChange(tx.ctx, "entry = ?", n, func(id rowID, before []byte) {
		if failed == nil && id.table == tableTag && bytes.Equal(before, bareTag) {
			if old == nil {
				old, failed = tx.taggers(n)
			}
			if vals, ok := old[id.key]; ok && failed == nil {
				before, failed = tableTag.image(vals)
			}
		}
		if failed == nil {
			failed = tx.restore(id.table, id.key, before)
		}
	})
	if failed != nil {
		return failed
	}
	return err
}

// bareTag is the image of a tag in form 1: it had no columns but its key.
var bareTag = []byte{0}

// taggers tells from the journal who had set which tags before entry n, which
// is the last that isn't taken back, as a tag's columns by row. It says what
// migration 0002 says of the tags that were there then.
func (tx *Tx) taggers(n int64) (map[string][]any, error) {
	rows := map[string][]any{}
	err := tx.each(`SELECT c.key, e.who, e.at FROM change AS c JOIN journal AS e ON e.entry = c.entry
		WHERE c.tbl = 'tag' AND c.before IS NULL AND e.undoes = 0 AND c.entry < ?
			AND NOT EXISTS (SELECT 1 FROM journal AS u WHERE u.undoes > 0 AND u.undoes = e.entry)
		ORDER BY c.entry`, n, func(scan func(...any) error) error {
		var key, who, at string
		err := scan(&key, &who, &at)
		rows[key] = []any{who, at, string(story.ByHand)}
		return err
	})
	return rows, err
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
