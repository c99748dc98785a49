package listen

import (
	"math"
	"slices"
)

// syncLine is a result while it is sought, in seconds: u = (t − offset)·(1 + delta).
type syncLine struct{ offset, delta float64 }

// toB is the place in b of a place on a's time.
func (l syncLine) toB(t float64) float64 { return (t - l.offset) * (1 + l.delta) }

// apart is t minus the place in b of the same moment: SyncWindow's Offset.
func (l syncLine) apart(t float64) float64 { return t - l.toB(t) }

// fitLine is the line through places t and what b lies apart there: the
// median of all slopes, then the median of what is left (Theil 1950, Sen
// 1968). Points less than five seconds from end to end, or fewer than three,
// give no slope: chance would say more than drift.
func fitLine(t, apart []float64) syncLine {
	var slope float64
	if len(t) >= 3 && slices.Max(t)-slices.Min(t) >= 5 {
		var s []float64
		for i := range t {
			for j := range i {
				if t[i] != t[j] {
					s = append(s, (apart[i]-apart[j])/(t[i]-t[j]))
				}
			}
		}
		slope = middleOf(s)
	}
	rest := make([]float64, len(t))
	for i := range t {
		rest[i] = apart[i] - slope*t[i]
	}
	return syncLine{offset: middleOf(rest) / (1 - slope), delta: -slope}
}

// agree is the largest set of points within tol of a line no steeper than
// steepest, by trying the line through each two points and the level one
// through each: indices, in order.
func agree(t, apart []float64, tol, steepest float64) []int {
	var best []int
	bestRest := math.Inf(1)
	try := func(i int, slope float64) {
		var set []int
		var rest float64
		for k := range t {
			if r := math.Abs(apart[k] - apart[i] - slope*(t[k]-t[i])); r <= tol {
				set = append(set, k)
				rest += r
			}
		}
		if len(set) > len(best) || len(set) == len(best) && rest < bestRest {
			best, bestRest = set, rest
		}
	}
	for i := range t {
		try(i, 0)
		for j := range i {
			if s := (apart[i] - apart[j]) / (t[i] - t[j]); math.Abs(s) <= steepest {
				try(i, s)
			}
		}
	}
	return best
}

// chosen is the values at the indices.
func chosen(x []float64, at []int) []float64 {
	out := make([]float64, len(at))
	for i, k := range at {
		out[i] = x[k]
	}
	return out
}

// middleOf is the middle value, or the mean of the middle two; x is left in
// order. 0 for none.
func middleOf(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	slices.Sort(x)
	n := len(x)
	return (x[(n-1)/2] + x[n/2]) / 2
}
