// Package timecode holds exact time: ticks, frame rates, SMPTE timecode,
// half-open spans, and times as people write them.
//
// One tick is 1/705,600,000 second, the openly published "flick". Every
// common frame rate (24, 25, 30, 50, 60, 120 and their 1000/1001 relatives)
// and every common sample rate (8 kHz to 192 kHz and the 44.1 kHz family) has
// a whole number of ticks in a frame or sample, so that adding, trimming and
// converting never rounds. A signed 64-bit count covers 400 years.
//
// Floats appear only where a value leaves for people or for a file format
// that demands them; nothing here computes with float seconds.
//
// Timecode labels follow SMPTE ST 12-1; the drop-frame rule is stated at Base.
package timecode

import (
	"fmt"
	"math"
	"math/bits"
)

// Ticks is a length of time or a place in time, in units of 1/705,600,000 s.
type Ticks int64

// PerSecond is the number of ticks in one second.
const PerSecond Ticks = 705_600_000

// Common lengths.
const (
	Millisecond Ticks = PerSecond / 1000
	Second      Ticks = PerSecond
	Minute      Ticks = 60 * PerSecond
	Hour        Ticks = 3600 * PerSecond
	Day         Ticks = 24 * Hour
)

// Rounding says what becomes of a value that falls between two whole units.
type Rounding int

// The roundings. Floor goes towards minus infinity, Ceil towards plus
// infinity; Nearest rounds halves up.
const (
	Floor Rounding = iota
	Nearest
	Ceil
)

// Seconds is the float value for people and for formats that demand floats.
func (t Ticks) Seconds() float64 { return float64(t) / float64(PerSecond) }

// Millis is the value in whole milliseconds.
func (t Ticks) Millis(r Rounding) int64 { return divide(int64(t), int64(Millisecond), r) }

// FromMillis converts whole milliseconds exactly; what is beyond 400 years
// stays at the last tick.
func FromMillis(ms int64) Ticks { return Ticks(muldiv(ms, int64(Millisecond), 1, Floor)) }

// FromSeconds converts float seconds to the nearest tick. It is for values
// that arrive as floats (JSON numbers); NaN and infinities become 0, what is
// beyond 400 years stays at the last tick.
func FromSeconds(s float64) Ticks {
	v := math.Round(s * float64(PerSecond))
	switch {
	case math.IsNaN(s) || math.IsInf(s, 0):
		return 0
	case v >= math.MaxInt64:
		return math.MaxInt64
	case v <= math.MinInt64:
		return math.MinInt64
	}
	return Ticks(v)
}

// FromSamples converts a sample count at a whole sample rate in Hz; exact for
// all common rates, else rounded to the nearest tick. A rate below 1 gives 0.
func FromSamples(samples int64, rate int) Ticks {
	return Ticks(muldiv(samples, int64(PerSecond), int64(rate), Nearest))
}

// Samples converts to a sample count at a whole sample rate in Hz. A rate
// below 1 gives 0.
func (t Ticks) Samples(rate int, r Rounding) int64 {
	return muldiv(int64(t), int64(rate), int64(PerSecond), r)
}

// String prints hours, minutes, seconds and milliseconds: 01:02:03.450,
// rounded down, with a leading minus sign where negative.
func (t Ticks) String() string {
	sign := ""
	if t < 0 {
		sign, t = "-", -t
	}
	ms := t.Millis(Floor)
	return fmt.Sprintf("%s%02d:%02d:%02d.%03d", sign, ms/3_600_000, ms/60_000%60, ms/1000%60, ms%1000)
}

// Short prints a length for people: 7.3 s is "0:07.3", an hour "1:00:00".
// Tenths are shown below one hour only. Rounded to the nearest tenth (second).
func (t Ticks) Short() string {
	sign := ""
	if t < 0 {
		sign, t = "-", -t
	}
	tenths := divide(int64(t), int64(PerSecond/10), Nearest)
	if tenths < 36_000 {
		return fmt.Sprintf("%s%d:%02d.%d", sign, tenths/600, tenths/10%60, tenths%10)
	}
	s := divide(int64(t), int64(PerSecond), Nearest)
	return fmt.Sprintf("%s%d:%02d:%02d", sign, s/3600, s/60%60, s%60)
}

// divide is a/b with the given rounding; b > 0.
func divide(a, b int64, r Rounding) int64 {
	q, m := a/b, a%b
	if m < 0 {
		q, m = q-1, m+b
	}
	switch {
	case r == Ceil && m > 0, r == Nearest && m >= b-m:
		q++
	}
	return q
}

// muldiv is a*b/c with a 128-bit product; c <= 0 gives 0 and a result beyond
// 64 bits saturates.
func muldiv(a, b, c int64, r Rounding) int64 {
	if c <= 0 {
		return 0
	}
	neg := (a < 0) != (b < 0)
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	if hi >= uint64(c) {
		if neg {
			return math.MinInt64
		}
		return math.MaxInt64
	}
	q, m := bits.Div64(hi, lo, uint64(c))
	up := false
	switch r {
	case Ceil:
		up = m > 0 && !neg
	case Floor:
		up = m > 0 && neg
	case Nearest:
		half := uint64(c) - m
		up = m > half || m == half && !neg
	}
	switch {
	case neg && q > math.MaxInt64:
		return math.MinInt64
	case q > math.MaxInt64:
		return math.MaxInt64
	}
	if up {
		q++
	}
	switch {
	case neg:
		return -int64(q)
	case q > math.MaxInt64:
		return math.MaxInt64
	}
	return int64(q)
}

func magnitude(v int64) uint64 {
	if v < 0 {
		return uint64(-(v + 1)) + 1
	}
	return uint64(v)
}
