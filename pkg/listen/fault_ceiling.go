package listen

import "math"

// faultTop is a top that is flatter than its shoulders make likely.
type faultTop struct {
	from  int64
	n     int
	level float64 // positive
	full  bool
}

func (t faultTop) place() faultPlace {
	return faultPlace{from: t.from, to: t.from + int64(t.n), n: 1, size: int64(t.n), value: t.level}
}

// Clipping cuts at one height, and nothing stands above it.
const (
	flatTops   = 3     // at one ceiling
	flatLevel  = 0.985 // of the highest sample of a second that holds them all
	flatAlike  = 0.002 // by which levels may differ where they lie seconds apart
	flatRemote = 10    // seconds that they may lie apart
)

// faultCeiling judges the flat tops of one side, second by second.
type faultCeiling struct {
	highest [flatRemote]float64 // samples of the last seconds
	seconds int
	waiting []faultTop // tops of seconds that had too few
}

// second takes the tops of a second with its highest sample, and gives what is
// clipping to found.
func (c *faultCeiling) second(tops []faultTop, highest float64, rate int64, found *faultList) {
	c.highest[c.seconds%flatRemote] = highest
	c.seconds++
	n := 0
	for _, t := range tops {
		if t.level >= flatLevel*highest {
			n++
		}
	}
	for _, t := range tops {
		switch at := t.level >= flatLevel*highest; {
		case t.full || at && n >= flatTops:
			found.add(t.place())
		case at:
			c.waiting = append(c.waiting, t)
		}
	}
	c.remote(rate, found)
}

// remote looks for tops at one height in the last seconds.
func (c *faultCeiling) remote(rate int64, found *faultList) {
	if len(c.waiting) == 0 {
		return
	}
	last := c.waiting[len(c.waiting)-1]
	highest := 0.0
	for _, h := range c.highest {
		highest = math.Max(highest, h)
	}
	var alike, keep []faultTop
	for _, t := range c.waiting {
		switch {
		case last.from-t.from > flatRemote*rate:
		case math.Abs(t.level-last.level) <= flatAlike*last.level:
			alike = append(alike, t)
			keep = append(keep, t)
		default:
			keep = append(keep, t)
		}
	}
	c.waiting = keep
	if len(alike) < flatTops || highest > last.level*(1+flatAlike) {
		return
	}
	for _, t := range alike {
		found.add(t.place())
	}
	c.waiting = c.waiting[:0]
}
