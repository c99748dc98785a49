package listen

import (
	"math"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Labels of a transcript with a time now and then only are in order, but
// seconds off. They are laid on the heard turns by dynamic programming: each
// part of speech goes to a label not before that of the part before, at the
// price of how far the label's time is away and of how seldom the part's voice
// is that of the label's speaker, which is learnt from the labels themselves.
const (
	looseReach = 15 * timecode.Second // how far a label may be off
	loosePrice = 0.1                  // for each second of speech and second off
	looseSkip  = 0.3                  // for each second of a label without speech, of the first three
	looseOwn   = 1.0                  // for each second that a voice speaks under another's label
)

// When labels are loose: measured on 241 built dialogues of two to six real
// voices. Labels up to 0.5 s off were never taken for loose, labels by a time
// each 5, 10 and 30 s in 237 of the 241.
const (
	looseShare = 0.06                       // of the labelled speech is another's when they are laid anew
	looseEdge  = 600 * timecode.Millisecond // a label's time is that of an end of speech so near
	looseEdges = 0.15                       // of the labels' times are near no end
	looseLeast = 60 * timecode.Second       // of labelled speech, for anything to be learnt
)

// labelled is speech within which neither the heard voice nor the label
// changes.
type labelled struct {
	timecode.Span
	voice    int  // −1: none
	from, to int  // labels in reach
	label    int  // −1: none
	own      bool // its voice's owner speaks, not the label's speaker
}

// loose lays labels on what was heard.
type loose struct {
	labels []story.Turn
	parts  []labelled
	voices []string
	names  []string
	nameOf []int       // of each label, in names
	owner  []int       // whose each voice is, in names; −1: nobody's
	odds   [][]float64 // −log of how often each name is heard as each voice
}

// layLoose gives the turns by loose labels, which are in order of In; false
// where their times are good enough as they are.
func layLoose(r relabel, labels []story.Turn) ([]story.Turn, bool) {
	l := &loose{labels: labels}
	l.number()
	l.cut(r)
	if l.adrift(r.h.Speech) < looseEdges {
		return nil, false
	}
	given := make([]int, len(l.parts))
	for i, p := range l.parts {
		given[i] = p.label
	}
	for range 3 {
		l.learn()
		l.lay()
	}
	var moved, all timecode.Ticks
	for i, p := range l.parts {
		if given[i] < 0 {
			continue
		}
		all += p.Length()
		if p.label >= 0 && l.nameOf[p.label] != l.nameOf[given[i]] && !holds(labels[p.label].Span, p.Span) {
			moved += p.Length()
		}
	}
	if all < looseLeast || float64(moved) < looseShare*float64(all) {
		return nil, false
	}
	return l.turns(r), true
}

// holds tells whether all of in lies in s.
func holds(s, in timecode.Span) bool { return s.In <= in.In && in.Out <= s.Out }

// number lists the names of labels.
func (l *loose) number() {
	at := map[string]int{}
	for _, t := range l.labels {
		n, ok := at[t.Speaker]
		if !ok {
			n = len(l.names)
			at[t.Speaker] = n
			l.names = append(l.names, t.Speaker)
		}
		l.nameOf = append(l.nameOf, n)
	}
}

// cut cuts speech into parts, each with the last label that holds it.
func (l *loose) cut(r relabel) {
	edges := slices.Clone(r.bounds)
	for _, t := range l.labels {
		edges = append(edges, t.In, t.Out)
	}
	slices.Sort(edges)
	number := map[string]int{}
	turn, from, to := 0, 0, 0
	for _, s := range r.h.Speech {
		e, _ := slices.BinarySearch(edges, s.In+1)
		for in := s.In; in < s.Out; {
			for e < len(edges) && edges[e] <= in {
				e++
			}
			p := labelled{Span: timecode.Span{In: in, Out: s.Out}, voice: -1, label: -1}
			if e < len(edges) {
				p.Out = min(p.Out, edges[e])
			}
			for ; turn < len(r.h.Turns) && r.h.Turns[turn].Out <= in; turn++ {
			}
			for _, t := range r.h.Turns[turn:] {
				if t.In >= p.Out {
					break
				}
				if t.Out > in {
					p.voice = l.numberOf(number, t.Speaker)
					break
				}
			}
			for ; from < len(l.labels) && l.labels[from].Out < p.In-looseReach; from++ {
			}
			for ; to < len(l.labels) && l.labels[to].In <= p.Out+looseReach; to++ {
			}
			p.from, p.to = from, to
			for j := to - 1; j >= from && p.label < 0; j-- {
				if holds(l.labels[j].Span, p.Span) {
					p.label = j
				}
			}
			l.parts = append(l.parts, p)
			in = p.Out
		}
	}
}

// numberOf is the number of a voice.
func (l *loose) numberOf(number map[string]int, voice string) int {
	v, ok := number[voice]
	if !ok {
		v = len(l.voices)
		number[voice] = v
		l.voices = append(l.voices, voice)
	}
	return v
}

// adrift is the share of the times at which one speaker's label ends or
// another's begins that lie within speech, far from its ends.
func (l *loose) adrift(speech []timecode.Span) float64 {
	n, within := 0, 0
	for j, t := range l.labels {
		for k, at := range []timecode.Ticks{t.In, t.Out} {
			if o := j - 1 + 2*k; o < 0 || o >= len(l.labels) || l.nameOf[o] == l.nameOf[j] {
				continue
			}
			n++
			s := overlapping(speech, timecode.Span{In: at, Out: at + 1})
			if len(s) > 0 && min(at-s[0].In, s[0].Out-at) > looseEdge {
				within++
			}
		}
	}
	return float64(within) / float64(max(1, n))
}

// learn counts who is heard as which voice.
func (l *loose) learn() {
	time := make([][]float64, len(l.names))
	for n := range time {
		time[n] = make([]float64, len(l.voices))
	}
	for _, p := range l.parts {
		if p.label < 0 || p.voice < 0 {
			continue
		}
		n := l.nameOf[p.label]
		if p.own {
			n = l.owner[p.voice]
		}
		time[n][p.voice] += p.Length().Seconds()
	}
	l.owner = make([]int, len(l.voices))
	for v := range l.owner {
		l.owner[v] = -1
		most := 0.0
		for n := range time {
			if time[n][v] > most {
				l.owner[v], most = n, time[n][v]
			}
		}
	}
	l.odds = time
	for _, row := range l.odds {
		all := 0.0
		for _, t := range row {
			all += t
		}
		some := 0.02*all + 1
		for v, t := range row {
			row[v] = -math.Log((t + some) / (all + some*float64(len(row))))
		}
	}
}

// price of giving a part to a label, and whether the voice's owner speaks
// there instead.
func (l *loose) price(p *labelled, label int) (price float64, own bool) {
	t := l.labels[label]
	away := max(0, t.In-p.In, p.Out-t.Out).Seconds()
	if p.voice >= 0 {
		name, owner := l.nameOf[label], l.owner[p.voice]
		price = l.odds[name][p.voice]
		if owner >= 0 && owner != name && l.odds[owner][p.voice]+looseOwn < price {
			price, own = l.odds[owner][p.voice]+looseOwn, true
		}
	}
	return p.Length().Seconds() * (price + loosePrice*away), own
}

// lay finds the cheapest labels for all parts, in order.
func (l *loose) lay() {
	skip := make([]float64, len(l.labels)+1) // price of all labels before
	for j, t := range l.labels {
		skip[j+1] = skip[j] + looseSkip*math.Min(3, t.Length().Seconds())
	}
	// cost[k] is the price of all so far if the last part has label first+k;
	// before all parts that is −1. came holds the label before, for each part.
	cost, first := []float64{0}, -1
	came := make([][]int, len(l.parts))
	for i := range l.parts {
		p := &l.parts[i]
		if p.from >= p.to {
			continue
		}
		now, before := make([]float64, p.to-p.from), make([]int, p.to-p.from)
		best, from, k := math.Inf(1), -1, 0
		for j := p.from; j < p.to; j++ {
			for ; k < len(cost) && first+k < j; k++ {
				if c := cost[k] - skip[first+k+1]; c < best {
					best, from = c, first+k
				}
			}
			price, _ := l.price(p, j)
			now[j-p.from], before[j-p.from] = best+skip[j]+price, from
			if k < len(cost) && first+k == j && cost[k]+price <= now[j-p.from] {
				now[j-p.from], before[j-p.from] = cost[k]+price, j
			}
		}
		cost, first, came[i] = now, p.from, before
	}
	state, least := -1, math.Inf(1)
	for k, c := range cost {
		if c -= skip[first+k+1]; c < least {
			state, least = first+k, c
		}
	}
	for i := len(l.parts) - 1; i >= 0; i-- {
		p := &l.parts[i]
		p.label, p.own = -1, false
		if came[i] != nil {
			p.label = state
			_, p.own = l.price(p, state)
			state = came[i][state-p.from]
		}
	}
}

// turns are the parts as their speakers' turns; labels in which nothing was
// heard stay.
func (l *loose) turns(r relabel) []story.Turn {
	var out []story.Turn
	heard := make([]bool, len(l.labels))
	for _, p := range l.parts {
		if p.label >= 0 {
			heard[p.label] = true
		}
		switch {
		case p.label >= 0 && !p.own:
			out = append(out, r.turn(l.names[l.nameOf[p.label]], p.Span))
		case p.voice >= 0 && l.owner[p.voice] >= 0:
			out = append(out, r.turn(l.names[l.owner[p.voice]], p.Span))
		case p.voice >= 0:
			out = append(out, r.turn(l.voices[p.voice], p.Span))
		}
	}
	for j, t := range l.labels {
		if !heard[j] && len(overlapping(r.h.Speech, t.Span)) == 0 {
			out = append(out, r.turn(t.Speaker, t.Span))
		}
	}
	return out
}
