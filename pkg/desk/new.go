package desk

import (
	"context"

	"rushlight/pkg/bank"
	"rushlight/pkg/timecode"
)

// NewOptions are what a new bank is told about the film.
type NewOptions struct {
	Title string
	// Rate is the film's frame rate as people write it; "" is 25.
	Rate string
}

// Created tells of a new bank.
type Created struct {
	Bank  string `json:"bank"`
	Title string `json:"title"`
	Rate  string `json:"rate"`
}

// New makes an empty bank in dir.
func New(ctx context.Context, dir string, opt Options, film NewOptions) (Created, error) {
	base := timecode.Base{Rate: timecode.Rate25}
	if film.Rate != "" {
		b, err := parseRate(film.Rate)
		if err != nil {
			return Created{}, err
		}
		base = b
	}
	b, err := bank.Create(ctx, absolute(dir), bank.Options{Who: opt.Who, Now: opt.Now})
	if err != nil {
		return Created{}, err
	}
	_, err = b.Change(ctx, "new", "made the bank", func(tx *bank.Tx) error {
		return tx.SetFilm(bank.Film{Title: film.Title, Base: base})
	})
	if closeErr := b.Close(); err == nil {
		err = closeErr
	}
	return Created{Bank: b.Dir(), Title: film.Title, Rate: base.String()}, err
}

func parseRate(s string) (timecode.Base, error) {
	b, err := timecode.ParseBase(s)
	if err != nil {
		return b, &Problem{What: err.Error(), Hint: "for example --rate 25, --rate 23.976, --rate 29.97df", Kind: ErrUsage}
	}
	return b, nil
}
