package desk

import (
	"context"
	"errors"

	"rushlight/index"
	"rushlight/pkg/bank"
)

// freshen brings the index up to the bank's state, if it isn't. Somebody else
// writing it at the same time is no error: they bring it up to date.
func (d *Desk) freshen(ctx context.Context) error {
	_, err := d.update(ctx)
	if errors.Is(err, index.ErrBusy) {
		return nil
	}
	return err
}

// update brings the index up to date and tells whether there was need to.
func (d *Desk) update(ctx context.Context) (bool, error) {
	state, err := d.bank.State(ctx)
	if err != nil {
		return false, err
	}
	id, seen, err := index.Seen(d.indexDir())
	if err == nil && id == d.bank.ID() && seen == state {
		return false, nil
	}
	if err != nil && !errors.Is(err, index.ErrNone) && !errors.Is(err, index.ErrDamaged) {
		return false, err
	}
	if err == nil && id == d.bank.ID() && seen < state {
		changed, gone, full, err := d.bank.ChangedSince(ctx, seen)
		if err != nil {
			return false, err
		}
		if !full {
			err = index.Update(ctx, d.indexDir(), d.bank.ID(), state, changed, gone)
			if err == nil || !errors.Is(err, index.ErrNone) && !errors.Is(err, index.ErrDamaged) {
				return true, err
			}
		}
	}
	return true, d.rebuild(ctx, state)
}

// rebuild makes the index anew from all quotes.
func (d *Desk) rebuild(ctx context.Context, state int64) error {
	sum, err := d.bank.Summary(ctx)
	if err != nil {
		return err
	}
	p := d.progress()
	p.Begin("indexing", int64(sum.Quotes))
	defer p.End()
	return index.Build(ctx, d.indexDir(), d.bank.ID(), state, d.bank.Quotes(ctx, bank.Filter{}),
		func(done int) { p.Reached(int64(done)) })
}
