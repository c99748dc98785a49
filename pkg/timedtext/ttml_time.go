package timedtext

import (
	"fmt"
	"math/big"
	"strconv"
	"strings"

	"rushlight/pkg/timecode"
)

// ttmlClock holds the timing parameters of a document: TTML2 section 7.2.
type ttmlClock struct {
	smpte bool
	rate  timecode.Rate // effective: frameRate × frameRateMultiplier
	// nominal is ttp:frameRate, the frames counted in a second.
	nominal  int64
	drop     string // ttp:dropMode
	tickRate int64
	sub      int64
	declared bool
}

// newTTMLClock reads the parameters of the tt element; fallback is the base
// for files that declare no frame rate (TTML2 7.2.5 says 30).
func newTTMLClock(attr func(space, local string) string, fallback timecode.Base) (ttmlClock, error) {
	c := ttmlClock{nominal: 30, sub: 1, smpte: attr("ttp", "timeBase") == "smpte", drop: attr("ttp", "dropMode")}
	c.rate = timecode.Rate30
	if fallback.Rate.Known() {
		c.rate, c.nominal = fallback.Rate, fallback.Rate.Nominal()
	}
	count := func(name string, into *int64) error {
		s := attr("ttp", name)
		if s == "" {
			return nil
		}
		n, err := strconv.ParseInt(strings.TrimSpace(s), 10, 64)
		if err != nil || n < 1 || n > 1_000_000_000 {
			return fmt.Errorf("ttp:%s not understood: got %s, want a whole number above 0", name, quoteShort(s))
		}
		*into = n
		return nil
	}
	if err := count("frameRate", &c.nominal); err != nil {
		return c, err
	}
	if err := count("subFrameRate", &c.sub); err != nil {
		return c, err
	}
	c.declared = attr("ttp", "frameRate") != ""
	if c.declared {
		c.rate = timecode.Rate{Num: c.nominal, Den: 1}
	}
	if m := attr("ttp", "frameRateMultiplier"); m != "" {
		f := strings.FieldsFunc(m, func(r rune) bool { return r == ' ' || r == ':' })
		var v [2]int64
		for i := range v {
			if i < len(f) {
				v[i], _ = strconv.ParseInt(f[i], 10, 32)
			}
		}
		if len(f) != 2 || v[0] < 1 || v[1] < 1 || v[0] > 1e6 || v[1] > 1e6 {
			return c, fmt.Errorf("ttp:frameRateMultiplier not understood: got %s, want two numbers such as 1000 1001", quoteShort(m))
		}
		c.rate = ratio(c.nominal*v[0], v[1])
	}
	c.tickRate = 1
	if c.declared {
		c.tickRate = c.nominal * c.sub
	}
	return c, count("tickRate", &c.tickRate)
}

func ratio(num, den int64) timecode.Rate {
	a, b := num, den
	for b != 0 {
		a, b = b, a%b
	}
	return timecode.Rate{Num: num / a, Den: den / a}
}

// base is the frame rate the file declares, zero if none.
func (c ttmlClock) base() timecode.Base {
	if !c.declared {
		return timecode.Base{}
	}
	return timecode.Base{Rate: c.rate, Drop: c.drop == "dropNTSC" && (c.rate == timecode.Rate2997 || c.rate == timecode.Rate5994)}
}

// frameBeyond is the error for a frame that the rate lacks; last is the same
// time with the last frame of its second.
type frameBeyond struct{ last string }

func (*frameBeyond) Error() string { return "frames out of range" }

