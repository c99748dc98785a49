package bank

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// State is the number of the last journal entry, 0 in a new bank.
func (b *Bank) State(ctx context.Context) (int64, error) { return view{b.db}.state(ctx) }

// State is Bank.State as it is before the change has its own entry.
func (tx *Tx) State() (int64, error) { return tx.view.state(tx.ctx) }

func (v view) state(ctx context.Context) (int64, error) {
	var n int64
	err := v.q.QueryRowContext(ctx, "SELECT coalesce(max(entry), 0) FROM journal").Scan(&n)
	if err != nil {
		return 0, fmt.Errorf("read the journal: %w", fault(err))
	}
	return n, nil
}

// History lists the last entries of the journal, newest first; limit 0 wants
// all.
func (b *Bank) History(ctx context.Context, limit int) ([]story.Entry, error) {
	if limit <= 0 {
		limit = -1
	}
	rows, err := b.db.QueryContext(ctx, `SELECT j.entry, j.at, j.who, j.kind, j.summary, j.undoes, j.changes,
		coalesce((SELECT u.entry FROM journal AS u WHERE u.undoes > 0 AND u.undoes = j.entry), 0)
		FROM journal AS j ORDER BY j.entry DESC LIMIT ?`, limit)
	if err != nil {
		return nil, fmt.Errorf("read the journal: %w", fault(err))
	}
	defer func() { _ = rows.Close() }()
	var list []story.Entry
	for rows.Next() {
		var e story.Entry
		var at string
		if err := rows.Scan(&e.Number, &at, &e.Who, &e.Kind, &e.Summary, &e.Undoes, &e.Rows, &e.UndoneBy); err != nil {
			return nil, fmt.Errorf("read the journal: %w", fault(err))
		}
		if e.When, err = readMoment(at); err != nil {
			return nil, fmt.Errorf("read the journal: entry %d: %w", e.Number, err)
		}
		list = append(list, e)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read the journal: %w", fault(err))
	}
	return list, nil
}

// A rebuild is taken to be cheaper than an update from this many changes on,
// if they are also more than a quarter of all quotes.
const fewChanges = 1000

// ChangedSince tells what a shadow of the bank that has seen a state must
// catch up with: the quotes that are new or of which anything a Quote shows
// changed, and the codes of those that are gone. full
// tells that it should be made anew instead, and the rest is empty: it has
// seen nothing, or a state the bank never had, or so much changed that a
// rebuild is cheaper. Both are in order of code. Changes that were taken back may be among them.
func (b *Bank) ChangedSince(ctx context.Context, state int64) (changed []story.Quote, gone []story.Code, full bool, err error) {
	err = b.read(ctx, func(v view) error {
		now, err := v.state(ctx)
		if err != nil || now == state {
			return err
		}
		if full = state <= 0 || state > now; full {
			return nil
		}
		codes, err := v.changedCodes(ctx, state)
		if err != nil {
			return err
		}
		var quotes int
		if err := v.q.QueryRowContext(ctx, "SELECT count(*) FROM quote").Scan(&quotes); err != nil {
			return fault(err)
		}
		if full = len(codes) > fewChanges && len(codes) > quotes/4; full {
			return nil
		}
		there := make(map[story.Code]bool, len(codes))
		changed, err = v.present(ctx, codes)
		for _, q := range changed {
			there[q.Code] = true
		}
		for _, c := range codes {
			if !there[c] {
				gone = append(gone, c)
			}
		}
		return err
	})
	if err != nil {
		return nil, nil, false, fmt.Errorf("read what changed: %w", err)
	}
	return changed, gone, full, nil
}

// present reads the quotes among codes that are there.
func (v view) present(ctx context.Context, codes []story.Code) ([]story.Quote, error) {
	var list []story.Quote
	known := map[string]reelInfo{}
	for part := range slices.Chunk(codes, codeBatch) {
		got, err := v.batch(ctx, part, known)
		if err != nil {
			return nil, err
		}
		for _, c := range part {
			if q, ok := got[c]; ok {
				list = append(list, q)
			}
		}
	}
	return list, nil
}

// changedCodes lists, in order, the codes of quotes that entries after state
// touched, directly or through their recording or the name of a theme.
func (v view) changedCodes(ctx context.Context, state int64) ([]story.Code, error) {
	set := map[string]bool{}
	codes := func(query string, args ...any) error {
		return v.each(ctx, query, args, func(scan func(...any) error) error {
			var key string
			err := scan(&key)
			code, _, _ := strings.Cut(key, keySep)
			set[code] = true
			return err
		})
	}
	if err := codes("SELECT key FROM change WHERE entry > ? AND tbl IN ('quote', 'mark', 'tag')", state); err != nil {
		return nil, err
	}
	if err := codes(`SELECT g.code FROM change AS c JOIN tag AS g ON g.theme = c.key
		WHERE c.entry > ? AND c.tbl = 'theme' AND c.before IS NOT NULL`, state); err != nil {
		return nil, err
	}
	reels, err := v.changedReels(ctx, state)
	if err != nil {
		return nil, err
	}
	for key := range reels {
		if err := codes("SELECT code FROM quote WHERE reel = ?", key); err != nil {
			return nil, err
		}
	}
	list := make([]story.Code, 0, len(set))
	for c := range set {
		list = append(list, story.Code(c))
	}
	slices.Sort(list)
	return list, nil
}

// changedReels gives the keys of the recordings that since gave their quotes
// another reel name, day or clock.
func (v view) changedReels(ctx context.Context, state int64) (map[string]bool, error) {
	reels, err := v.reels(ctx)
	if err != nil {
		return nil, err
	}
	now := make(map[string]reelInfo, len(reels))
	for _, r := range reels {
		now[r.key] = r
	}
	changed := map[string]bool{}
	err = v.each(ctx, "SELECT key, before FROM change WHERE entry > ? AND tbl = 'recording' AND before IS NOT NULL", []any{state},
		func(scan func(...any) error) error {
			var was reelInfo
			var before []byte
			if err := scan(&was.key, &before); err != nil {
				return err
			}
			err := eachColumn(before, was.setColumn)
			if r, ok := now[was.key]; ok && r != was {
				changed[was.key] = true
			}
			return err
		})
	return changed, err
}

// setColumn takes one column of a recording's image.
func (r *reelInfo) setColumn(name string, v any) {
	text, _ := v.(string)
	n, _ := v.(int64)
	switch name {
	case "reel":
		r.reel = text
	case "day":
		r.day = text
	case "rate_num":
		r.clock.Base.Rate.Num = n
	case "rate_den":
		r.clock.Base.Rate.Den = n
	case "drop_frame":
		r.clock.Base.Drop = n != 0
	case "start":
		r.clock.Start = timecode.Ticks(n)
	}
}
