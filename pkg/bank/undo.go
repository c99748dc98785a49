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

// takeBack restores every row that entry n changed. The rows of the journal
// are read meanwhile: they lie in another table.
func (tx *Tx) takeBack(n int64) error {
	var failed error
	err := tx.view.eachChange(tx.ctx, "entry = ?", n, func(id rowID, before []byte) {
		if failed == nil {
			failed = tx.restore(id.table, id.key, before)
		}
	})
	if failed != nil {
		return failed
	}
	return err
}
