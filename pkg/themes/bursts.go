package themes

import "math"

// Bursts is Kleinberg's automaton (2002) over the gaps between offsets, which
// must not decrease. State i has the rate s^i × (gaps / whole length); going up
// costs gamma × ln(gaps) for each state, going down nothing; it starts in
// state 0. It returns the state of each gap, one fewer than offsets, and the
// cost of the cheapest way. Time is O(gaps × states²).
//
// Fewer than two offsets, or all at one place: nil, 0. A wrong s (≤ 1) or less
// than one state counts as one state.
func Bursts(offsets []float64, s, gamma float64, states int) (levels []int, cost float64) {
	n := len(offsets) - 1
	if n < 1 || offsets[n] <= offsets[0] {
		return nil, 0
	}
	if states < 1 || s <= 1 {
		states = 1
	}
	rate := float64(n) / (offsets[n] - offsets[0])
	step := gamma * math.Log(float64(n))
	rates := make([]float64, states)
	for i := range rates {
		rates[i] = rate * math.Pow(s, float64(i))
	}
	best, next := make([]float64, states), make([]float64, states)
	for i := 1; i < states; i++ {
		best[i] = math.Inf(1)
	}
	came := make([]int8, n*states)
	for g := range n {
		gap := offsets[g+1] - offsets[g]
		for j, r := range rates {
			from, least := j, math.Inf(1)
			for i, c := range best {
				if c += step * float64(max(0, j-i)); c < least {
					from, least = i, c
				}
			}
			came[g*states+j] = int8(from)
			next[j] = least - math.Log(r) + r*gap
		}
		best, next = next, best
	}
	at := 0
	for i, c := range best {
		if c < best[at] {
			at = i
		}
	}
	cost = best[at]
	levels = make([]int, n)
	for g := n - 1; g >= 0; g-- {
		levels[g] = at
		at = int(came[g*states+at])
	}
	return levels, cost
}
