package themes

import (
	"cmp"
	"math"
	"slices"

	"rushlight/pkg/story"
)

// quotesMost is how many quotes a term comes with.
const quotesMost = 5

// The parts of how well a quote carries a term. Chosen by reason, not fitted.
const (
	answerBonus  = 2.0
	questionLoss = 2.0
	againBonus   = 0.3 // for each further occurrence, up to three
	ratingBonus  = 0.5 // per step above 3
	strongBonus  = 1.5
	bestWords    = 16.0 // about 6 s of talk
	lengthLoss   = 0.7  // per doubling away from it
)

// bestQuotes finds the quotes that carry each term best, best first.
func (c *corpus) bestQuotes(terms []*term) [][]story.Code {
	type carrier struct {
		quote int32
		score float64
	}
	words := map[int32]int{}
	phrases := map[key]int{}
	for i, t := range terms {
		if len(t.families) == 1 {
			words[t.families[0]] = i
		} else {
			phrases[keyOf(t)] = i
		}
	}
	wanted := make([]bool, len(c.families))
	for _, t := range terms {
		wanted[t.families[0]] = true
	}
	found := make([][]carrier, len(terms))
	times := map[int]int{}
	for qi, q := range c.quotes {
		clear(times)
		said := c.tokens[q.start:q.end]
		for i, form := range said {
			f := c.familyOf[form]
			if !wanted[f] {
				continue
			}
			if t, ok := words[f]; ok {
				times[t]++
			}
			for n := 2; n <= 3 && i+n <= len(said); n++ {
				k := key{f, c.familyOf[said[i+1]], -1}
				if n == 3 {
					k[2] = c.familyOf[said[i+2]]
				}
				if t, ok := phrases[k]; ok {
					times[t]++
				}
			}
		}
		for t, n := range times {
			found[t] = append(found[t], carrier{int32(qi), c.carries(q, n)})
		}
	}
	rank := c.timeRank()
	out := make([][]story.Code, len(terms))
	for i, list := range found {
		slices.SortFunc(list, func(a, b carrier) int {
			if d := cmp.Compare(b.score, a.score); d != 0 {
				return d
			}
			if c.earlier(rank, a.quote, b.quote) {
				return -1
			}
			return cmp.Compare(a.quote, b.quote)
		})
		out[i] = []story.Code{}
		for _, f := range list[:min(len(list), quotesMost)] {
			out[i] = append(out[i], c.quotes[f.quote].code)
		}
	}
	return out
}

// carries scores a quote that says a term n times.
func (c *corpus) carries(q quote, n int) float64 {
	s := againBonus * float64(min(n-1, 3))
	if c.weight(q) == 1 {
		s += answerBonus
	}
	if q.asks {
		s -= questionLoss
	}
	if q.rating > 0 {
		s += ratingBonus * float64(q.rating-3)
	}
	if q.strong {
		s += strongBonus
	}
	return s - lengthLoss*math.Abs(math.Log2(float64(max(q.end-q.start, 1))/bestWords))
}
