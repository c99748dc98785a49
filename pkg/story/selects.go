package story

import (
	"encoding/json"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"rushlight/pkg/timecode"
)

// Selects is a named, ordered list of quotes pulled for use.
type Selects struct {
	Name string
	// Target is the wanted running time, 0 if none.
	Target timecode.Ticks
	Items  []Item
}

// Item is one quote in selects, with its own in and out.
type Item struct {
	// ID tells items of one list apart and never changes; a quote may stand
	// in a list twice.
	ID   int
	Code Code
	Reel string
	// Span is what is used: the quote's own in and out until trimmed.
	timecode.Span
	// Trimmed tells that Span was set by hand and does not follow the quote.
	Trimmed bool
	Speaker string
	Text    string
	Note    string
	Clock   timecode.Clock
	// Lost tells that the quote is no longer in the bank; Span, Reel and
	// Text are as they were last.
	Lost bool
}

// Running is how long the item runs in a cut, in whole frames.
func (it Item) Running() timecode.Ticks { return it.Clock.Running(it.Span) }

// RunningTime is what the items run, each in whole frames, as lists and
// timelines count it.
func (s Selects) RunningTime() timecode.Ticks {
	var t timecode.Ticks
	for _, it := range s.Items {
		t += it.Running()
	}
	return t
}

type itemJSON struct {
	Position int             `json:"position"`
	Code     Code            `json:"code"`
	Reel     string          `json:"reel"`
	Speaker  string          `json:"speaker"`
	In       timecode.Moment `json:"in"`
	Out      timecode.Moment `json:"out"`
	Seconds  float64         `json:"seconds"`
	Trimmed  bool            `json:"trimmed"`
	Text     string          `json:"text"`
	Note     string          `json:"note"`
	Lost     bool            `json:"lost,omitempty"`
}

// MarshalJSON writes {"name", "items": […], "running_seconds",
// "target_seconds", "over_seconds"}; positions count from 1.
func (s Selects) MarshalJSON() ([]byte, error) {
	items := make([]itemJSON, 0, len(s.Items))
	for i, it := range s.Items {
		items = append(items, itemJSON{
			Position: i + 1, Code: it.Code, Reel: it.Reel, Speaker: it.Speaker,
			In: it.Clock.In(it.In), Out: it.Clock.Out(it.Out), Seconds: it.Running().Seconds(),
			Trimmed: it.Trimmed, Text: it.Text, Note: it.Note, Lost: it.Lost,
		})
	}
	out := struct {
		Name    string     `json:"name"`
		Items   []itemJSON `json:"items"`
		Running float64    `json:"running_seconds"`
		Target  float64    `json:"target_seconds,omitempty"`
		Over    *float64   `json:"over_seconds,omitempty"`
	}{Name: s.Name, Items: items, Running: s.RunningTime().Seconds(), Target: s.Target.Seconds()}
	if s.Target > 0 {
		over := (s.RunningTime() - s.Target).Seconds()
		out.Over = &over
	}
	return json.Marshal(out)
}

// SelectsName puts a name in its one form and tells whether it is valid: 1 to
// 60 printable letters without a slash.
func SelectsName(name string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" || utf8.RuneCountInString(name) > 60 {
		return "", fmt.Errorf("selects name %q %w: want 1 to 60 letters", name, ErrInvalid)
	}
	for _, r := range name {
		if !unicode.IsPrint(r) || r == '/' || r == '\\' || r == utf8.RuneError {
			return "", fmt.Errorf("selects name %q %w: %q is not allowed", name, ErrInvalid, r)
		}
	}
	return name, nil
}