// time reads a time expression (TTML2 section 12.3.1): clock time with
// fraction or frames, or an offset with a metric.
func (c ttmlClock) time(s string) (timecode.Ticks, error) {
	s = strings.TrimSpace(s)
	bad := fmt.Errorf("time not understood: got %s, want for example 00:00:01.500, 00:00:01:12 or 1.5s", quoteShort(s))
	if strings.IndexByte(s, ':') < 0 {
		return c.offset(s, bad)
	}
	f := strings.FieldsFunc(s, func(r rune) bool { return r == ':' || r == ';' })
	if len(f) < 3 || len(f) > 4 || strings.ContainsAny(s, "+-") {
		return 0, bad
	}
	h, err1 := strconv.ParseInt(f[0], 10, 32)
	m, err2 := strconv.ParseInt(f[1], 10, 32)
	if err1 != nil || err2 != nil || m > 59 || h > 100_000 {
		return 0, bad
	}
	whole, frac, hasFrac := strings.Cut(f[2], ".")
	sec, err := strconv.ParseInt(whole, 10, 32)
	if err != nil || sec > 60 || hasFrac && !digits(frac) {
		return 0, bad
	}
	t := timecode.Ticks((h*60+m)*60+sec) * timecode.Second
	if hasFrac {
		part, ok := scaled("0."+frac, int64(timecode.PerSecond), 1)
		if !ok {
			return 0, bad
		}
		return t + part, nil
	}
	if len(f) == 3 {
		if c.smpte {
			return c.label(h, m, sec, 0), nil
		}
		return t, nil
	}
	fr, sub, _ := strings.Cut(f[3], ".")
	frames, err := strconv.ParseInt(fr, 10, 32)
	if err != nil || frames >= max(c.nominal, 100) {
		return 0, bad
	}
	if frames >= c.nominal {
		return 0, &frameBeyond{last: fmt.Sprintf("%s:%s:%s:%d", f[0], f[1], f[2], c.nominal-1)}
	}
	var part timecode.Ticks
	if n, err := strconv.ParseInt(sub, 10, 32); err == nil && n < c.sub {
		part = timecode.Ticks(int64(c.rate.Ticks(1)) * n / c.sub)
	}
	if c.smpte {
		return c.label(h, m, sec, frames) + part, nil
	}
	return t + c.rate.Ticks(frames) + part, nil
}

// label counts the frames of an SMPTE label: TTML2 appendix I.3.
func (c ttmlClock) label(h, m, s, f int64) timecode.Ticks {
	n := ((h*60+m)*60+s)*c.nominal + f
	switch c.drop {
	case "dropNTSC":
		n -= 2 * (c.nominal / 30) * (h*54 + m - m/10)
	case "dropPAL":
		n -= 4 * (h*27 + m/2 - m/20)
	}
	return c.rate.Ticks(n)
}

// offset reads 1.5s, 1500ms, 2h, 12f, 3t.
func (c ttmlClock) offset(s string, bad error) (timecode.Ticks, error) {
	i := 0
	for i < len(s) && (isDigit(s[i]) || s[i] == '.') {
		i++
	}
	n, unit := s[:i], s[i:]
	num, den := int64(timecode.PerSecond), int64(1)
	switch unit {
	case "h":
		num *= 3600
	case "m":
		num *= 60
	case "s":
	case "ms":
		den = 1000
	case "f":
		num, den = num*c.rate.Den, c.rate.Num
	case "t":
		den = c.tickRate
	default:
		return 0, bad
	}
	t, ok := scaled(n, num, den)
	if !ok {
		return 0, bad
	}
	return t, nil
}

// scaled is the decimal n times num/den, to the nearest tick.
func scaled(n string, num, den int64) (timecode.Ticks, bool) {
	whole, frac, dot := strings.Cut(n, ".")
	if !digits(whole) || dot && !digits(frac) || len(n) > 60 {
		return 0, false
	}
	r, ok := new(big.Rat).SetString(n)
	if !ok {
		return 0, false
	}
	r.Mul(r, big.NewRat(num, den))
	// Round half up: floor(r + 1/2).
	r.Add(r, big.NewRat(1, 2))
	q := new(big.Int).Quo(r.Num(), r.Denom())
	if !q.IsInt64() || timecode.Ticks(q.Int64()) > maxTime {
		return 0, false
	}
	return timecode.Ticks(q.Int64()), true
}
