package themes

import "slices"

// The automaton of Burst: each state is burstScale times the rate of the one
// below, and going up a state costs burstGamma × ln(occurrences). Kleinberg
// 2002 takes 2 and 1; burstStates bounds the work.
const (
	burstScale  = 2.0
	burstGamma  = 1.0
	burstStates = 10
)

// burst tells how occurrences at these places, in words, come in bursts. The
// start and the end of all talk count as places, so that what is said in one
// stretch only is a burst as well.
func (c *corpus) burst(places []float64) Burst {
	b := Burst{}
	if len(places) < 2 {
		return b
	}
	offsets := make([]float64, 0, len(places)+2)
	offsets = append(offsets, 0)
	offsets = append(offsets, places...)
	offsets = append(offsets, float64(len(c.tokens)))
	levels, _ := Bursts(offsets, burstScale, burstGamma, burstStates)
	// Between places only: gap i+1 is the one after place i.
	inside, from, longest, run := 0, -1, 0, 0
	for i := range places {
		after := i+1 < len(places) && levels[i+1] > 0
		if after || i > 0 && levels[i] > 0 {
			inside++
		}
		if !after {
			run = 0
			continue
		}
		b.Levels = max(b.Levels, levels[i+1])
		if run++; run > longest {
			longest, from = run, i+1-run
		}
	}
	if from < 0 {
		return b
	}
	b.Share = float64(inside) / float64(len(places))
	q := c.at(int32(places[from]))
	b.From, b.Reel = q.code, c.reels[q.reel].name
	return b
}

// at gives the quote that says the word with so many words before it.
func (c *corpus) at(place int32) quote {
	i, ok := slices.BinarySearch(c.place, place)
	if !ok {
		return c.quotes[i-1]
	}
	// Quotes without words share the place of the next.
	for c.quotes[i].start == c.quotes[i].end {
		i++
	}
	return c.quotes[i]
}
