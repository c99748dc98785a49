package timecode

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
)

// Rate is a frame rate as an exact fraction: Num/Den frames per second.
// The zero Rate means "not known".
type Rate struct{ Num, Den int64 }

// The rates of the trade.
var (
	Rate23976 = Rate{24000, 1001}
	Rate24    = Rate{24, 1}
	Rate25    = Rate{25, 1}
	Rate2997  = Rate{30000, 1001}
	Rate30    = Rate{30, 1}
	Rate47952 = Rate{48000, 1001}
	Rate48    = Rate{48, 1}
	Rate50    = Rate{50, 1}
	Rate5994  = Rate{60000, 1001}
	Rate60    = Rate{60, 1}
)

// ErrRate is wrapped by every error about a frame rate.
var ErrRate = errors.New("frame rate not understood")

// Known tells whether the rate is set and usable.
func (r Rate) Known() bool { return r.Num > 0 && r.Den > 0 }

// Nominal is the whole number of labels in a second of timecode: 30 for
// 29.97, 24 for 23.976.
func (r Rate) Nominal() int64 {
	if !r.Known() {
		return 0
	}
	return (r.Num + r.Den - 1) / r.Den
}

// Float is the rate as a float for formats that demand one.
func (r Rate) Float() float64 {
	if !r.Known() {
		return 0
	}
	return float64(r.Num) / float64(r.Den)
}

// Ticks is the time at which frame n begins; exact for every rate of the
// trade, else rounded to the nearest tick.
func (r Rate) Ticks(n int64) Ticks {
	if !r.Known() {
		return 0
	}
	return Ticks(muldiv(n, int64(PerSecond)*r.Den, r.Num, Nearest))
}

// Frame is the frame number at t.
func (r Rate) Frame(t Ticks, round Rounding) int64 {
	if !r.Known() {
		return 0
	}
	return muldiv(int64(t), r.Num, int64(PerSecond)*r.Den, round)
}

// Snap moves t to a frame boundary.
func (r Rate) Snap(t Ticks, round Rounding) Ticks {
	if !r.Known() {
		return t
	}
	return r.Ticks(r.Frame(t, round))
}

// String prints the trade's short form: 25, 23.976, 29.97, 59.94.
func (r Rate) String() string {
	switch {
	case !r.Known():
		return "unknown"
	case r.Den == 1:
		return strconv.FormatInt(r.Num, 10)
	case r == Rate2997:
		return "29.97"
	case r == Rate5994:
		return "59.94"
	case r == Rate23976:
		return "23.976"
	case r == Rate47952:
		return "47.952"
	}
	return fmt.Sprintf("%d/%d", r.Num, r.Den)
}

// Base is a time base: a frame rate and whether labels are drop-frame.
//
// Drop-frame (SMPTE ST 12-1, for 30000/1001 and 60000/1001 only): labels 00
// and 01 (59.94: 00 to 03) of each minute are skipped, except in every tenth
// minute, so that the label keeps up with the clock on the wall.
type Base struct {
	Rate Rate
	Drop bool
}

// ParseBase understands 25, 25p, 29.97, 29.97df, 29.97 DF, 30000/1001,
// 29.97ndf, 23.98, 23.976 and the like. Drop-frame with a rate that has none
// is an error.
func ParseBase(s string) (Base, error) {
	v := strings.ToLower(strings.TrimSpace(s))
	v = strings.TrimSuffix(strings.TrimSuffix(v, "fps"), "p")
	v = strings.TrimSpace(v)
	drop := false
	switch {
	case strings.HasSuffix(v, "ndf"):
		v = strings.TrimSuffix(v, "ndf")
	case strings.HasSuffix(v, "nd"):
		v = strings.TrimSuffix(v, "nd")
	case strings.HasSuffix(v, "df"):
		v, drop = strings.TrimSuffix(v, "df"), true
	}
	v = strings.TrimRight(v, " -_")
	r, err := parseRate(v)
	if err != nil {
		return Base{}, fmt.Errorf("%w: %q, want for example 25, 23.976, 29.97, 29.97df or 30000/1001", ErrRate, s)
	}
	if drop && r != Rate2997 && r != Rate5994 {
		return Base{}, fmt.Errorf("%w: %q: only 29.97 and 59.94 have drop-frame", ErrRate, s)
	}
	return Base{Rate: r, Drop: drop}, nil
}

func parseRate(v string) (Rate, error) {
	switch v {
	case "23.97", "23.98", "23.976", "23.9760":
		return Rate23976, nil
	case "29.97":
		return Rate2997, nil
	case "47.95", "47.952":
		return Rate47952, nil
	case "59.94":
		return Rate5994, nil
	}
	if num, den, ok := strings.Cut(v, "/"); ok {
		n, err1 := strconv.ParseInt(num, 10, 32)
		d, err2 := strconv.ParseInt(den, 10, 32)
		if err1 != nil || err2 != nil || n < 1 || d < 1 || n/d > 1000 {
			return Rate{}, ErrRate
		}
		return reduce(n, d), nil
	}
	f, err := strconv.ParseFloat(v, 64)
	if strings.Trim(v, "0123456789.") != "" || err != nil || !(f >= 1 && f <= 1000) {
		return Rate{}, ErrRate
	}
	if n := int64(f + 0.5); f > float64(n)-1e-9 && f < float64(n)+1e-9 {
		return Rate{n, 1}, nil
	}
	// 24000/1001 and its kin written with more or fewer digits.
	for _, n := range []int64{24, 30, 48, 60, 120} {
		want := float64(n) * 1000 / 1001
		if f > want-0.005 && f < want+0.005 {
			return Rate{n * 1000, 1001}, nil
		}
	}
	// Otherwise the decimal digits are the exact fraction.
	return reduce(int64(f*1000+0.5), 1000), nil
}

func reduce(n, d int64) Rate {
	a, b := n, d
	for b != 0 {
		a, b = b, a%b
	}
	return Rate{n / a, d / a}
}

// String prints the rate, with DF where labels drop.
func (b Base) String() string {
	if b.Drop {
		return b.Rate.String() + " DF"
	}
	return b.Rate.String()
}
