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

// carrier is a quote that says a term so many times.
type carrier struct {
	quote int32
	times int
	score float64
}

// bestQuotes finds the quotes that carry each term best, best first.
func (c *corpus) bestQuotes(terms []*term) [][]story.Code {
	found := map[*term][]carrier{}
	c.occurrences(terms, func(t *term, qi int32, _ []int32) {
		list := found[t]
		if n := len(list); n > 0 && list[n-1].quote == qi {
			list[n-1].times++
			return
		}
		found[t] = append(list, carrier{quote: qi, times: 1})
	})
	rank := c.timeRank()
	out := make([][]story.Code, len(terms))
	for i, t := range terms {
		list := found[t]
		for k := range list {
			list[k].score = c.carries(c.quotes[list[k].quote], list[k].times)
		}
		slices.SortStableFunc(list, func(a, b carrier) int {
			switch {
			case a.score != b.score:
				return cmp.Compare(b.score, a.score)
			case c.earlier(rank, a.quote, b.quote):
				return -1
			case c.earlier(rank, b.quote, a.quote):
				return 1
			}
			return 0
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
