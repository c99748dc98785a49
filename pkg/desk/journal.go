package desk

import (
	"context"
	"errors"

	"rushlight/pkg/bank"
	"rushlight/pkg/story"
)

// History lists the changes, newest first; limit 0 is all.
func (d *Desk) History(ctx context.Context, limit int) ([]story.Entry, error) {
	if limit < 0 {
		return nil, usage("", "--limit %d: want 0 or more", limit)
	}
	list, err := d.bank.History(ctx, limit)
	if list == nil {
		list = []story.Entry{}
	}
	return list, err
}

// Undo takes back the last change and gives the entry that does so.
func (d *Desk) Undo(ctx context.Context) (story.Entry, error) {
	if err := d.undoable(ctx); err != nil {
		return story.Entry{}, err
	}
	e, err := d.bank.Undo(ctx)
	d.recs = nil
	if errors.Is(err, bank.ErrNothingToUndo) {
		return e, &Problem{What: "nothing to undo", Hint: "'rushlight history' lists the changes", Kind: bank.ErrNothingToUndo}
	}
	if err != nil {
		return e, err
	}
	return e, d.freshen(ctx)
}

// undoable refuses to take back the making of the bank.
func (d *Desk) undoable(ctx context.Context) error {
	list, err := d.bank.History(ctx, 0)
	if err != nil {
		return err
	}
	for _, e := range list {
		if e.Undoes > 0 || e.UndoneBy > 0 {
			continue
		}
		if e.Kind == "new" {
			break
		}
		return nil
	}
	return &Problem{What: "nothing to undo", Hint: "'rushlight history' lists the changes", Kind: bank.ErrNothingToUndo}
}
