package bank

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/story"
)

// errStopped ends a stream whose reader has enough.
var errStopped = errors.New("stopped")

// quotes streams what a filter wants; errStopped if yield says so.
func (v view) quotes(ctx context.Context, f Filter, yield func(story.Quote, error) bool) error {
	hand := func(q story.Quote) error {
		if f.wants(q) && !yield(q, nil) {
			return errStopped
		}
		return nil
	}
	if f.Reel != "" {
		if _, err := v.reelInfo(ctx, fold(f.Reel)); isNone(err) {
			return notFound("reel", f.Reel)
		} else if err != nil {
			return err
		}
	}
	if f.Codes != nil {
		return v.byCodes(ctx, f.Codes, hand)
	}
	reels, err := v.reels(ctx)
	if err != nil {
		return err
	}
	if f.marked() {
		codes, err := v.markedCodes(ctx, f, reels)
		if err != nil {
			return err
		}
		return v.byCodes(ctx, codes, hand)
	}
	for _, r := range reels {
		if f.Reel != "" && r.key != fold(f.Reel) {
			continue
		}
		err := v.eachQuote(ctx, "WHERE q.reel = ? ORDER BY q.ord", []any{r.key},
			func(string) (reelInfo, error) { return r, nil }, hand)
		if err != nil {
			return err
		}
	}
	return nil
}

// marked tells whether only quotes that people said something of are wanted.
func (f Filter) marked() bool { return f.Theme != "" || f.Strong || f.Tagged || f.MinRating > 0 }

// wants tells whether a quote is what the filter wants, its code aside.
func (f Filter) wants(q story.Quote) bool {
	return (f.Reel == "" || fold(q.Reel) == fold(f.Reel)) &&
		(f.Speaker == "" || strings.EqualFold(q.Speaker, f.Speaker)) &&
		(f.Theme == "" || slices.ContainsFunc(q.Themes, func(t string) bool { return themeKey(t) == themeKey(f.Theme) })) &&
		(!f.Strong || q.IsStrong()) &&
		(!f.Tagged || slices.ContainsFunc(q.Themes, func(t string) bool { return t != story.Strong })) &&
		q.Rating >= f.MinRating
}

// markedCodes finds the quotes that carry what the filter wants of themes and
// ratings through the small tables, and puts them in order.
func (v view) markedCodes(ctx context.Context, f Filter, reels []reelInfo) ([]story.Code, error) {
	query, args := "SELECT code FROM tag WHERE theme = ?", []any{}
	switch {
	case f.Theme != "":
		args = append(args, themeKey(f.Theme))
	case f.Strong:
		args = append(args, story.Strong)
	case f.MinRating > 0:
		query, args = "SELECT code FROM mark WHERE rating >= ?", []any{f.MinRating}
	default:
		query, args = "SELECT DISTINCT code FROM tag WHERE theme <> ?", []any{story.Strong}
	}
	rows, err := v.q.QueryContext(ctx, "SELECT code, reel, ord FROM quote WHERE code IN ("+query+")", args...)
	if err != nil {
		return nil, fmt.Errorf("read quotes: %w", fault(err))
	}
	defer func() { _ = rows.Close() }()
	place := make(map[string]int, len(reels))
	for i, r := range reels {
		place[r.key] = i
	}
	type found struct {
		code      story.Code
		reel, ord int
	}
	var list []found
	for rows.Next() {
		var c found
		var key string
		if err := rows.Scan(&c.code, &key, &c.ord); err != nil {
			return nil, fmt.Errorf("read quotes: %w", fault(err))
		}
		c.reel = place[key]
		list = append(list, c)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read quotes: %w", fault(err))
	}
	slices.SortFunc(list, func(a, b found) int { return cmp.Or(cmp.Compare(a.reel, b.reel), cmp.Compare(a.ord, b.ord)) })
	codes := make([]story.Code, len(list))
	for i, c := range list {
		codes[i] = c.code
	}
	return codes, nil
}

// codeBatch is how many codes go into one query.
const codeBatch = 200

