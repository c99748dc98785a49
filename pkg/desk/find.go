package desk

import (
	"context"
	"encoding/json"
	"errors"
	"strings"

	"rushlight/index"
	"rushlight/pkg/bank"
	"rushlight/pkg/story"
)

// FindOptions are one search.
type FindOptions struct {
	Query string
	// Limit is how many hits are shown after Offset; less than 0 is all.
	Limit, Offset int
	// Around asks for so many quotes before and after each hit.
	Around int
	// Wide looks for synonyms too, Loose ranks by what is said around a quote
	// where few have all the words, Fold puts tellings of one story under the
	// best.
	Wide, Loose, Fold bool
}

// Count is how many hits share a name.
type Count struct {
	Name  string `json:"name"`
	Count int    `json:"count"`
}

// Hit is one quote that was found. Marks are stretches of bytes of its text.
type Hit struct {
	Quote         story.Quote
	Marks         []Mark
	Before, After []story.Quote
	// Folded are other tellings of the same.
	Folded []story.Code
	// Picture is where it is seen, nil where no camera was lined up.
	Picture *Picture
	// Tags says who set each theme, when and how; for a quote shown alone.
	Tags []story.Tagging
}

// Mark is a stretch of bytes of a text to highlight.
type Mark struct {
	Start int `json:"start"`
	End   int `json:"end"`
}

// MarshalJSON is the quote's own form with "marks", and with "before" and
// "after" where they were asked for.
func (h Hit) MarshalJSON() ([]byte, error) {
	q, err := json.Marshal(h.Quote)
	if err != nil {
		return nil, err
	}
	marks := h.Marks
	if marks == nil {
		marks = []Mark{}
	}
	rest, err := json.Marshal(struct {
		Marks   []Mark          `json:"marks"`
		Before  []story.Quote   `json:"before,omitempty"`
		After   []story.Quote   `json:"after,omitempty"`
		Folded  []story.Code    `json:"folded,omitempty"`
		Picture *Picture        `json:"picture,omitempty"`
		Tags    []story.Tagging `json:"tags,omitempty"`
	}{marks, h.Before, h.After, h.Folded, h.Picture, h.Tags})
	if err != nil {
		return nil, err
	}
	return append(append(q[:len(q)-1], ','), rest[1:]...), nil
}

// Near offers spellings that do occur for a word that doesn't.
type Near struct {
	Word  string   `json:"word"`
	Spelt []string `json:"spelt"`
}

// Found is what a search found, best first.
type Found struct {
	Query      string `json:"query"`
	Understood string `json:"understood"`
	Total      int    `json:"total"`
	Offset     int    `json:"offset,omitempty"`
	Hits       []Hit  `json:"hits"`
	// Speakers, Reels and Themes count all hits, not only those shown.
	Speakers []Count `json:"speakers"`
	Reels    []Count `json:"reels"`
	Themes   []Count `json:"themes"`
	Near     []Near  `json:"near,omitempty"`
	// Refreshed tells that the index had to be brought up to date first,
	// Stale that it couldn't be because somebody else is writing it.
	Refreshed bool `json:"index_refreshed,omitempty"`
	Stale     bool `json:"index_stale,omitempty"`
	// Widened are the synonyms that were looked for too, NotWidened the
	// languages that have none; Smoothed tells that what is said around
	// counted.
	Widened    []string `json:"widened,omitempty"`
	NotWidened []string `json:"not_widened,omitempty"`
	Smoothed   bool     `json:"smoothed,omitempty"`
	// Quotes is how many quotes were searched.
	Quotes int `json:"quotes"`
}

// Find searches the quotes.
func (d *Desk) Find(ctx context.Context, opt FindOptions) (Found, error) {
	f := Found{Query: opt.Query, Offset: opt.Offset}
	ix, err := d.openIndex(ctx, &f)
	if err != nil {
		return f, err
	}
	defer ix.Close()
	res, err := ix.Search(ctx, index.Query{Text: opt.Query, Limit: opt.Limit, Offset: opt.Offset, Counts: true, Wide: opt.Wide, Loose: opt.Loose, Fold: opt.Fold})
	if err != nil {
		return f, queryError(err)
	}
	f.Understood, f.Total, f.Quotes = res.Understood, res.Total, ix.Quotes()
	f.Widened, f.NotWidened, f.Smoothed = res.Widened, res.NotWidened, res.Smoothed
	f.Speakers, f.Reels, f.Themes = counts(res.Speakers), counts(res.Reels), counts(res.Themes)
	for _, word := range res.Missing {
		near, err := ix.Near(ctx, word, 5)
		if err != nil {
			return f, err
		}
		f.Near = append(f.Near, Near{Word: word, Spelt: append([]string{}, near...)})
	}
	return f, d.show(ctx, &f, res.Hits, opt.Around)
}

