// Package desk is where the rooms work together: each job a person gives the
// program (ingest, find, tag, export …) is one file here, which opens the
// bank, streams what it needs from room to room and reports how far it is.
//
// It holds no algorithm of its own: hearing, cutting, ranking and laying out
// belong to the rooms. It prints nothing; every job returns a value that the
// command line shows as words or as JSON.
package desk

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"rushlight/index"
	"rushlight/pkg/bank"
	"rushlight/pkg/quotes"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timedtext"
)

// ErrUsage is wrapped by every error about a call that can't be carried out
// as it was given: a bad option, a query that can't be read.
var ErrUsage = errors.New("wrong call")

// Problem is an error for people: what is wrong, and what to do.
type Problem struct {
	What, Hint string
	// Kind is the kind of error it counts as, Err the cause that is told
	// with it; either may be nil.
	Kind, Err error
}

// Error is the problem in one line, without the hint.
func (p *Problem) Error() string {
	if p.Err == nil {
		return p.What
	}
	return p.What + ": " + p.Err.Error()
}

// Unwrap gives kind and cause.
func (p *Problem) Unwrap() []error {
	var out []error
	for _, err := range []error{p.Kind, p.Err} {
		if err != nil {
			out = append(out, err)
		}
	}
	return out
}

// usage is a Problem of a wrong call.
func usage(hint, format string, args ...any) error {
	return &Problem{What: fmt.Sprintf(format, args...), Hint: hint, Kind: ErrUsage}
}

// refuse is a Problem of something that was asked rightly and can't be done.
func refuse(hint, format string, args ...any) error {
	return &Problem{What: fmt.Sprintf(format, args...), Hint: hint}
}

// Hint gives the advice that goes with an error, "" if there is none.
func Hint(err error) string {
	var p *Problem
	var q *index.QueryError
	var w *sound.FileError
	var t *timedtext.ParseError
	switch {
	case errors.As(err, &w) && w.Hint != "":
		return w.Hint
	case errors.As(err, &t) && strings.Contains(t.Problem, "frames/s"):
		return t.Hint + "; if its timecode counts more frames in a second, say so: --rate 30 (convert: --from-rate 30)"
	case errors.As(err, &t) && strings.Contains(t.Problem, "without a frame rate"):
		return t.Hint + ": --rate 25 (convert: --from-rate 25)"
	case errors.As(err, &t) && t.Hint != "":
		return t.Hint
	case errors.Is(err, quotes.ErrPastEnd):
		return "is it the transcript of another recording? name the right one with --for, or its frame rate with --rate"
	case errors.As(err, &p) && p.Hint != "":
		return p.Hint
	case errors.As(err, &q):
		return q.Hint
	case errors.Is(err, bank.ErrNoBank):
		return "make one with 'rushlight new DIR', or name it with --bank DIR or RUSHLIGHT_BANK"
	case errors.Is(err, bank.ErrBusy):
		return "another program is writing to this bank; try again in a moment"
	case errors.Is(err, index.ErrDamaged):
		return "remove the folder 'index' in the bank: the next search makes it anew, nothing is lost with it"
	case errors.Is(err, bank.ErrNewer):
		return "use a newer rushlight; nothing was changed"
	case errors.Is(err, bank.ErrFull):
		return "make room on the disk and run the command again; what was in the bank is still there"
	case errors.Is(err, bank.ErrDamaged):
		return "put a copy of bank.db in its place, from a backup; recordings and transcripts are untouched, so that a new bank can take them in again"
	case errors.Is(err, bank.ErrReadOnly):
		return "check who may write to the bank's folder"
	}
	return ""
}

// Options say which bank is meant and how to work on it.
type Options struct {
	// Bank is the folder named by hand; "" looks for the nearest one from
	// Start (the working folder) upwards.
	Bank, Start string
	// Who is written into the journal; "" is the user's name.
	Who string
	// Now is the clock; nil is the time of day.
	Now func() time.Time
	// Thesauri are the folders, parted as in PATH, in which thesaurus files
	// are looked for; "" are those where systems keep them.
	Thesauri string
	// Progress hears how far long work is; nil hears nothing.
	Progress Progress
	// Busy is how long to wait for another writer; 0 is the bank's default.
	Busy time.Duration
}

// Desk is an open bank with its index. Not for several goroutines at once.
type Desk struct {
	opt  Options
	bank *bank.Bank
	// recs caches the recordings by reel for labels and exports.
	recs map[string]story.Recording
}

// Open finds and opens the bank for a job that may change it.
func Open(ctx context.Context, opt Options) (*Desk, error) { return open(ctx, opt, false) }

// OpenToRead opens the bank for a job that changes nothing: its files stay
// byte for byte as they are.
func OpenToRead(ctx context.Context, opt Options) (*Desk, error) { return open(ctx, opt, true) }

