package desk

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"

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
	// Notes say what else is in the folder.
	Notes []string `json:"notes,omitempty"`
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
	notes, err := besides(dir)
	if err != nil {
		return Created{}, err
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
	return Created{Bank: b.Dir(), Title: film.Title, Rate: base.String(), Notes: notes}, err
}

// besides says what a folder holds that is to become a bank. One with an index
// folder that isn't a bank's is refused: the two would get in each other's way.
func besides(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil || exists(filepath.Join(dir, "bank.db")) {
		return nil, nil // none yet, or not one to make a bank in: Create says so
	}
	things := 0
	for _, e := range entries {
		if e.Name() == "index" && !exists(filepath.Join(dir, "index", "writer.lock")) {
			return nil, refuse("give the bank a folder of its own", "%s holds something called index already, which is the name of the bank's index", dir)
		}
		if !strings.HasPrefix(e.Name(), ".") {
			things++
		}
	}
	if things > 0 {
		return []string{fmt.Sprintf("%s holds other things too; the bank is bank.db and index in it", dir)}, nil
	}
	return nil, nil
}

func parseRate(s string) (timecode.Base, error) {
	b, err := timecode.ParseBase(s)
	if err != nil {
		return b, &Problem{What: err.Error(), Hint: "for example --rate 25, --rate 23.976, --rate 29.97df", Kind: ErrUsage}
	}
	return b, nil
}
