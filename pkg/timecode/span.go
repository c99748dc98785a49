package timecode

import "fmt"

// Span is a stretch of time that includes its In and excludes its Out.
type Span struct {
	In  Ticks `json:"in"`
	Out Ticks `json:"out"`
}

// Length is Out − In; negative for a span that is not valid.
func (s Span) Length() Ticks { return s.Out - s.In }

// Empty tells whether nothing lies in the span.
func (s Span) Empty() bool { return s.Out <= s.In }

// Contains tells whether t lies in the span; the Out itself does not.
func (s Span) Contains(t Ticks) bool { return t >= s.In && t < s.Out }

// Overlaps tells whether the two share at least one tick.
func (s Span) Overlaps(o Span) bool { return s.In < o.Out && o.In < s.Out && !s.Empty() && !o.Empty() }

// Intersect is what both share; an empty Span at the later In if nothing.
func (s Span) Intersect(o Span) Span {
	r := Span{In: max(s.In, o.In), Out: min(s.Out, o.Out)}
	if r.Out < r.In {
		r.Out = r.In
	}
	return r
}

// Cover is the shortest span that holds both.
func (s Span) Cover(o Span) Span { return Span{In: min(s.In, o.In), Out: max(s.Out, o.Out)} }

// Shift moves the span by d.
func (s Span) Shift(d Ticks) Span { return Span{In: s.In + d, Out: s.Out + d} }

// Middle is the tick halfway, rounded down.
func (s Span) Middle() Ticks { return s.In + (s.Out-s.In)/2 }

// String prints "in-out" in clock times.
func (s Span) String() string { return fmt.Sprintf("%s-%s", s.In, s.Out) }
