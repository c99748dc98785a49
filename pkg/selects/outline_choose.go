package selects

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// option is a candidate with its theme and reel as numbers and its score on a
// scale of 0.1 to 1.
type option struct {
	Candidate
	theme, reel int
	worth       float64
}

// pool is all candidates in order of time, with the themes' names in order of
// first mention.
type pool struct {
	options []option
	themes  []string
	// reels holds the places of each reel's options.
	reels [][]int
}

// bySaid orders quotes by when they were said.
func bySaid(a, b story.Quote) int {
	return cmp.Or(
		story.CompareShots(a.Shot(), b.Shot()),
		cmp.Compare(a.In, b.In), cmp.Compare(a.Out, b.Out), strings.Compare(string(a.Code), string(b.Code)),
	)
}

// gather orders the candidates and numbers their themes.
func gather(cands []Candidate) pool {
	sorted := slices.Clone(cands)
	slices.SortStableFunc(sorted, func(a, b Candidate) int {
		return cmp.Or(bySaid(a.Quote, b.Quote), strings.Compare(strings.ToLower(a.Theme), strings.ToLower(b.Theme)),
			strings.Compare(a.Theme, b.Theme), cmp.Compare(b.Score, a.Score), strings.Compare(a.Quote.Text, b.Quote.Text))
	})
	low, high := sorted[0].Score, sorted[0].Score
	for _, c := range sorted {
		low, high = min(low, c.Score), max(high, c.Score)
	}
	var p pool
	reels := map[string]int{}
	for _, c := range sorted {
		c.Theme = strings.Join(strings.Fields(c.Theme), " ")
		theme := slices.IndexFunc(p.themes, func(t string) bool { return story.SameTheme(t, c.Theme) })
		if theme < 0 {
			theme = len(p.themes)
			p.themes = append(p.themes, c.Theme)
		}
		reel := strings.ToLower(c.Quote.Reel)
		if _, ok := reels[reel]; !ok {
			reels[reel] = len(reels)
			p.reels = append(p.reels, nil)
		}
		p.reels[reels[reel]] = append(p.reels[reels[reel]], len(p.options))
		o := option{Candidate: c, theme: theme, reel: reels[reel], worth: 1}
		if high > low {
			// Halved first: the difference of two finite scores may not be.
			o.worth = 0.1 + 0.9*((c.Score/2-low/2)/(high/2-low/2))
		}
		p.options = append(p.options, o)
	}
	return p
}

// clashes tells whether two options use the same piece of a recording.
func (o *option) clashes(b *option) bool {
	return o.reel == b.reel && o.Quote.Overlaps(b.Quote.Span)
}

// repeatLoss is what is left of a quote's worth for each quote that its theme
// has already.
const repeatLoss = 0.8

// choice is what has been taken so far.
type choice struct {
	pool  pool
	taken []int // places in pool.options
	// perTheme counts what is taken of each theme, and blocked what is taken
	// that each option clashes with, itself counted.
	perTheme []int
	blocked  []int
	left     timecode.Ticks
	endless  bool
}

// choose takes candidates up to a target, 0 for all; see Outline. The result
// is places in p.options, in order of time.
func choose(p pool, target timecode.Ticks) []int {
	c := choice{
		pool: p, perTheme: make([]int, len(p.themes)), blocked: make([]int, len(p.options)),
		left: target, endless: target == 0,
	}
	// Each theme's best, the best of all first.
	for range p.themes {
		c.takeBest(func(o *option) bool { return c.perTheme[o.theme] == 0 })
	}
	if c.endless {
		c.takeAll()
	}
	for c.takeBest(func(*option) bool { return true }) {
	}
	for !c.endless && c.exchange() {
	}
	slices.Sort(c.taken)
	return c.taken
}

// takeBest takes the candidate worth most among those that fit and clash with
// nothing taken; false if there is none.
func (c *choice) takeBest(may func(*option) bool) bool {
	factor := make([]float64, len(c.perTheme))
	for i, n := range c.perTheme {
		factor[i] = math.Pow(repeatLoss, float64(n))
	}
	best, most := -1, 0.0
	for i := range c.pool.options {
		o := &c.pool.options[i]
		if c.blocked[i] > 0 || !may(o) || !c.endless && o.Quote.Running() > c.left {
			continue
		}
		worth := o.worth * factor[o.theme]
		if best < 0 || worth > most {
			best, most = i, worth
		}
	}
	if best < 0 {
		return false
	}
	c.put(best)
	return true
}

// takeAll takes what clashes with nothing, the worthiest first.
func (c *choice) takeAll() {
	order := make([]int, len(c.pool.options))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(c.pool.options[b].worth, c.pool.options[a].worth) })
	for _, i := range order {
		if c.blocked[i] == 0 {
			c.put(i)
		}
	}
}

// put takes a candidate.
func (c *choice) put(i int) {
	c.taken = append(c.taken, i)
	c.count(i, 1)
}

// count adds a candidate to what is taken, or with −1 takes it off.
func (c *choice) count(i, by int) {
	taken := &c.pool.options[i]
	c.perTheme[taken.theme] += by
	c.left -= timecode.Ticks(by) * taken.Quote.Running()
	for _, k := range c.pool.reels[taken.reel] {
		if c.pool.options[k].clashes(taken) {
			c.blocked[k] += by
		}
	}
}

// freeBut tells whether a candidate clashes with nothing taken but one.
func (c *choice) freeBut(i, taken int) bool {
	n := c.blocked[i]
	if n == 1 && c.pool.options[i].clashes(&c.pool.options[taken]) {
		n = 0
	}
	return n == 0
}

// exchange puts one candidate for one taken, of the same theme or of a theme
// that keeps another, so that less of the target is left; it takes the
// exchange that loses least worth among those that leave less than the
// shortest candidate, or if there is none, the one that leaves least. False
// if none helps, or what is left is less than the shortest candidate anyway.
func (c *choice) exchange() bool {
	shortest := c.pool.options[0].Quote.Running()
	for _, o := range c.pool.options {
		shortest = min(shortest, o.Quote.Running())
	}
	if c.left < shortest {
		return false
	}
	type swap struct {
		out, in int
		left    timecode.Ticks
		loss    float64
	}
	best := swap{out: -1}
	better := func(s swap) bool {
		switch near, had := s.left < shortest, best.left < shortest; {
		case best.out < 0:
			return true
		case near != had:
			return near
		case near:
			return s.loss < best.loss
		}
		return s.left < best.left
	}
	for k, t := range c.taken {
		old := &c.pool.options[t]
		for i := range c.pool.options {
			o := &c.pool.options[i]
			more := o.Quote.Running() - old.Quote.Running()
			if more <= 0 || more > c.left || o.theme != old.theme && c.perTheme[old.theme] < 2 {
				continue
			}
			s := swap{k, i, c.left - more, old.worth - o.worth}
			if better(s) && c.freeBut(i, t) {
				best = s
			}
		}
	}
	if best.out < 0 {
		return false
	}
	c.count(c.taken[best.out], -1)
	c.taken = slices.Delete(c.taken, best.out, best.out+1)
	c.put(best.in)
	// What was put back may make room for another.
	for c.takeBest(func(*option) bool { return true }) {
	}
	return true
}
