package timecode

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// ErrTimecode is wrapped by every error about a timecode or clock time.
var ErrTimecode = errors.New("time not understood")

// droppedPerMinute is 2 for 29.97, 4 for 59.94, 0 without drop-frame.
func (b Base) droppedPerMinute() int64 {
	if !b.Drop || b.Rate.Nominal()%30 != 0 {
		return 0
	}
	return b.Rate.Nominal() / 15
}

// FramesPerDay is the number of labels in 24 hours: 2,589,408 at 29.97 DF.
func (b Base) FramesPerDay() int64 {
	return b.Rate.Nominal()*86_400 - b.droppedPerMinute()*9*6*24
}

// Label writes frame number n (counted from midnight) as HH:MM:SS:FF, with a
// semicolon before the frames in drop-frame. It wraps at 24 hours, backwards
// too. An unknown rate gives "--:--:--:--".
func (b Base) Label(n int64) string {
	nominal := b.Rate.Nominal()
	if nominal == 0 {
		return "--:--:--:--"
	}
	day := b.FramesPerDay()
	n %= day
	if n < 0 {
		n += day
	}
	sep := byte(':')
	if d := b.droppedPerMinute(); d > 0 {
		sep = ';'
		perTen := nominal*600 - 9*d
		tens, rest := n/perTen, n%perTen
		n += 9 * d * tens
		// The first minute of each ten keeps all its labels; each of the
		// other nine lacks its first d.
		if first := nominal * 60; rest >= first {
			n += d * (1 + (rest-first)/(first-d))
		}
	}
	width := 2
	if nominal > 100 {
		width = 3
	}
	s := n / nominal
	return fmt.Sprintf("%02d:%02d:%02d%c%0*d", s/3600, s/60%60, s%60, sep, width, n%nominal)
}

var separators = strings.NewReplacer(";", ":", ".", ":", ",", ":")

// Frame reads a label as a frame number counted from midnight. The separator
// before the frames may be a colon, semicolon, comma or full stop. Errors: a field out of
// range, or a label that drop-frame skips.
func (b Base) Frame(label string) (int64, error) {
	nominal := b.Rate.Nominal()
	if nominal == 0 {
		return 0, fmt.Errorf("%w: %q needs a frame rate", ErrTimecode, label)
	}
	f := strings.Split(separators.Replace(label), ":")
	if len(f) != 4 {
		return 0, fmt.Errorf("%w: %q: want HH:MM:SS:FF", ErrTimecode, label)
	}
	var v [4]int64
	limit := [4]int64{24, 60, 60, nominal}
	names := [4]string{"hours", "minutes", "seconds", "frames"}
	for i, s := range f {
		u, err := strconv.ParseUint(s, 10, 32)
		if s == "" {
			return 0, fmt.Errorf("%w: %q: want HH:MM:SS:FF", ErrTimecode, label)
		}
		n := int64(u)
		if err != nil || len(s) > 3 {
			return 0, fmt.Errorf("%w: %q: %s %q is not a number", ErrTimecode, label, names[i], s)
		}
		if n >= limit[i] {
			return 0, fmt.Errorf("%w: %q: %s %d, want 0 to %d at %s frames/s", ErrTimecode, label, names[i], n, limit[i]-1, b)
		}
		v[i] = n
	}
	minutes := v[0]*60 + v[1]
	n := (minutes*60+v[2])*nominal + v[3]
	if d := b.droppedPerMinute(); d > 0 {
		if v[2] == 0 && v[3] < d && v[1]%10 != 0 {
			return 0, fmt.Errorf("%w: %q does not exist in drop-frame", ErrTimecode, label)
		}
		n -= d * (minutes - minutes/10)
	}
	return n, nil
}

// Clock is how one recording counts time: its time base and the time of day
// (from frame 0 of its label count) at which its first sample lies.
type Clock struct {
	Base  Base
	Start Ticks
}

// Timecode is the label of the frame that holds the place rel, measured from
// the start of the recording.
func (c Clock) Timecode(rel Ticks, round Rounding) string {
	return c.Base.Label(c.Base.Rate.Frame(c.Start+rel, round))
}

// Place is the reverse of Timecode: the place in the recording, measured from
// its start, at which the labelled frame begins. A label before the start is
// taken as past midnight; the label of the frame that straddles the start gives
// a place a little before it.
func (c Clock) Place(label string) (Ticks, error) {
	n, err := c.Base.Frame(label)
	if err != nil {
		return 0, err
	}
	t := c.Base.Rate.Ticks(n) - c.Start
	// A frame that straddles the start begins a little before it.
	if t <= -c.Base.Rate.Ticks(1) {
		t += c.Base.Rate.Ticks(c.Base.FramesPerDay())
	}
	return t, nil
}

// Running is how long a span runs in a cut: the whole frames that it touches,
// counted on the clock's own labels. Without a frame rate it is the span's
// length.
func (c Clock) Running(s Span) Ticks {
	r := c.Base.Rate
	if s.Empty() || !r.Known() {
		return max(s.Length(), 0)
	}
	return r.Ticks(r.Frame(c.Start+s.Out, Ceil)) - r.Ticks(r.Frame(c.Start+s.In, Floor))
}

// Moment is a time as JSON carries it. Seconds and ticks count from the start
// of the recording; the timecode is the recording's own label.
type Moment struct {
	Seconds  float64 `json:"seconds"`
	Timecode string  `json:"timecode"`
	Ticks    Ticks   `json:"ticks"`
}

// In is the moment of a first frame: the label of the frame that holds it.
func (c Clock) In(rel Ticks) Moment {
	return Moment{Seconds: rel.Seconds(), Timecode: c.Timecode(rel, Floor), Ticks: rel}
}

// Out is the moment of the frame after the last: rounded up, so that no part
// of the span is cut.
func (c Clock) Out(rel Ticks) Moment {
	return Moment{Seconds: rel.Seconds(), Timecode: c.Timecode(rel, Ceil), Ticks: rel}
}
