package story

import (
	"rushlight/pkg/timecode"
)

// Cut is a cut in its neutral form: what lists and timelines are written from
// and read into. Its timeline counts from 0.
type Cut struct {
	Title string
	// Base is the time base of the timeline.
	Base timecode.Base
	// Start is the label of the timeline's first frame, as time from frame 0
	// of the label count: the hour for 01:00:00:00 at 25 frames/s.
	Start timecode.Ticks
	// Events stand in order of their place on the timeline.
	Events []Event
	// Notes are remarks on the whole cut.
	Notes []string
}

// Event is one piece of a cut: a stretch of one recording, or a gap.
//
// Source is what is really used, with handles applied: Lead and Tail are the
// parts of it that were added before and after the saying. Source and Record
// are equally long unless a list that was read says otherwise.
type Event struct {
	// Number is how the list that was read counts the event, 0 if it wasn't
	// read from one.
	Number int
	Reel   string
	// Clip is the name a list gives the piece where that is not the reel's.
	Clip          string
	Path          string
	Speaker, Text string
	Code          Code
	Note          string
	Themes        []string

	// Source counts from the recording's first sample. In an event that was
	// read from a list that doesn't know where the recording starts,
	// Clock.Start is 0 and Source is the label itself.
	Source timecode.Span
	// Record counts from the start of the timeline.
	Record timecode.Span
	// Clock is the recording's, for source labels.
	Clock timecode.Clock
	// Available is the recording's length, 0 if unknown.
	Available timecode.Ticks
	// Lead and Tail are the handles inside Source.
	Lead, Tail timecode.Ticks

	// Gap tells that nothing is heard: black, silence. Source then counts
	// from 0 and means nothing.
	Gap bool
	// Channels is the recording's, 0 if unknown.
	Channels int
	// Track is the lane as a list names it (V, A, A2, AA, AA/V …), "" for the
	// one sound lane of a plain cut.
	Track string
	// Transition is how the event begins; the zero value is a plain cut.
	Transition Transition
	// Speed is a change of speed, nil for none.
	Speed *Speed
	// Markers lie in the timeline's time.
	Markers []CutMarker
	// Comments are remarks of a list that nothing else here holds.
	Comments []string
}

// Talk is the part of Source without its handles.
func (e Event) Talk() timecode.Span {
	return timecode.Span{In: e.Source.In + e.Lead, Out: e.Source.Out - e.Tail}
}

// Transition is the blend at the start of an event, over its first Length
// while the event before runs on.
type Transition struct {
	// Kind is "" for a plain cut, else "dissolve", "wipe" or "key".
	Kind string
	// Code is the number of a wipe or the letter of a key as lists write it.
	Code string
	// Length is how long the blend takes.
	Length timecode.Ticks
	// FromReel and FromClip name what is left, From is its source label when
	// the blend begins, as time from frame 0 of the label count; empty where
	// the list does not say, which means that the event before runs on.
	FromReel, FromClip string
	From               timecode.Ticks
}

// Speed is a change of speed from a place in the source on.
type Speed struct {
	// Rate is frames per second as the list writes it, for example "024.0";
	// negative runs backwards.
	Rate string
	// At is the place in the source, counted like Source.
	At timecode.Ticks
}

// CutMarker is a named place on the timeline of a cut.
type CutMarker struct {
	At timecode.Ticks
	// Colour is a name in capitals, such as GREEN, or "".
	Colour string
	Text   string
}

// Duration is where the last event ends on the timeline.
func (c Cut) Duration() timecode.Ticks {
	var end timecode.Ticks
	for _, e := range c.Events {
		end = max(end, e.Record.Out)
	}
	return end
}

// Label is the timeline's timecode at a place on it.
func (c Cut) Label(at timecode.Ticks, round timecode.Rounding) string {
	return c.Base.Label(c.Base.Rate.Frame(c.Start+at, round))
}
