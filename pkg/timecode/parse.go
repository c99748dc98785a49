package timecode

import (
	"fmt"
	"strconv"
	"strings"
)

// Written is a time as somebody wrote it.
type Written struct {
	Ticks Ticks
	// Frames tells that the time had a frames field and so is a timecode
	// label, counted from midnight, rather than a clock time.
	Frames bool
	// Drop tells that the frames field followed a semicolon.
	Drop bool
}

// Parse reads a time as people write it: 83.5, 83.5s, 1:23, 1:23.5, 00:12:04,
// 00:12:04,500, 1h2m3s, 500ms, 90m, and with four fields the timecode label
// 01:00:12:10 or 01:00:12;10. base serves labels only; a semicolon makes a
// 29.97 or 59.94 base drop-frame. A leading minus sign is allowed except on
// labels. Fractions finer than a tick are rounded to the nearest tick.
func Parse(s string, base Base) (Written, error) {
	v := strings.TrimSpace(s)
	if v == "" {
		return Written{}, fmt.Errorf("%w: it is empty", ErrTimecode)
	}
	if strings.Count(v, ":")+strings.Count(v, ";") == 3 {
		w := Written{Frames: true, Drop: strings.Contains(v, ";")}
		if w.Drop && (base.Rate == Rate2997 || base.Rate == Rate5994) {
			base.Drop = true
		}
		n, err := base.Frame(v)
		if err != nil {
			return Written{}, err
		}
		w.Ticks = base.Rate.Ticks(n)
		return w, nil
	}
	neg := strings.HasPrefix(v, "-")
	if neg || strings.HasPrefix(v, "+") {
		v = v[1:]
	}
	var t Ticks
	var err error
	if strings.ContainsAny(v, "hms") {
		t, err = parseUnits(v)
	} else {
		t, err = parseClock(v)
	}
	if err != nil {
		return Written{}, fmt.Errorf("%w: %q: %v; want for example 1:23, 83.5, 00:12:04.500 or 01:00:12:10", ErrTimecode, s, err)
	}
	if neg {
		t = -t
	}
	return Written{Ticks: t}, nil
}

// parseClock reads [[h:]m:]s[.fraction]; the first field is unbounded.
func parseClock(v string) (Ticks, error) {
	f := strings.Split(v, ":")
	if len(f) > 3 {
		return 0, fmt.Errorf("too many fields")
	}
	var t Ticks
	for i, s := range f {
		last := i == len(f)-1
		if !last {
			n, err := whole(s)
			if err != nil {
				return 0, err
			}
			if i > 0 && n > 59 {
				return 0, fmt.Errorf("%d is over 59", n)
			}
			t = (t + Ticks(n)) * 60
			continue
		}
		sec, err := decimal(s, Second, "seconds")
		if err != nil {
			return 0, err
		}
		if i > 0 && sec >= Minute {
			return 0, fmt.Errorf("%s is over 59", s)
		}
		t = t*PerSecond + sec
	}
	return t, nil
}

// units are those of 1h2m3s500ms, in the order in which they may stand.
var units = map[string]struct {
	rank int
	size Ticks
	name string
}{"h": {3, Hour, "hours"}, "m": {2, Minute, "minutes"}, "s": {1, Second, "seconds"}, "ms": {0, Millisecond, "milliseconds"}}

// longest is the longest time that is read, about 51 years: sums of a few
// stay far from overflowing.
const longest = Ticks(1) << 60

// parseUnits reads 1h2m3.5s and 500ms.
func parseUnits(v string) (Ticks, error) {
	var t Ticks
	last := 4
	for v != "" {
		i := strings.IndexAny(v, "hms")
		if i <= 0 {
			return 0, fmt.Errorf("a number needs a unit")
		}
		n, unit := v[:i], v[i:i+1]
		v = v[i+1:]
		if unit == "m" && strings.HasPrefix(v, "s") {
			unit, v = "ms", v[1:]
		}
		u := units[unit]
		if u.rank >= last {
			return 0, fmt.Errorf("units out of order")
		}
		last = u.rank
		d, err := decimal(n, u.size, u.name)
		if err != nil {
			return 0, err
		}
		t += d
	}
	return t, nil
}

func whole(s string) (int64, error) {
	if s == "" || len(s) > 6 {
		return 0, fmt.Errorf("%q is not a number of hours or minutes", s)
	}
	n, err := strconv.ParseUint(s, 10, 32)
	if err != nil {
		return 0, fmt.Errorf("%q is not a number", s)
	}
	return int64(n), nil
}

// decimal reads a number of units with an optional fraction after a full stop
// or comma, exactly: digits are scaled as integers.
func decimal(s string, unit Ticks, name string) (Ticks, error) {
	s = strings.Replace(s, ",", ".", 1)
	wholePart, frac, hasFrac := strings.Cut(s, ".")
	if wholePart == "" && frac == "" || len(wholePart) > 9 {
		return 0, fmt.Errorf("%q is not a number of %s", s, name)
	}
	var n int64
	if wholePart != "" {
		u, err := strconv.ParseUint(wholePart, 10, 32)
		if err != nil {
			return 0, fmt.Errorf("%q is not a number", s)
		}
		n = int64(u)
	}
	if n > int64(longest/unit) {
		return 0, fmt.Errorf("%s %s is longer than 50 years", s, name)
	}
	t := Ticks(n) * unit
	if hasFrac && frac != "" {
		if strings.Trim(frac, "0123456789") != "" {
			return 0, fmt.Errorf("%q is not a number", s)
		}
		// An hour has under 10^13 ticks: digits after these change nothing.
		frac = frac[:min(len(frac), 15)]
		f, err := strconv.ParseInt(frac, 10, 64)
		if err != nil {
			return 0, fmt.Errorf("%q is not a number", s)
		}
		scale := int64(1)
		for range frac {
			scale *= 10
		}
		t += Ticks(muldiv(f, int64(unit), scale, Nearest))
	}
	return t, nil
}