// byCodes hands on the quotes with these codes, in this order; ErrNotFound
// naming those that are missing, before any quote.
func (v view) byCodes(ctx context.Context, codes []story.Code, f func(story.Quote) error) error {
	if len(codes) > codeBatch {
		if err := v.allThere(ctx, codes); err != nil {
			return err
		}
	}
	known := map[string]reelInfo{}
	for part := range slices.Chunk(codes, codeBatch) {
		got, err := v.batch(ctx, part, known)
		if err != nil {
			return err
		}
		if err := missing(part, func(c story.Code) bool { _, ok := got[c]; return ok }); err != nil {
			return err
		}
		for _, c := range part {
			if err := f(got[c]); err != nil {
				return err
			}
		}
	}
	return nil
}

// batch reads the quotes among a few codes that are there. known holds the
// reels that were read so far.
func (v view) batch(ctx context.Context, codes []story.Code, known map[string]reelInfo) (map[story.Code]story.Quote, error) {
	got := make(map[story.Code]story.Quote, len(codes))
	var fresh []any
	// The reels that are not known yet are read together afterwards; until
	// then a quote has the key of its reel for a name.
	err := v.eachQuote(ctx, byCode(len(codes)), codeArgs(codes),
		func(key string) (reelInfo, error) {
			if _, ok := known[key]; !ok {
				known[key] = reelInfo{}
				fresh = append(fresh, key)
			}
			return reelInfo{reel: key}, nil
		},
		func(q story.Quote) error { got[q.Code] = q; return nil })
	if err == nil && len(fresh) > 0 {
		err = v.each(ctx, reelInfoSQL+" WHERE key IN ("+marks(len(fresh))+")", fresh, func(scan func(...any) error) error {
			var r reelInfo
			err := r.scan(scan)
			known[r.key] = r
			return err
		})
	}
	if err != nil {
		return nil, err
	}
	for c, q := range got {
		r := known[q.Reel]
		q.Reel, q.Day, q.Clock = r.reel, r.day, r.clock
		got[c] = q
	}
	return got, nil
}

// allThere is ErrNotFound if any of many codes is missing.
func (v view) allThere(ctx context.Context, codes []story.Code) error {
	there := make(map[story.Code]bool, len(codes))
	for part := range slices.Chunk(codes, codeBatch) {
		rows, err := v.q.QueryContext(ctx, "SELECT code FROM quote WHERE code IN ("+marks(len(part))+")", codeArgs(part)...)
		if err != nil {
			return fmt.Errorf("read codes: %w", fault(err))
		}
		for rows.Next() {
			var c story.Code
			if err = rows.Scan(&c); err != nil {
				break
			}
			there[c] = true
		}
		if err == nil {
			err = rows.Err()
		}
		_ = rows.Close()
		if err != nil {
			return fmt.Errorf("read codes: %w", fault(err))
		}
	}
	return missing(codes, func(c story.Code) bool { return there[c] })
}

// missing is ErrNotFound with the codes that there says no to.
func missing(codes []story.Code, there func(story.Code) bool) error {
	var gone []string
	for _, c := range codes {
		if !there(c) && !slices.Contains(gone, string(c)) {
			gone = append(gone, string(c))
		}
	}
	switch {
	case len(gone) == 0:
		return nil
	case len(gone) == 1:
		return fmt.Errorf("quote %s is %w", gone[0], ErrNotFound)
	case len(gone) > 12:
		return fmt.Errorf("quotes %s and %d more are %w", strings.Join(gone[:10], ", "), len(gone)-10, ErrNotFound)
	}
	return fmt.Errorf("quotes %s are %w", strings.Join(gone, ", "), ErrNotFound)
}

func marks(n int) string { return "?" + strings.Repeat(",?", n-1) }

// byCode is the tail of quoteSQL that wants quotes with n codes.
func byCode(n int) string { return "WHERE q.code IN (" + marks(n) + ")" }

func codeArgs(codes []story.Code) []any {
	args := make([]any, len(codes))
	for i, c := range codes {
		args[i] = string(c)
	}
	return args
}
