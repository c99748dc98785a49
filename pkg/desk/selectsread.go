package desk

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"rushlight/pkg/bank"
	"rushlight/pkg/interchange"
	"rushlight/pkg/selects"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// ReadSelectsOptions say which cut is read back, and as what.
type ReadSelectsOptions struct {
	// File is an edit decision list or an OpenTimelineIO document.
	File string
	// Name is that of the new selects, "" for the cut's title, else the
	// file's name.
	Name string
	// Rate is the frame rate of a list that doesn't say its own, "" for the
	// film's.
	Rate string
}

// SelectsRead is what came of a cut that was read.
type SelectsRead struct {
	Selects story.Selects `json:"selects"`
	// Events counts the events of the cut but for its gaps.
	Events int `json:"events"`
	// Missed are the events that are no sayings of this bank.
	Missed []selects.Missed `json:"missed"`
	Notes  []string         `json:"notes,omitempty"`
}

// ReadSelects makes selects of a cut that an editor sends back.
func (d *Desk) ReadSelects(ctx context.Context, opt ReadSelectsOptions) (SelectsRead, error) {
	cut, notes, err := d.readCut(ctx, opt)
	if err != nil {
		return SelectsRead{}, err
	}
	name := opt.Name
	for _, other := range []string{cut.Title, stemOf(opt.File)} {
		if name == "" {
			name = other
		}
	}
	if name, err = story.SelectsName(name); err != nil {
		return SelectsRead{}, &Problem{What: err.Error(), Hint: "name them with --as NAME", Kind: ErrUsage}
	}
	out := SelectsRead{Missed: []selects.Missed{}}
	_, err = d.change(ctx, "selects", "", func(tx *bank.Tx) error {
		if err := nameFree(tx, name, "choose another name with --as NAME"); err != nil {
			return err
		}
		// Nobody else can write now, so that what is read here stays.
		known, err := d.known(ctx)
		if err != nil {
			return err
		}
		read, err := selects.ReadCut(cut, known)
		if err != nil {
			return err
		}
		out.Events, out.Missed, out.Notes = read.Events, append(out.Missed, read.Missed...), append(notes, read.Notes...)
		if len(read.Items) == 0 {
			return nothingKnown(opt.File, out)
		}
		tx.SetSummary(fmt.Sprintf("read selects %q from %s: %s of %s", name, filepath.Base(opt.File),
			count(len(read.Items), "item", "items"), count(read.Events, "event", "events")))
		return tx.PutSelects(story.Selects{Name: name, Items: read.Items})
	})
	if err != nil {
		return out, err
	}
	if out.Selects, err = d.bank.Selects(ctx, name); err != nil {
		return out, err
	}
	return out, d.freshen(ctx)
}

// nothingKnown refuses a cut of which nothing is in the bank.
func nothingKnown(file string, read SelectsRead) error {
	why := ""
	if len(read.Missed) > 0 {
		why = ": " + read.Missed[0].String()
	}
	return refuse("'rushlight reels' lists the reels; is it a cut of this film?",
		"%s: none of its %s is a saying of this bank%s", file, count(read.Events, "event", "events"), why)
}

// known is what a cut is read against.
func (d *Desk) known(ctx context.Context) (selects.Known, error) {
	known := selects.Known{ShortReel: interchange.ShortReel}
	var err error
	if known.Recordings, err = d.bank.Recordings(ctx); err != nil {
		return known, err
	}
	if known.Syncs, err = d.bank.Syncs(ctx); err != nil {
		return known, err
	}
	all, err := d.bank.AllSelects(ctx)
	for _, s := range all {
		known.Items = append(known.Items, s.Items...)
	}
	known.Quotes = func(reel string) ([]story.Quote, error) {
		var list []story.Quote
		for q, err := range d.bank.Quotes(ctx, bank.Filter{Reel: reel}) {
			if err != nil {
				return nil, err
			}
			q.Words = nil
			list = append(list, q)
		}
		return list, nil
	}
	known.Quote = func(code story.Code) (story.Quote, bool, error) {
		q, err := d.bank.Quote(ctx, code)
		if errors.Is(err, bank.ErrNotFound) {
			return q, false, nil
		}
		return q, err == nil, err
	}
	return known, err
}

// readCut reads the file: a document in braces is OpenTimelineIO, everything
// else a list.
func (d *Desk) readCut(ctx context.Context, opt ReadSelectsOptions) (story.Cut, []string, error) {
	var base timecode.Base
	if opt.Rate != "" {
		var err error
		if base, err = parseRate(opt.Rate); err != nil {
			return story.Cut{}, nil, err
		}
	}
	info, err := os.Stat(opt.File)
	if err == nil && !info.Mode().IsRegular() {
		return story.Cut{}, nil, usage("name an edit decision list or an OpenTimelineIO document", "%s is no file", opt.File)
	}
	file, err := os.Open(opt.File)
	if err != nil {
		return story.Cut{}, nil, &Problem{What: opt.File + ": " + plainError(err)}
	}
	defer file.Close()
	in := bufio.NewReader(file)
	head, _ := in.Peek(512)
	name := filepath.Base(opt.File)
	if text := bytes.TrimSpace(bytes.TrimPrefix(head, []byte("\ufeff"))); bytes.HasPrefix(text, []byte("{")) {
		cut, notes, err := interchange.ReadOTIO(in, name)
		return cut, notes, cutError(err)
	}
	cut, notes, err := interchange.ReadEDL(in, name, base)
	if !errors.Is(err, interchange.ErrNoRate) {
		return cut, notes, cutError(err)
	}
	film, err := d.bank.Summary(ctx)
	if err != nil {
		return cut, nil, err
	}
	if _, err := file.Seek(0, io.SeekStart); err != nil {
		return cut, nil, err
	}
	cut, notes, err = interchange.ReadEDL(file, name, film.Base)
	return cut, append([]string{fmt.Sprintf("the list doesn't say its frame rate; read at %s frames/s, the film's (--rate says otherwise)", film.Base)}, notes...), cutError(err)
}

// cutError gives an unreadable cut its hint.
func cutError(err error) error {
	if !errors.Is(err, interchange.ErrFormat) {
		return err
	}
	return &Problem{What: err.Error(), Hint: "edit decision lists and OpenTimelineIO documents are read; for another frame rate say --rate", Kind: interchange.ErrFormat}
}
