package bank

import (
	"context"
	"errors"
	"iter"
	"time"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

var errNotBuilt = errors.New("not built yet")

// Options say how a bank is opened.
type Options struct {
	// Who is written into the journal; "" is the user's name.
	Who string
	// Now is the clock for the journal; nil is time.Now.
	Now func() time.Time
	// BusyTimeout is how long a writer waits for another; 0 is 5 s, less
	// than 0 not at all.
	BusyTimeout time.Duration
	// ReadOnly opens for reading only: bank.db stays byte for byte as it is.
	ReadOnly bool
}

// Film is what the whole bank is about.
type Film struct {
	Title, Note string
	// Base is the time base of the edit.
	Base timecode.Base
}

// Summary is the bank at a glance.
type Summary struct {
	Film
	Recordings, Heard, Quotes int
	// Tagged counts quotes with a theme, Strong those marked strong, Rated
	// those with a rating.
	Tagged, Strong, Rated int
	Themes, Selects       int
	// Sound is the length of all recordings, Speech of all heard speech.
	Sound, Speech timecode.Ticks
	// State is the number of the last journal entry.
	State int64
}

// Filter says which quotes are wanted; the zero Filter wants all. Reel,
// Speaker and Theme are compared without case.
type Filter struct {
	Reel, Speaker, Theme string
	Codes                []story.Code
	MinRating            int
	Strong, Tagged       bool
}

// Bank is an open story bank, safe for several goroutines.
type Bank struct{}

// Tx is one change under way.
type Tx struct{}

func Create(ctx context.Context, dir string, opt Options) (*Bank, error) { return nil, errNotBuilt }
func Open(ctx context.Context, dir string, opt Options) (*Bank, error)   { return nil, errNotBuilt }
func Locate(start string) (dir string, err error)                        { return "", errNotBuilt }
func (b *Bank) Close() error                                             { return errNotBuilt }
func (b *Bank) Dir() string                                              { return "" }
func (b *Bank) ID() string                                               { return "" }
func (b *Bank) State(ctx context.Context) (int64, error)                 { return 0, errNotBuilt }
func (b *Bank) Recordings(ctx context.Context) ([]story.Recording, error) {
	return nil, errNotBuilt
}

func (b *Bank) Recording(ctx context.Context, reel string) (story.Recording, error) {
	return story.Recording{}, errNotBuilt
}

func (b *Bank) ByEssence(ctx context.Context, essence string) (story.Recording, error) {
	return story.Recording{}, errNotBuilt
}

func (b *Bank) ByPath(ctx context.Context, path string) (story.Recording, error) {
	return story.Recording{}, errNotBuilt
}

func (b *Bank) ByTranscriptPath(ctx context.Context, path string) (story.Recording, error) {
	return story.Recording{}, errNotBuilt
}

func (b *Bank) ByTranscriptDigest(ctx context.Context, digest string) (story.Recording, error) {
	return story.Recording{}, errNotBuilt
}

func (b *Bank) Heard(ctx context.Context, reel string) (*story.Heard, error) { return nil, errNotBuilt }

// Quotes streams quotes in the order of Recordings, then Order; with
// Filter.Codes in the order given.
func (b *Bank) Quotes(ctx context.Context, f Filter) iter.Seq2[story.Quote, error] {
	return func(yield func(story.Quote, error) bool) { yield(story.Quote{}, errNotBuilt) }
}

func (b *Bank) Quote(ctx context.Context, code story.Code) (story.Quote, error) {
	return story.Quote{}, errNotBuilt
}

func (b *Bank) Around(ctx context.Context, code story.Code, n int) (before, after []story.Quote, err error) {
	return nil, nil, errNotBuilt
}

func (b *Bank) CodeTaken(ctx context.Context) (func(story.Code) bool, error) {
	return nil, errNotBuilt
}
func (b *Bank) Themes(ctx context.Context) ([]story.Theme, error) { return nil, errNotBuilt }
func (b *Bank) Summary(ctx context.Context) (Summary, error)      { return Summary{}, errNotBuilt }
func (b *Bank) Selects(ctx context.Context, name string) (story.Selects, error) {
	return story.Selects{}, errNotBuilt
}
func (b *Bank) AllSelects(ctx context.Context) ([]story.Selects, error) { return nil, errNotBuilt }
func (b *Bank) ChangedSince(ctx context.Context, state int64) (changed []story.Quote, gone []story.Code, full bool, err error) {
	return nil, nil, false, errNotBuilt
}

func (b *Bank) History(ctx context.Context, limit int) ([]story.Entry, error) {
	return nil, errNotBuilt
}
func (b *Bank) Undo(ctx context.Context) (story.Entry, error) { return story.Entry{}, errNotBuilt }
func (b *Bank) Change(ctx context.Context, kind, summary string, f func(*Tx) error) (story.Entry, error) {
	return story.Entry{}, errNotBuilt
}

func (tx *Tx) SetSummary(s string)                               {}
func (tx *Tx) SetFilm(f Film) error                              { return errNotBuilt }
func (tx *Tx) PutRecording(r story.Recording) error              { return errNotBuilt }
func (tx *Tx) RemoveRecording(reel string) error                 { return errNotBuilt }
func (tx *Tx) PutHeard(reel string, h story.Heard) error         { return errNotBuilt }
func (tx *Tx) PutQuotes(reel string, quotes []story.Quote) error { return errNotBuilt }
func (tx *Tx) Tag(code story.Code, add, off []string) (bool, error) { return false, errNotBuilt }

func (tx *Tx) Rate(code story.Code, n int) (bool, error) { return false, errNotBuilt }

func (tx *Tx) Note(code story.Code, text string) (bool, error) { return false, errNotBuilt }

func (tx *Tx) SetSpeaker(reel, from, to string) (int, error) { return 0, errNotBuilt }
func (tx *Tx) PutSelects(s story.Selects) error              { return errNotBuilt }
func (tx *Tx) RemoveSelects(name string) error               { return errNotBuilt }
func (tx *Tx) RenameTheme(old, name string) (int, error) { return 0, errNotBuilt }

func (tx *Tx) RemoveTheme(name string) (int, error) { return 0, errNotBuilt }

func (tx *Tx) Quote(code story.Code) (story.Quote, error) { return story.Quote{}, errNotBuilt }

func (tx *Tx) Quotes(f Filter) iter.Seq2[story.Quote, error] { return (&Bank{}).Quotes(nil, f) }

func (tx *Tx) Selects(name string) (story.Selects, error) { return story.Selects{}, errNotBuilt }

func (tx *Tx) Recording(reel string) (story.Recording, error) { return story.Recording{}, errNotBuilt }
