package listen

import (
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// SilenceKind says what a silence lies between.
type SilenceKind int

const (
	// Pause is silence inside one person's talk.
	Pause SilenceKind = iota
	// Gap is silence between two people.
	Gap
	// Unknown is silence beside talk that no turn covers.
	Unknown
	// Lead is the dead air before the first talk; all of a recording without
	// talk.
	Lead
	// Tail is what follows the last talk.
	Tail
)

// String is the kind as a word.
func (k SilenceKind) String() string {
	names := []string{"pause", "gap", "unknown", "lead", "tail"}
	if k < 0 || int(k) >= len(names) {
		return "unknown"
	}
	return names[k]
}

// Silence is a stretch in which nobody speaks, with who spoke before it and
// who after ("" if nobody is known to).
type Silence struct {
	timecode.Span
	Kind          SilenceKind
	Before, After string
}

// Silences tells the silences of a recording apart, in order: with the speech
// they cover the whole of it. Where several people talk at once before or
// after, it is a pause if one of them talks on both sides. Turns may come from
// Hear or Relabel.
func Silences(h story.Heard) []Silence {
	if h.Duration <= 0 {
		return nil
	}
	if len(h.Speech) == 0 {
		return []Silence{{Span: timecode.Span{Out: h.Duration}, Kind: Lead}}
	}
	w := newWho(h.Turns)
	var out []Silence
	add := func(s Silence) {
		if !s.Empty() {
			out = append(out, s)
		}
	}
	first, last := h.Speech[0].In, h.Speech[len(h.Speech)-1].Out
	lead := Silence{Span: timecode.Span{Out: first}, Kind: Lead}
	if after := w.at(first); len(after) > 0 {
		lead.After = after[0]
	}
	add(lead)
	for i := 1; i < len(h.Speech); i++ {
		span := timecode.Span{In: h.Speech[i-1].Out, Out: h.Speech[i].In}
		s := between(w.at(span.In-1), w.at(span.Out))
		s.Span = span
		add(s)
	}
	tail := Silence{Span: timecode.Span{In: last, Out: h.Duration}, Kind: Tail}
	if before := w.at(last - 1); len(before) > 0 {
		tail.Before = before[0]
	}
	add(tail)
	return out
}

// between judges by who speaks on both sides.
func between(before, after []string) Silence {
	if len(before) == 0 || len(after) == 0 {
		s := Silence{Kind: Unknown}
		if len(before) > 0 {
			s.Before = before[0]
		}
		if len(after) > 0 {
			s.After = after[0]
		}
		return s
	}
	for _, b := range before {
		if slices.Contains(after, b) {
			return Silence{Kind: Pause, Before: b, After: b}
		}
	}
	return Silence{Kind: Gap, Before: before[0], After: after[0]}
}

// who finds the speakers at a time.
type who struct {
	turns []story.Turn
	// upTo[i] is the latest end among the first i+1 turns.
	upTo []timecode.Ticks
}

func newWho(turns []story.Turn) who {
	w := who{turns: slices.Clone(turns)}
	sortTurns(w.turns)
	var latest timecode.Ticks
	for _, t := range w.turns {
		latest = max(latest, t.Out)
		w.upTo = append(w.upTo, latest)
	}
	return w
}

// at is who speaks at t: the latest to begin first.
func (w who) at(t timecode.Ticks) []string {
	i, _ := slices.BinarySearchFunc(w.turns, t, func(u story.Turn, t timecode.Ticks) int {
		if u.In <= t {
			return -1
		}
		return 1
	})
	var out []string
	for i--; i >= 0 && w.upTo[i] > t; i-- {
		if w.turns[i].Out > t {
			out = append(out, w.turns[i].Speaker)
		}
	}
	return out
}
