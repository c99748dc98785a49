package bank

import (
	"context"
	"fmt"

	"rushlight/pkg/story"
)

// Undo takes back the last change that is not itself an undo and was not yet
// taken back, as a new entry that names it: every row is again as it was.
// ErrNothingToUndo if none is left.
func (b *Bank) Undo(ctx context.Context) (story.Entry, error) {
	return b.change(ctx, "undo", "", func(tx *Tx) (int64, error) {
		var n int64
		var summary string
		err := tx.tx.QueryRowContext(ctx, `SELECT entry, summary FROM journal AS j
			WHERE undoes = 0 AND NOT EXISTS (SELECT 1 FROM journal AS u WHERE u.undoes > 0 AND u.undoes = j.entry)
			ORDER BY entry DESC LIMIT 1`).Scan(&n, &summary)
		if isNone(err) {
			return 0, ErrNothingToUndo
		}
		if err != nil {
			return 0, fault(err)
		}
		tx.summary = fmt.Sprintf("took back %d: %s", n, summary)
		return n, tx.takeBack(n)
	})
}

// takeBack restores every row that entry n changed.
func (tx *Tx) takeBack(n int64) error {
	type old struct {
		table, key string
		before     []byte
	}
	rows, err := tx.tx.QueryContext(tx.ctx, "SELECT tbl, key, before FROM change WHERE entry = ?", n)
	if err != nil {
		return fault(err)
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var o old
		if err := rows.Scan(&o.table, &o.key, &o.before); err != nil {
			return fault(err)
		}
		t, err := tableNamed(o.table)
		if err != nil {
			return err
		}
		// The rows of one entry are restored while they are read: they lie
		// in another table.
		if err := tx.restore(t, o.key, o.before); err != nil {
			return err
		}
	}
	return fault(rows.Err())
}