// openIndex opens the index at the bank's state; f is told what it took.
func (d *Desk) openIndex(ctx context.Context, f *Found) (*index.Index, error) {
	state, err := d.bank.State(ctx)
	if err != nil {
		return nil, err
	}
	ix, err := index.Open(d.indexDir())
	if err == nil && ix.Bank == d.bank.ID() && ix.State == state {
		return ix, nil
	}
	if err == nil {
		ix.Close()
	} else if !errors.Is(err, index.ErrNone) && !errors.Is(err, index.ErrDamaged) {
		return nil, err
	}
	if errors.Is(err, index.ErrDamaged) {
		// It only shadows the bank: it is made anew.
		f.Refreshed, err = true, d.rebuild(ctx, state)
	} else {
		f.Refreshed, err = d.update(ctx)
	}
	if errors.Is(err, index.ErrBusy) {
		f.Refreshed, f.Stale, err = false, true, nil
	}
	if err != nil {
		return nil, &Problem{What: "the index can't be brought up to date", Hint: "check who may write to " + d.indexDir() + "; the folder may be removed, nothing is lost with it", Err: err}
	}
	return index.Open(d.indexDir())
}

// show puts hits into what was found.
func (d *Desk) show(ctx context.Context, f *Found, found []index.Hit, around int) (err error) {
	f.Hits, err = d.hits(ctx, found, around)
	f.Total -= len(found) - len(f.Hits)
	return err
}

// hits fetches the quotes of hits from the bank. A quote that left the bank
// since the index was read is left out.
func (d *Desk) hits(ctx context.Context, found []index.Hit, around int) ([]Hit, error) {
	codes := make([]story.Code, len(found))
	at := make(map[story.Code]index.Hit, len(found))
	for i, h := range found {
		codes[i], at[h.Code] = h.Code, h
	}
	qs, err := d.bank.Present(ctx, codes)
	if err != nil {
		return nil, err
	}
	out := make([]Hit, 0, len(qs))
	for _, q := range qs {
		h := Hit{Quote: q, Folded: at[q.Code].Folded}
		for _, m := range at[q.Code].Marks {
			// The words may have changed since too.
			if m.End <= len(q.Text) {
				h.Marks = append(h.Marks, Mark(m))
			}
		}
		if around > 0 {
			h.Before, h.After, err = d.bank.Around(ctx, q.Code, around)
			if errors.Is(err, bank.ErrNotFound) {
				continue // gone by now
			}
			if err != nil {
				return nil, err
			}
		}
		out = append(out, h)
	}
	return out, nil
}

func counts(in []index.Count) []Count {
	out := make([]Count, len(in))
	for i, c := range in {
		out[i] = Count{Name: c.Name, Count: c.Count}
	}
	return out
}

// queryError makes an unreadable query a wrong call with its hint.
func queryError(err error) error {
	var q *index.QueryError
	if errors.As(err, &q) {
		return &Problem{What: strings.TrimSuffix(err.Error(), "; "+q.Hint), Hint: q.Hint, Kind: ErrUsage}
	}
	return err
}

// Show gives quotes by code with their neighbours.
func (d *Desk) Show(ctx context.Context, codes []story.Code, around int) ([]Hit, error) {
	if _, err := d.quotes(ctx, codes); err != nil {
		return nil, err
	}
	found := make([]index.Hit, len(codes))
	for i, c := range codes {
		found[i].Code = c
	}
	list, err := d.hits(ctx, found, around)
	if err != nil {
		return nil, err
	}
	for i, h := range list {
		if list[i].Picture, err = d.picture(ctx, h.Quote.Reel, h.Quote.Span); err != nil {
			return nil, err
		}
		if list[i].Tags, err = d.bank.Tags(ctx, h.Quote.Code); err != nil {
			return nil, err
		}
	}
	return list, nil
}
