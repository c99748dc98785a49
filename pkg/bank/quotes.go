package bank

import (
	"context"
	"database/sql"
	"fmt"
	"iter"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Filter says which quotes are wanted; the zero Filter wants all. What is set
// must all be true of a quote.
type Filter struct {
	// Reel, Speaker and Theme are compared without case. An unknown reel is
	// ErrNotFound, an unknown speaker or theme just finds nothing.
	Reel, Speaker, Theme string
	// Codes wants these quotes, in this order, each as often as it stands
	// here; nil wants all quotes.
	Codes []story.Code
	// MinRating wants this rating or a better one.
	MinRating int
	// Strong wants quotes marked strong, Tagged those with a theme (strong
	// alone is none).
	Strong, Tagged bool
}

// Quotes streams quotes, those of one moment even if somebody writes. They
// come in the order of Recordings, in each reel by Order; with Filter.Codes in
// the order given, and codes that aren't in the bank end the stream with
// ErrNotFound naming them. After an error the stream ends. Themes are in
// alphabetical order. The bank may be used and changed between two quotes.
func (b *Bank) Quotes(ctx context.Context, f Filter) iter.Seq2[story.Quote, error] {
	return func(yield func(story.Quote, error) bool) {
		err := b.read(ctx, func(v view) error { return v.quotes(ctx, f, yield) })
		if err != nil && err != errStopped {
			yield(story.Quote{}, err)
		}
	}
}

// Quote gives one quote. ErrNotFound.
func (b *Bank) Quote(ctx context.Context, code story.Code) (story.Quote, error) {
	return view{b.db}.quote(ctx, code)
}

// Quote gives one quote as it is inside the change. ErrNotFound.
func (tx *Tx) Quote(code story.Code) (story.Quote, error) { return tx.view.quote(tx.ctx, code) }

// Present gives the quotes among codes that are there, in this order; an empty
// list for none.
func (b *Bank) Present(ctx context.Context, codes []story.Code) ([]story.Quote, error) {
	var list []story.Quote
	err := b.read(ctx, func(v view) (err error) {
		list, err = v.present(ctx, codes)
		return err
	})
	return list, err
}

// Around gives up to n quotes of the same reel before a quote and after it,
// in order. ErrNotFound if the quote isn't there.
func (b *Bank) Around(ctx context.Context, code story.Code, n int) (before, after []story.Quote, err error) {
	err = b.read(ctx, func(v view) error {
		var reel string
		var ord int
		err := v.q.QueryRowContext(ctx, "SELECT reel, ord FROM quote WHERE code = ?", code).Scan(&reel, &ord)
		if isNone(err) {
			return notFound("quote", string(code))
		}
		if err != nil {
			return fault(err)
		}
		if n <= 0 {
			return nil
		}
		info, err := v.reelInfo(ctx, reel)
		if err != nil {
			return err
		}
		collect := func(tail string) (list []story.Quote, err error) {
			err = v.eachQuote(ctx, tail, []any{reel, ord, n}, func(string) (reelInfo, error) { return info, nil },
				func(q story.Quote) error { list = append(list, q); return nil })
			return list, err
		}
		if before, err = collect("WHERE q.reel = ? AND q.ord < ? ORDER BY q.ord DESC LIMIT ?"); err != nil {
			return err
		}
		slices.Reverse(before)
		after, err = collect("WHERE q.reel = ? AND q.ord > ? ORDER BY q.ord LIMIT ?")
		return err
	})
	return before, after, err
}

// CodeTaken gives the set of all codes that are or were in use.
func (b *Bank) CodeTaken(ctx context.Context) (func(story.Code) bool, error) {
	rows, err := b.db.QueryContext(ctx, "SELECT code FROM quote UNION ALL SELECT code FROM retired")
	if err != nil {
		return nil, fmt.Errorf("read codes: %w", fault(err))
	}
	defer func() { _ = rows.Close() }()
	taken := map[story.Code]bool{}
	for rows.Next() {
		var c story.Code
		if err := rows.Scan(&c); err != nil {
			return nil, fmt.Errorf("read codes: %w", fault(err))
		}
		taken[c] = true
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read codes: %w", fault(err))
	}
	return func(c story.Code) bool { return taken[c] }, nil
}

// reelInfo is what a quote takes from its recording.
type reelInfo struct {
	key, reel, day string
	clock          timecode.Clock
}

const reelInfoSQL = "SELECT key, reel, day, rate_num, rate_den, drop_frame, start FROM recording"

func (r *reelInfo) scan(scan func(...any) error) error {
	c := &r.clock
	return scan(&r.key, &r.reel, &r.day, &c.Base.Rate.Num, &c.Base.Rate.Den, &c.Base.Drop, &c.Start)
}

func (v view) reelInfo(ctx context.Context, key string) (reelInfo, error) {
	var r reelInfo
	err := r.scan(v.q.QueryRowContext(ctx, reelInfoSQL+" WHERE key = ?", key).Scan)
	return r, fault(err)
}

// reels lists them in the order of Recordings.
func (v view) reels(ctx context.Context) ([]reelInfo, error) {
	rows, err := v.q.QueryContext(ctx, reelInfoSQL+" AS r ORDER BY "+shotOrder)
	if err != nil {
		return nil, fault(err)
	}
	defer func() { _ = rows.Close() }()
	var list []reelInfo
	for rows.Next() {
		var r reelInfo
		if err := r.scan(rows.Scan); err != nil {
			return nil, fault(err)
		}
		list = append(list, r)
	}
	return list, fault(rows.Err())
}

// themeSep stands between theme names in one column; no name may hold it.
const themeSep = "\x1f"

// quoteSQL reads whole quotes; a condition and order follow it.
const quoteSQL = `SELECT q.code, q.reel, q.ord, q.speaker, q.tin, q.tout, q.text, q.language, q.words, q.in_by, q.out_by,
	coalesce(m.rating, 0), coalesce(m.note, ''),
	(SELECT group_concat(t.name, char(31) ORDER BY t.key) FROM tag AS g JOIN theme AS t ON t.key = g.theme WHERE g.code = q.code)
	FROM quote AS q LEFT JOIN mark AS m ON m.code = q.code `

// eachQuote runs quoteSQL with a tail and hands each quote on. info gives
// what is known of a reel, by key.
func (v view) eachQuote(ctx context.Context, tail string, args []any, info func(key string) (reelInfo, error), f func(story.Quote) error) error {
	rows, err := v.q.QueryContext(ctx, quoteSQL+tail, args...)
	if err != nil {
		return fmt.Errorf("read quotes: %w", fault(err))
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		var q story.Quote
		var words sql.RawBytes
		var themes sql.NullString
		var key string
		err := rows.Scan(&q.Code, &key, &q.Order, &q.Speaker, &q.In, &q.Out, &q.Text, &q.Language, &words,
			&q.InBy, &q.OutBy, &q.Rating, &q.Note, &themes)
		if err != nil {
			return fmt.Errorf("read quotes: %w", fault(err))
		}
		if q.Words, err = unpackWords(words); err != nil {
			return fmt.Errorf("quote %s: %w", q.Code, err)
		}
		if themes.Valid {
			q.Themes = strings.Split(themes.String, themeSep)
		}
		r, err := info(key)
		if err != nil {
			return fmt.Errorf("quote %s: %w", q.Code, err)
		}
		q.Reel, q.Day, q.Clock = r.reel, r.day, r.clock
		if err := f(q); err != nil {
			return err
		}
	}
	return fault(rows.Err())
}

func (v view) quote(ctx context.Context, code story.Code) (story.Quote, error) {
	var found *story.Quote
	err := v.byCodes(ctx, []story.Code{code}, func(q story.Quote) error { found = &q; return nil })
	if err != nil {
		return story.Quote{}, err
	}
	return *found, nil
}
