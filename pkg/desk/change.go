package desk

import (
	"context"
	"errors"

	"rushlight/pkg/bank"
	"rushlight/pkg/story"
)

// change is one transaction; the cache of recordings is renewed after it.
// While f runs nobody else can write: until f itself writes, what d.bank reads
// is what the change starts from. A job that puts back what it has read must
// read it in f, or be made by settle.
func (d *Desk) change(ctx context.Context, kind, summary string, f func(*bank.Tx) error) (story.Entry, error) {
	e, err := d.bank.Change(ctx, kind, summary, f)
	d.recs = nil
	return e, err
}

// errMoved tells that somebody changed the bank between reading and writing.
var errMoved = errors.New("the bank changed meanwhile")

// settleTries is how often settle prepares without keeping others waiting.
const settleTries = 3

// settle makes one change of what prepare reads from the bank and works out,
// which may take long and keeps nobody else from writing. prepare gives what is to be
// written, nil for nothing. If somebody changed the bank meanwhile it is called again, and
// in the end inside the transaction, so that nothing another person did is lost.
func (d *Desk) settle(ctx context.Context, kind string, prepare func() (func(*bank.Tx) error, error)) (story.Entry, error) {
	for range settleTries {
		d.recs = nil
		state, err := d.bank.State(ctx)
		if err != nil {
			return story.Entry{}, err
		}
		write, err := prepare()
		if err != nil || write == nil {
			return story.Entry{}, err
		}
		e, err := d.change(ctx, kind, "", func(tx *bank.Tx) error {
			now, err := tx.State()
			if err == nil && now != state {
				err = errMoved
			}
			if err != nil {
				return err
			}
			return write(tx)
		})
		if !errors.Is(err, errMoved) {
			return e, err
		}
	}
	return d.change(ctx, kind, "", func(tx *bank.Tx) error {
		write, err := prepare()
		if err != nil || write == nil {
			return err
		}
		return write(tx)
	})
}
