package desk

import (
	"context"
	"errors"

	"rushlight/index"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Alike is what resembles one quote.
type Alike struct {
	Quote story.Quote `json:"quote"`
	Hits  []Hit       `json:"hits"`
}

// Like finds quotes that say something similar.
func (d *Desk) Like(ctx context.Context, code story.Code, limit int, sameReel bool) (Alike, error) {
	return d.alike(ctx, code, func(ix *index.Index) ([]index.Hit, error) {
		return ix.Like(ctx, code, index.LikeOptions{Limit: limit, SameReel: sameReel})
	})
}

// Takes finds the other tellings of the same story.
func (d *Desk) Takes(ctx context.Context, code story.Code) (Alike, error) {
	return d.alike(ctx, code, func(ix *index.Index) ([]index.Hit, error) { return ix.Takes(ctx, code) })
}

func (d *Desk) alike(ctx context.Context, code story.Code, find func(*index.Index) ([]index.Hit, error)) (Alike, error) {
	qs, err := d.quotes(ctx, []story.Code{code})
	if err != nil {
		return Alike{}, err
	}
	out := Alike{Quote: qs[0]}
	var f Found
	ix, err := d.openIndex(ctx, &f)
	if err != nil {
		return out, err
	}
	defer ix.Close()
	found, err := find(ix)
	if errors.Is(err, index.ErrNoQuote) {
		return out, refuse("the index may be behind; search once with 'rushlight find'", "%s is not in the index", code)
	}
	if err != nil {
		return out, err
	}
	out.Hits, err = d.hits(ctx, found, 0)
	return out, err
}

// Saying is the first time somebody said what a search asks for.
type Saying struct {
	Speaker string `json:"speaker"`
	// Hits is how many hits the speaker has in all.
	Hits  int `json:"hits"`
	First Hit `json:"first"`
}

// FirstSaid tells who said first what a search asks for, in the order of
// shooting.
func (d *Desk) FirstSaid(ctx context.Context, query string, wide bool) ([]Saying, error) {
	var f Found
	ix, err := d.openIndex(ctx, &f)
	if err != nil {
		return nil, err
	}
	defer ix.Close()
	recs, err := d.recordings(ctx)
	if err != nil {
		return nil, err
	}
	start := func(reel string) timecode.Ticks { return recs[reel].Clock.Start }
	list, err := ix.First(ctx, index.Query{Text: query, Wide: wide}, start)
	if err != nil {
		return nil, queryError(err)
	}
	return d.sayings(ctx, list)
}

// sayings fetches the quotes of what was said first; one that left the bank
// since the index was read is left out.
func (d *Desk) sayings(ctx context.Context, list []index.FirstSaid) ([]Saying, error) {
	found := make([]index.Hit, len(list))
	for i, s := range list {
		found[i] = index.Hit{Code: s.Code, Marks: s.Marks}
	}
	hits, err := d.hits(ctx, found, 0)
	if err != nil {
		return nil, err
	}
	out := make([]Saying, 0, len(hits))
	for _, s := range list {
		if n := len(out); n < len(hits) && hits[n].Quote.Code == s.Code {
			out = append(out, Saying{Speaker: s.Speaker, Hits: s.Hits, First: hits[n]})
		}
	}
	return out, nil
}
