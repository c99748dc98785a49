package listen

import (
	"math"
	"slices"
	"strconv"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func number(n int) string { return strconv.Itoa(n) }

// Turns by microphone. Each person is loudest on their own; how much louder
// than on the others depends on gain and distance, so levels are first made
// equal: each channel against its own level while its owner talks. What the
// others' talk leaves on it (bleed) is measured from the steps in which they
// clearly dominate; talk over that is the owner's, also at the same time as
// somebody else's. Common practice, no source.
const (
	clearLead = 12.0 // half decibels over all others: clearly the owner
	ownLead   = 8.0  // half decibels: leads that show a microphone is somebody's
	ownShare  = 0.02 // of the talk that an owner leads
	overBleed = 10.0 // half decibels over the bleed: the owner talks too
	overFloor = 12.0 // half decibels over the channel's floor
	evenOut   = 7    // steps to both sides over which levels are averaged
	ownRank   = 0.93 // of the levels while the owner talks: the owner's level
)

// lineup is the levels of the channels made comparable.
type lineup struct {
	a        *analysis
	channels []int
	own      []float64   // level of the owner's talk, half decibels
	floor    []float64   // noise floor, half decibels
	bleed    [][]float64 // bleed[c][d]: level on c less level on d while d's owner talks
	dead     [][]stretch // in which each channel hears nothing
}

// microphones finds the channels that are somebody's own. With fewer than two
// of them there is nothing to tell by.
func (a *analysis) microphones(talk []stretch, names []string) []int {
	var try, shared []int
	for c := range a.channels {
		if c < len(names) && isShared(names[c]) {
			shared = append(shared, c)
		} else {
			try = append(try, c)
		}
	}
	own := a.owned(talk, try)
	if len(own) == 0 && len(try) == 1 {
		own = try
	}
	if len(own) == 1 && len(shared) > 0 {
		// A boom beside one lavalier is the microphone of everybody else.
		if both := a.owned(talk, []int{own[0], shared[0]}); len(both) == 2 {
			return both
		}
	}
	return own
}

// owned is the part of the channels that leads often enough. While one does
// not, the channel goes without which the rest lead most clearly: a boom that
// hears everybody alike takes every lead away.
func (a *analysis) owned(talk []stretch, channels []int) []int {
	a, talk = a.sampleOf(talk)
	for len(channels) > 1 {
		wins, all := a.leads(talk, channels)
		every := true
		for _, w := range wins {
			every = every && float64(w) >= ownShare*float64(all)
		}
		if every {
			return channels
		}
		var best []int
		most := -1
		for i := range channels {
			rest := slices.Delete(slices.Clone(channels), i, i+1)
			sum := wins[i] // with one left, keep the one that led more
			if len(rest) > 1 {
				sum = 0
				w, _ := a.leads(talk, rest)
				for _, n := range w {
					sum += n
				}
			} else {
				sum = -sum
			}
			if best == nil || sum > most {
				best, most = rest, sum
			}
		}
		channels = best
	}
	return nil
}

// leads counts the steps in which each channel clearly leads, and all steps.
func (a *analysis) leads(talk []stretch, channels []int) ([]int, int) {
	wins, all := make([]int, len(channels)), 0
	a.lineUp(talk, channels).each(talk, func(_ int, m, _ []float64) {
		all++
		if c, lead := leader(m); lead >= ownLead {
			wins[c]++
		}
	})
	return wins, all
}

const (
	sampleSteps = 30_000 // steps of talk that owners are told by, about
	samplePiece = 3_000  // steps that are taken or left together
)

// sampleOf is about sampleSteps of the talk, spread over all of it, laid end
// to end in an analysis of its own. Many channels are compared again and again,
// so their levels in all bands together are summed up once, in the first band.
func (a *analysis) sampleOf(talk []stretch) (*analysis, []stretch) {
	n := 0
	var pieces []stretch
	for _, s := range talk {
		n += s.to - s.from
		for ; s.to-s.from > samplePiece; s.from += samplePiece {
			pieces = append(pieces, stretch{s.from, s.from + samplePiece})
		}
		pieces = append(pieces, s)
	}
	// All stay in memory: a sample is never more than some dozen pages.
	store := newLevelStore(len(a.channels), math.MaxInt)
	out := &analysis{channels: make([]hearing, len(a.channels))}
	for c := range out.channels {
		out.channels[c].levels = &store.channels[c]
	}
	var taken []stretch
	end := 0
	for i := 0; i < len(pieces); i += max(1, n/sampleSteps) {
		p := pieces[i]
		for s := p.from; s < p.to; s++ {
			for c := range a.channels {
				out.channels[c].levels.add([bandCount]uint8{a.channels[c].levels.total(s)})
			}
		}
		taken = append(taken, stretch{end, end + p.to - p.from})
		end += p.to - p.from
	}
	return out, taken
}

// leader is the channel with the highest value, and its lead over the next.
func leader(m []float64) (int, float64) {
	best, second := 0, -1e9
	for i := 1; i < len(m); i++ {
		if m[i] > m[best] {
			best, second = i, m[best]
		} else if m[i] > second {
			second = m[i]
		}
	}
	return best, m[best] - second
}

func (a *analysis) lineUp(talk []stretch, channels []int) *lineup {
	l := &lineup{a: a, channels: channels, own: make([]float64, len(channels))}
	quiet := quietSteps(a.steps(), talk)
	for _, c := range channels {
		rest := levelsIn(a.channels[c].levels, quiet)
		l.floor = append(l.floor, float64(rest.rank(0.5)))
	}
	l.measureOwn(talk)
	return l
}

// levelsIn are the levels of a channel in some stretches.
func levelsIn(lv *levels, in []stretch) *tally {
	var t tally
	t.addLevels(lv, in)
	return &t
}

// addLevels counts the levels of a channel in some stretches.
func (t *tally) addLevels(lv *levels, in []stretch) {
	for _, s := range in {
		for i := s.from; i < s.to; i++ {
			t.add(lv.total(i), 1)
		}
	}
}

// measureOwn measures how loud the owners are on their channels.
func (l *lineup) measureOwn(talk []stretch) {
	for i, c := range l.channels {
		l.own[i] = float64(levelsIn(l.a.channels[c].levels, talk).rank(ownRank))
	}
	for range 3 {
		count := make([]tally, len(l.channels))
		l.each(talk, func(_ int, m, e []float64) {
			if c, lead := leader(m); lead >= clearLead/2 {
				count[c].add(uint8(max(0, min(255, e[c]))), 1)
			}
		})
		// Only where all lead often enough is the middle of their talk a fair
		// measure; else a channel that leads more and more would win it all.
		rank, least := 0.7, count[0].n
		for c := range count {
			least = min(least, count[c].n)
		}
		if least < 100 {
			rank = ownRank
		}
		for c := range count {
			if count[c].n >= 50 {
				l.own[c] = float64(count[c].rank(rank))
			}
		}
	}
}

func (l *lineup) measureBleed(talk []stretch) {
	n := len(l.channels)
	count := make([]tally, n*n)
	l.each(talk, func(_ int, m, e []float64) {
		d, lead := leader(m)
		if lead < clearLead {
			return
		}
		for c := range n {
			count[c*n+d].add(uint8(max(0, min(255, e[c]-e[d]+128))), 1)
		}
	})
	for c := range n {
		row := make([]float64, n)
		for d := range n {
			row[d] = -128
			if t := &count[c*n+d]; t.n >= 30 {
				row[d] = float64(t.rank(0.6)) - 128
			}
		}
		l.bleed = append(l.bleed, row)
	}
}

// each calls f for every step of talk with the averaged levels of the
// channels (e) and the same less the owners' levels (m), in half decibels.
// Both slices are reused.
func (l *lineup) each(talk []stretch, f func(step int, m, e []float64)) {
	n := len(l.channels)
	m, e, sum := make([]float64, n), make([]float64, n), make([]float64, n)
	at := func(c, step int) float64 {
		return float64(l.a.channels[l.channels[c]].levels.total(step))
	}
	for _, s := range talk {
		lo, hi := s.from, s.from
		clear(sum)
		for step := s.from; step < s.to; step++ {
			for ; hi < min(s.to, step+evenOut+1); hi++ {
				for c := range sum {
					sum[c] += at(c, hi)
				}
			}
			for ; lo < step-evenOut; lo++ {
				for c := range sum {
					sum[c] -= at(c, lo)
				}
			}
			for c := range sum {
				e[c] = sum[c] / float64(hi-lo)
				m[c] = e[c] - l.own[c]
			}
			f(step, m, e)
		}
	}
}

// byChannel tells the turns of people with microphones of their own.
// works is the talk in which no channel is dead.
func (a *analysis) byChannel(talk, works []stretch, people []int, dead [][]stretch, names []string, end timecode.Ticks) []story.Turn {
	l := a.lineUp(works, people)
	for _, c := range people {
		l.dead = append(l.dead, dead[c])
	}
	l.leaveDead(talk)
	l.measureBleed(works)
	rows := make([]marks, len(people))
	for i := range rows {
		rows[i] = newMarks(a.steps())
	}
	l.each(talk, func(step int, m, e []float64) {
		lead, _ := leader(m)
		rows[lead].set(step)
		for c := range e {
			if c != lead && e[c] > l.floor[c]+overFloor && e[c] > l.bleed[c][lead]+e[lead]+overBleed {
				over := true
				for d := range e {
					over = over && (d == c || e[c] > l.bleed[c][d]+e[d]+overBleed)
				}
				if over {
					rows[c].set(step)
				}
			}
		}
	})
	l.fromBleed(rows, talk)
	settleRows(rows, talk, a.steps())
	var out []story.Turn
	for i, c := range people {
		name, by := speakerOf(names, c), story.ByChannel
		if c < len(names) && isShared(names[c]) {
			name, by = "Voice 1", story.ByVoice
		}
		others := func(from, to int) bool {
			for j := range rows {
				for s := from; j != i && s < to; s++ {
					if rows[j].has(s) {
						return true
					}
				}
			}
			return false
		}
		for _, s := range gather(a.steps(), rows[i].has, others) {
			out = append(out, story.Turn{Speaker: name, Span: spanOf(s, end), Source: by, Channel: c})
		}
	}
	return out
}

// settleRows drops what is too short to be talk, and gives steps of talk left
// without a speaker to whoever talked last or talks next.
func settleRows(rows []marks, talk []stretch, steps int) {
	for _, row := range rows {
		for s := 0; s < steps; {
			from := s
			for s < steps && row.has(s) {
				s++
			}
			if s-from < turnLeast {
				for k := from; k < s; k++ {
					row.unset(k)
				}
			}
			s++
		}
	}
	for _, t := range talk {
		last := -1
		for s := t.from; s < t.to; s++ {
			now := -1
			for i := range rows {
				if rows[i].has(s) {
					now = i
				}
			}
			switch {
			case now >= 0 && last < 0:
				for k := t.from; k < s; k++ {
					rows[now].set(k)
				}
				last = now
			case now >= 0:
				last = now
			case last >= 0:
				rows[last].set(s)
			}
		}
	}
}
