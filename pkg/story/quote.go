package story

import (
	"cmp"
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/timecode"
)

func sortTalk(t []Talk) {
	slices.SortFunc(t, func(a, b Talk) int {
		return cmp.Or(cmp.Compare(b.Ticks, a.Ticks), strings.Compare(a.Speaker, b.Speaker))
	})
}

// Strong is the mark of a quote worth using. It is set and found like a theme
// but is not counted among the themes.
const Strong = "strong"

// Word is one word with its own time.
type Word struct {
	Text string `json:"text"`
	timecode.Span
}

// Precision says how an in or out time was found.
type Precision string

// The precisions, best first: from word times; from a heard pause; by
// dividing a cue in proportion to its text; a coarse guess between two far
// timecodes.
const (
	FromWords Precision = "words"
	FromPause Precision = "pause"
	FromShare Precision = "share"
	FromGuess Precision = "guess"
)

// Quote is one saying with exact in and out. The zero Rating means unrated.
type Quote struct {
	Code    Code
	Reel    string
	Day     string
	Speaker string
	timecode.Span
	Text     string
	Language string
	// Order counts the quotes of a reel from 0.
	Order int
	// Words holds the words with times of their own, empty if none had any.
	Words []Word
	// InBy and OutBy say how far the times can be trusted.
	InBy, OutBy Precision

	Themes []string
	Rating int
	Note   string

	// Clock is the recording's, for labels.
	Clock timecode.Clock
}

// IsStrong tells whether the quote is marked strong.
func (q Quote) IsStrong() bool { return slices.Contains(q.Themes, Strong) }

// Running is how long the quote runs in a cut, in whole frames.
func (q Quote) Running() timecode.Ticks { return q.Clock.Running(q.Span) }

// quoteJSON is the form others rely on; fields may be added, none renamed.
type quoteJSON struct {
	Code     Code            `json:"code"`
	Reel     string          `json:"reel"`
	Speaker  string          `json:"speaker"`
	In       timecode.Moment `json:"in"`
	Out      timecode.Moment `json:"out"`
	Text     string          `json:"text"`
	Themes   []string        `json:"themes"`
	Rating   int             `json:"rating"`
	Note     string          `json:"note"`
	Day      string          `json:"day,omitempty"`
	Language string          `json:"language,omitempty"`
	InBy     Precision       `json:"in_by,omitempty"`
	OutBy    Precision       `json:"out_by,omitempty"`
}

// MarshalJSON writes {"code","reel","speaker","in","out","text","themes",
// "rating","note", …} with times as timecode.Moment.
func (q Quote) MarshalJSON() ([]byte, error) {
	themes := q.Themes
	if themes == nil {
		themes = []string{}
	}
	return json.Marshal(quoteJSON{
		Code: q.Code, Reel: q.Reel, Speaker: q.Speaker,
		In: q.Clock.In(q.In), Out: q.Clock.Out(q.Out),
		Text: q.Text, Themes: themes, Rating: q.Rating, Note: q.Note,
		Day: q.Day, Language: q.Language, InBy: q.InBy, OutBy: q.OutBy,
	})
}

// ValidRating tells whether n is a rating: 1 to 5, or 0 for none.
func ValidRating(n int) error {
	if n < 0 || n > 5 {
		return fmt.Errorf("rating %d %w: want 1 to 5, or 0 to take it off", n, ErrInvalid)
	}
	return nil
}

// Recurring is a word or phrase that keeps coming back, before anyone named
// it. Field names are relied on by others.
type Recurring struct {
	Term       string   `json:"term"`
	Count      int      `json:"count"`
	Reels      []string `json:"reels"`
	Speakers   []string `json:"speakers"`
	Keyness    float64  `json:"keyness"`
	Dispersion float64  `json:"dispersion"`
	// First is the code of the quote that said it first.
	First  Code   `json:"first"`
	Quotes []Code `json:"quotes"`
	// Forms holds the word forms counted, most frequent first.
	Forms []string `json:"forms,omitempty"`
}
