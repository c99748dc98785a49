package selects

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"rushlight/pkg/timecode"
)

// ErrTrim is wrapped by every error about an in or out that cannot be.
var ErrTrim = errors.New("cannot trim")

// Edge is a new in or out as a person writes it: a place, or a distance from
// where it is now. The zero Edge leaves the place as it is.
type Edge struct {
	kind   edgeKind
	ticks  timecode.Ticks // a distance, or a place from the recording's start
	frames int64          // a distance in frames of the recording
	label  string         // a timecode of the recording
}

type edgeKind int

const (
	unchanged edgeKind = iota
	byTicks
	byFrames
	atTicks
	atLabel
)

// maxEdgeFrames keeps frame counts well inside exact arithmetic.
const maxEdgeFrames = 100_000_000

// ParseEdge reads a new in or out:
//
//	""             as it is
//	+0.5  -1:02    later, earlier by a length of time (+ is later for an out too)
//	-12f  +1f      by frames of the recording
//	10:00:12:05    at a timecode of the recording (four fields, ; before the frames for drop-frame)
//	1:23.4  83.4s  at a time from the recording's start
//
// Whether a timecode exists is known only with the recording's clock, so
// that Trim reports it.
func ParseEdge(text string) (Edge, error) {
	v := strings.TrimSpace(strings.ReplaceAll(text, "−", "-"))
	if v == "" {
		return Edge{}, nil
	}
	signed := v[0] == '+' || v[0] == '-'
	if strings.Count(v, ":")+strings.Count(v, ";") == 3 {
		if signed {
			return Edge{}, fmt.Errorf("%w to %q: a timecode has no sign; move by time (+0.5) or frames (-12f)", ErrTrim, text)
		}
		return Edge{kind: atLabel, label: v}, nil
	}
	if n, ok := strings.CutSuffix(v, "f"); ok {
		frames, err := strconv.ParseInt(n, 10, 64)
		if err != nil || !signed || frames > maxEdgeFrames || frames < -maxEdgeFrames {
			return Edge{}, fmt.Errorf("%w by %q: want a sign and a whole number of frames, such as -12f", ErrTrim, text)
		}
		return Edge{kind: byFrames, frames: frames}, nil
	}
	w, err := timecode.Parse(v, timecode.Base{})
	if err != nil {
		return Edge{}, fmt.Errorf("%w to %q: %w; or +0.5, -12f to move by time or frames", ErrTrim, text, err)
	}
	if signed {
		return Edge{kind: byTicks, ticks: w.Ticks}, nil
	}
	return Edge{kind: atTicks, ticks: w.Ticks}, nil
}

// apply is the new place, given the old one, counted from the recording's
// start.
func (e Edge) apply(now timecode.Ticks, clock timecode.Clock) (timecode.Ticks, error) {
	switch e.kind {
	case byTicks:
		return now + e.ticks, nil
	case byFrames:
		if !clock.Base.Rate.Known() {
			return 0, fmt.Errorf("%w by frames: the recording's frame rate is not known; use seconds", ErrTrim)
		}
		return now + clock.Base.Rate.Ticks(e.frames), nil
	case atTicks:
		return e.ticks, nil
	case atLabel:
		t, err := clock.Place(e.label)
		if err != nil {
			return 0, fmt.Errorf("%w: %w", ErrTrim, err)
		}
		return t, nil
	}
	return now, nil
}
