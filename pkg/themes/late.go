package themes

import (
	"math"
	"slices"
)

// What emerged late: it is said in the last days at least lateRatio
// doublings more often than before, and often enough there to count as coming
// back. The last days are those that hold the last lateShare of the words (at
// least one, never all). Where not more than one day is known, each reel counts
// as a day. Chosen by reason, not fitted.
const (
	lateShare = 0.25
	lateRatio = 1.5
	// onlyLate weighs the share of its occurrences that are late: its square.
	onlyLate = 2.0
	// denseFactor is what each level of its highest burst is worth: what
	// emerges is not said now and then.
	denseFactor = 2.5
	// veryLast is what it is worth that the very last day alone says it.
	veryLast = 2.0
)

// lastDay is the share of a term, of what the last days say, that the very
// last one says.
func (v *view) lastDay(t *term) float64 {
	all, last := 0.0, 0.0
	for _, in := range t.inReels {
		if v.group[in.reel] == inLast {
			all += in.weighed
			if v.last[in.reel] {
				last += in.weighed
			}
		}
	}
	if all == 0 {
		return 0
	}
	return last / all
}

// byTime is the name of a view by late.
const byTime = "time"

// The groups of a view by late.
const (
	before int32 = iota
	inLast
)

// byLate divides the shoot into what was before and the last days; nil if
// there is only one.
func (c *corpus) byLate() *view {
	days := c.byDay()
	dayOf := days.group
	if len(days.names) < 2 || slices.Contains(days.names, "") {
		dayOf = make([]int32, len(c.reels))
		for place, r := range c.byTime {
			dayOf[r] = int32(place)
		}
	}
	v := &view{by: byTime, names: []string{"before", "the last days"}, group: make([]int32, len(c.reels))}
	all, done := 0.0, 0.0
	for _, r := range c.reels {
		all += r.words
	}
	first := int32(len(c.reels))
	for i := len(c.byTime) - 1; i >= 0; {
		s, words := dayOf[c.byTime[i]], 0.0
		for ; i >= 0 && dayOf[c.byTime[i]] == s; i-- {
			words += c.reels[c.byTime[i]].words
		}
		if s == 0 || done > 0 && done+words > lateShare*all {
			break
		}
		first, done = s, done+words
	}
	if done == 0 {
		return nil
	}
	v.last = make([]bool, len(c.reels))
	for r, s := range dayOf {
		if s >= first {
			v.group[r] = inLast
		}
		v.last[r] = s == dayOf[c.byTime[len(c.byTime)-1]]
	}
	return c.measure(v)
}

// emerged tells whether a term emerged in the last days of a view by late,
// and how surely.
func (v *view) emerged(t *term, shares []share) (*Contrast, bool) {
	count := 0.0
	for _, in := range t.inReels {
		if v.group[in.reel] == inLast {
			count += in.n
		}
	}
	con := v.contrast(shares, inLast)
	return con, con != nil && count >= minCount && con.LogRatio >= lateRatio
}

// lateness is the share of a term that the last days say.
func lateness(shares []share) float64 {
	all, late := 0.0, 0.0
	for _, s := range shares {
		all += s.weighed
		if s.group == inLast {
			late += s.weighed
		}
	}
	if all == 0 {
		return 0
	}
	return late / all
}

// weighDensity weighs how dense each term of a list is in its densest stretch.
func (c *corpus) weighDensity(list []*ranked) {
	terms := make([]*term, len(list))
	for i, r := range list {
		terms[i] = r.term
	}
	places := map[*term][]float64{}
	c.occurrences(terms, func(t *term, qi int32, _ []int32, at int32) {
		places[t] = append(places[t], float64(c.place[qi]+at))
	})
	for _, r := range list {
		r.parts[partDense] = math.Pow(denseFactor, float64(c.burst(places[r.term]).Levels))
		r.score *= r.parts[partDense]
	}
}
