package quotes

import (
	"math"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// The costs of laying sentences over speech, in units of log likelihood. The
// length of a saying follows its text with a spread of a quarter and 0.3 s;
// silences between sentences are mostly longer than those within. Values
// chosen on built dialogues (see the tests), not from a paper.
const (
	spreadShare   = 0.25
	spreadSeconds = 0.3
	costNoSilence = 2.5
	costSilence   = 1.0
	gainPerSecond = 2.0
	gainMost      = 1.2
	gainTurn      = 2.0
	costTurn      = 0.5
	// band is how many silences about the expected place are tried.
	band = 40
)

// choice is one place at which a boundary may lie.
type choice struct {
	// said is how much speech lies before it, from the start of the span.
	said    timecode.Ticks
	before  timecode.Ticks
	after   timecode.Ticks
	by      story.Precision
	cost    float64
	turning bool
}

// laying lays the fragments of one cue over the speech in a span.
type laying struct {
	span    timecode.Span
	frags   []*fragment
	speech  []timecode.Span
	all     timecode.Ticks
	choices []choice
	// expect is the speech before each boundary by share of the text.
	expect []timecode.Ticks
	by     story.Precision
}

// lay sets the boundaries between the fragments of a cue: by share of the
// text where nothing was heard, else where silences and turns fit the lengths
// of the sentences best.
func (f *flow) lay(q silences, cue int, frags []*fragment, span timecode.Span) {
	l := laying{span: span, frags: frags, by: story.FromShare}
	if f.cues[cue].coarse || f.cues[cue].open {
		l.by = story.FromGuess
	}
	gaps := q.within(span)
	l.hear(gaps)
	l.share()
	if len(q) > 0 && len(l.speech) > 0 {
		l.collect(gaps, f.turnsIn(span))
		l.solve()
		return
	}
	for i := range l.expect {
		l.set(i, l.shared(i))
	}
}

// hear finds the speech between the silences inside the span.
func (l *laying) hear(gaps []timecode.Span) {
	at := l.span.In
	for _, g := range gaps {
		if g.In > at {
			l.speech = append(l.speech, timecode.Span{In: at, Out: g.In})
		}
		at = g.Out
	}
	if l.span.Out > at {
		l.speech = append(l.speech, timecode.Span{In: at, Out: l.span.Out})
	}
	for _, s := range l.speech {
		l.all += s.Length()
	}
}

// share divides the speech by the weight of the text.
func (l *laying) share() {
	var sum float64
	for _, g := range l.frags {
		sum += g.weight
	}
	var so float64
	for _, g := range l.frags[:len(l.frags)-1] {
		so += g.weight
		l.expect = append(l.expect, timecode.Ticks(so/sum*float64(l.all)))
	}
}

// at is the place at which this much has been said.
func (l *laying) at(said timecode.Ticks) timecode.Ticks {
	for _, s := range l.speech {
		if said <= s.Length() {
			return s.In + said
		}
		said -= s.Length()
	}
	return l.span.Out
}

// saidBefore is how much has been said at a place.
func (l *laying) saidBefore(t timecode.Ticks) timecode.Ticks {
	var sum timecode.Ticks
	for _, s := range l.speech {
		if s.In >= t {
			break
		}
		sum += min(s.Out, t) - s.In
	}
	return sum
}

func (l *laying) shared(i int) choice {
	t := l.at(l.expect[i])
	return choice{said: l.expect[i], before: t, after: t, by: l.by, cost: costNoSilence}
}

// turnsIn gives the places in a span at which the heard speaker changes.
func (f *flow) turnsIn(span timecode.Span) []timecode.Ticks {
	if f.src.Heard == nil {
		return nil
	}
	var out []timecode.Ticks
	last := ""
	for _, t := range f.src.Heard.Turns {
		if t.In >= span.Out {
			break
		}
		if t.Out <= span.In {
			continue
		}
		if last != "" && t.Speaker != last && t.In > span.In {
			out = append(out, t.In)
		}
		last = t.Speaker
	}
	return out
}

// collect lists where boundaries may lie: silences, and changes of turn that
// no silence marks.
func (l *laying) collect(gaps []timecode.Span, turns []timecode.Ticks) {
	const close = 500 * timecode.Millisecond
	marked := make([]bool, len(turns))
	for _, g := range gaps {
		if g.In <= l.span.In || g.Out >= l.span.Out {
			continue
		}
		c := choice{said: l.saidBefore(g.In), before: out(g), after: in(g), by: story.FromPause}
		c.cost = costSilence - gainPerSecond*min(g.Length().Seconds(), gainMost)
		for i, t := range turns {
			if t > g.In-close && t < g.Out+close {
				c.turning, marked[i] = true, true
			}
		}
		l.choices = append(l.choices, c)
	}
	for i, t := range turns {
		if !marked[i] {
			l.choices = append(l.choices, choice{said: l.saidBefore(t), before: t, after: t, by: l.by, cost: costSilence, turning: true})
		}
	}
	slices.SortStableFunc(l.choices, func(a, b choice) int { return int(min(max(a.said-b.said, -1), 1)) })
}

// misfit is the cost of saying frag in this much speech.
func (l *laying) misfit(i int, said timecode.Ticks) float64 {
	if said <= 0 {
		return 1e6
	}
	var before timecode.Ticks
	if i > 0 {
		before = l.expect[i-1]
	}
	after := l.all
	if i < len(l.expect) {
		after = l.expect[i]
	}
	e := (after - before).Seconds()
	d := (said.Seconds() - e) / (spreadShare*e + spreadSeconds)
	return d * d / 2
}

// step is one boundary's choices with the best way to each.
type step struct {
	choices []choice
	cost    []float64
	from    []int
}

// solve finds the cheapest row of boundaries by dynamic programming.
func (l *laying) solve() {
	steps := make([]step, len(l.expect))
	for i := range steps {
		s := step{choices: append(l.about(l.expect[i]), l.shared(i))}
		change := l.frags[i].speaker != l.frags[i+1].speaker
		for k, c := range s.choices {
			own := c.cost
			switch {
			case c.turning && change:
				own -= gainTurn
			case c.turning:
				own += costTurn
			}
			least, from := math.Inf(1), 0
			if i == 0 {
				least = l.misfit(0, c.said)
			} else {
				for p, d := range steps[i-1].choices {
					if v := steps[i-1].cost[p] + l.misfit(i, c.said-d.said); v < least {
						least, from = v, p
					}
				}
			}
			if i == len(steps)-1 {
				own += l.misfit(i+1, l.all-c.said)
			}
			s.choices[k], s.cost, s.from = c, append(s.cost, least+own), append(s.from, from)
		}
		steps[i] = s
	}
	last := len(steps) - 1
	k := 0
	for j, c := range steps[last].cost {
		if c < steps[last].cost[k] {
			k = j
		}
	}
	for i := last; i >= 0; i-- {
		l.set(i, steps[i].choices[k])
		k = steps[i].from[k]
	}
}

// about gives the choices nearest to an amount of speech.
func (l *laying) about(said timecode.Ticks) []choice {
	i, _ := slices.BinarySearchFunc(l.choices, said, func(c choice, at timecode.Ticks) int { return int(min(max(c.said-at, -1), 1)) })
	lo, hi := max(0, i-band/2), min(len(l.choices), i+band/2)
	return slices.Clone(l.choices[lo:hi])
}

// set puts boundary i, between fragments i and i+1.
func (l *laying) set(i int, c choice) {
	l.frags[i].Out, l.frags[i].outBy = c.before, c.by
	l.frags[i+1].In, l.frags[i+1].inBy = c.after, c.by
}
