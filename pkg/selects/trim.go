package selects

import (
	"fmt"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Trim moves the in and out of the item at pos. duration is the length of the
// item's recording, 0 if unknown (the end is then not checked). Both edges
// are counted from where the item stands now; edges at a timecode whose frame
// straddles the recording's start begin at the start.
//
// Errors wrap ErrPosition or ErrTrim and say what is allowed: an out not
// after the in, an edge outside the recording, a timecode that does not exist
// in the recording's time base.
func Trim(s story.Selects, pos int, in, out Edge, duration timecode.Ticks) (story.Selects, error) {
	if err := checkPosition(s, pos); err != nil {
		return s, err
	}
	it := s.Items[pos-1]
	span, err := edges(it, in, out)
	if err != nil {
		return s, fmt.Errorf("item %d (%s of reel %s): %w", pos, it.Code, it.Reel, err)
	}
	err = allowed(span, it.Clock, duration)
	if err != nil {
		return s, fmt.Errorf("item %d (%s of reel %s): %w: %w", pos, it.Code, it.Reel, ErrTrim, err)
	}
	if span == it.Span {
		return s, nil
	}
	it.Span, it.Trimmed = span, true
	s.Items = slices.Clone(s.Items)
	s.Items[pos-1] = it
	return s, nil
}

// allowed tells what is wrong with a new span, and between which places it
// must lie.
func allowed(span timecode.Span, clock timecode.Clock, duration timecode.Ticks) error {
	what := func(name string, t timecode.Ticks) string {
		return fmt.Sprintf("%s at %s (%s from the start)", name, clock.Timecode(t, timecode.Floor), t)
	}
	runs := "the recording, which starts at " + clock.Timecode(0, timecode.Ceil)
	if duration > 0 {
		runs += fmt.Sprintf(" and ends at %s (%s)", clock.Timecode(duration, timecode.Floor), duration)
	}
	switch {
	case span.In < 0 || duration > 0 && span.In >= duration:
		return fmt.Errorf("%s lies outside %s", what("in", span.In), runs)
	case duration > 0 && span.Out > duration:
		return fmt.Errorf("%s lies outside %s", what("out", span.Out), runs)
	case span.Empty():
		return fmt.Errorf("%s is not after %s", what("out", span.Out), what("in", span.In))
	}
	return nil
}

func edges(it story.Item, in, out Edge) (timecode.Span, error) {
	var span timecode.Span
	var err error
	if span.In, err = in.apply(it.In, it.Clock); err != nil {
		return span, err
	}
	if span.Out, err = out.apply(it.Out, it.Clock); err != nil {
		return span, err
	}
	if in.kind == atLabel && span.In < 0 && span.In > -it.Clock.Base.Rate.Ticks(1) {
		span.In = 0
	}
	return span, nil
}

// Untrim gives the item at pos the in and out of its quote again, so that it
// follows the quote from then on. quote must be the item's own.
func Untrim(s story.Selects, pos int, quote story.Quote) (story.Selects, error) {
	if err := checkPosition(s, pos); err != nil {
		return s, err
	}
	it := s.Items[pos-1]
	if quote.Code != it.Code {
		return s, fmt.Errorf("item %d: %w: got quote %s, want %s", pos, ErrTrim, quote.Code, it.Code)
	}
	it.Span, it.Trimmed = quote.Span, false
	s.Items = slices.Clone(s.Items)
	s.Items[pos-1] = it
	return s, nil
}