// dir is the folder of the bank that is meant.
func (opt Options) dir() (string, error) {
	if opt.Bank != "" {
		return absolute(opt.Bank), nil
	}
	return bank.Locate(absolute(opt.Start))
}

func open(ctx context.Context, opt Options, readOnly bool) (*Desk, error) {
	dir, err := opt.dir()
	if err != nil {
		return nil, err
	}
	b, err := bank.Open(ctx, dir, bank.Options{Who: opt.Who, Now: opt.Now, ReadOnly: readOnly, BusyTimeout: opt.Busy})
	if err != nil {
		return nil, err
	}
	return &Desk{opt: opt, bank: b}, nil
}

// Close closes the bank.
func (d *Desk) Close() error { return d.bank.Close() }

// Dir is the bank's folder.
func (d *Desk) Dir() string { return d.bank.Dir() }

// indexName is the index's folder in that of the bank.
const indexName = "index"

func (d *Desk) indexDir() string { return filepath.Join(d.bank.Dir(), indexName) }

// recordings gives all recordings by reel name, read once.
func (d *Desk) recordings(ctx context.Context) (map[string]story.Recording, error) {
	if d.recs != nil {
		return d.recs, nil
	}
	list, err := d.bank.Recordings(ctx)
	if err != nil {
		return nil, err
	}
	d.recs = make(map[string]story.Recording, len(list))
	for _, r := range list {
		d.recs[r.Reel] = r
	}
	return d.recs, nil
}

// recording finds a reel by name in any case; an unknown one is an error that
// names those there are.
func (d *Desk) recording(ctx context.Context, reel string) (story.Recording, error) {
	rec, err := d.bank.Recording(ctx, reel)
	if !errors.Is(err, bank.ErrNotFound) {
		return rec, err
	}
	all, err2 := d.bank.Recordings(ctx)
	if err2 != nil {
		return rec, err2
	}
	names := make([]string, len(all))
	for i, r := range all {
		names[i] = r.Reel
	}
	return rec, &Problem{What: fmt.Sprintf("no reel %q in the bank", reel), Hint: "reels: " + someOf(names), Kind: bank.ErrNotFound}
}

// someOf lists up to eight names.
func someOf(names []string) string {
	if len(names) == 0 {
		return "none yet; take some in with 'rushlight ingest PATH'"
	}
	out := ""
	for i, n := range names {
		if i == 8 {
			return fmt.Sprintf("%s and %d more", out, len(names)-i)
		}
		if i > 0 {
			out += ", "
		}
		out += n
	}
	return out
}

// ParseCodes reads quote codes as typed.
func ParseCodes(args []string) ([]story.Code, error) {
	codes := make([]story.Code, 0, len(args))
	for _, a := range args {
		c, err := story.ParseCode(a)
		if err != nil {
			return nil, &Problem{What: err.Error(), Hint: "codes stand at the head of each hit of 'rushlight find'", Kind: ErrUsage}
		}
		codes = append(codes, c)
	}
	return codes, nil
}

// quotes fetches quotes by code, in the order given.
func (d *Desk) quotes(ctx context.Context, codes []story.Code) ([]story.Quote, error) {
	if len(codes) == 0 {
		return nil, nil
	}
	out := make([]story.Quote, 0, len(codes))
	for q, err := range d.bank.Quotes(ctx, bank.Filter{Codes: codes}) {
		if errors.Is(err, bank.ErrNotFound) {
			return nil, d.missing(ctx, codes, err)
		}
		if err != nil {
			return nil, err
		}
		out = append(out, q)
	}
	return out, nil
}

// missing says which of some codes is no quote's, and what it was if it once
// was one.
func (d *Desk) missing(ctx context.Context, codes []story.Code, err error) error {
	p := &Problem{What: err.Error(), Hint: "codes stand at the head of each hit of 'rushlight find'", Kind: bank.ErrNotFound}
	for _, c := range codes {
		if _, err := d.bank.Quote(ctx, c); !errors.Is(err, bank.ErrNotFound) {
			continue
		}
		q, err := d.bank.RetiredQuote(ctx, c)
		if err != nil {
			break
		}
		where := q.Reel
		if rec, err := d.bank.Recording(ctx, q.Reel); err == nil {
			where += " " + rec.Clock.In(q.In).Timecode
		}
		p.What = fmt.Sprintf("%s is no longer in the transcript of %s; it was: %s", c, where, q.Text)
		p.Hint = "look for what became of it with 'rushlight find'; 'rushlight history' tells when it went"
		break
	}
	return p
}

// absolute is the path as the bank keeps it.
func absolute(path string) string {
	if a, err := filepath.Abs(path); err == nil {
		return a
	}
	return path
}

// exists tells whether something can be seen at path.
func exists(path string) bool {
	_, err := os.Stat(path)
	return err == nil
}
