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

// heard is where a term is said.
type heard struct {
	carriers []carrier // best first
	places   []float64 // of each occurrence: words said before it
	burst    Burst
}

// hear finds where the terms are said.
func (c *corpus) hear(terms []*term) map[*term]*heard {
	found := make(map[*term]*heard, len(terms))
	for _, t := range terms {
		found[t] = &heard{places: make([]float64, 0, t.count)}
	}
	c.occurrences(terms, func(t *term, qi int32, _ []int32, at int32) {
		h := found[t]
		h.places = append(h.places, float64(c.place[qi]+at))
		if n := len(h.carriers); n > 0 && h.carriers[n-1].quote == qi {
			h.carriers[n-1].times++
			return
		}
		h.carriers = append(h.carriers, carrier{quote: qi, times: 1})
	})
	for _, h := range found {
		h.burst = c.burst(h.places)
		for i, k := range h.carriers {
			h.carriers[i].score = c.carries(c.quotes[k.quote], k.times)
		}
		slices.SortStableFunc(h.carriers, func(a, b carrier) int { return cmp.Compare(b.score, a.score) })
	}
	return found
}

// best gives the codes of the best quotes of a group, or of all.
func (c *corpus) best(h *heard, v *view, target int32) []story.Code {
	codes := []story.Code{}
	for _, k := range h.carriers {
		q := c.quotes[k.quote]
		if target >= 0 && v.holds(q) != target {
			continue
		}
		if codes = append(codes, q.code); len(codes) == quotesMost {
			break
		}
	}
	return codes
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
