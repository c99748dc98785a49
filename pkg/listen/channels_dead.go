package listen

import (
	"math"
	"slices"
)

const (
	deadWindow = 250 // steps of talk that are looked at together
	deadLeast  = 500 // steps of talk without a break in which a channel is dead
	deadSpread = 10  // half decibels: no talk, nor bleed of any, is so even
	liveSpread = 20  // half decibels: what a channel that hears talk has at least
	liveAlike  = 0.5 // correlation of levels of microphones that hear each other
	worksLeast = 800 // steps of talk in which all channels work, to go by
	deadBreak  = 10  // steps near the floor that part two talkers
	ownerRank  = 0.7 // of the levels of a stretch: that of who talks in it
)

// deadIn are the stretches of talk in which each channel hears nothing: a
// lavalier that was pulled out, or whose battery ran down. Its level stays even
// while another's doesn't, and did follow it elsewhere: a microphone that never
// hears anybody but its owner may just as well wait for them.
func (a *analysis) deadIn(talk []stretch) [][]stretch {
	n := len(a.channels)
	out := make([][]stretch, n)
	if n < 2 {
		return out
	}
	run, steps := make([]stretch, n), make([]int, n)
	alike := make([]tally, n) // of correlations, −1 to 1 as 0 to 200
	end := func(c int) {
		if steps[c] >= deadLeast {
			out[c] = append(out[c], a.whileEven(c, run[c]))
		}
		steps[c] = 0
	}
	var t tally // one for all: there are many windows
	spread := make([]int, n)
	windows(talk, func(w []stretch) {
		most, next := -1, -1
		for c := range spread {
			t = tally{}
			t.addLevels(a.channels[c].levels, w)
			spread[c] = int(t.rank(0.9)) - int(t.rank(0.1))
			switch {
			case most < 0 || spread[c] > spread[most]:
				most, next = c, most
			case next < 0 || spread[c] > spread[next]:
				next = c
			}
		}
		for c, s := range spread {
			if other := spread[most]; s <= deadSpread && other >= liveSpread {
				if steps[c] == 0 {
					run[c].from = w[0].from
				}
				run[c].to = w[len(w)-1].to
				steps[c] += deadWindow
				continue
			}
			end(c)
			other := most
			if other == c {
				other = next
			}
			if s >= liveSpread && spread[other] >= liveSpread {
				alike[c].add(uint8(100+100*a.levelsAlike(c, other, w)), 1)
			}
		}
	})
	for c := range out {
		if end(c); alike[c].n < 2 || float64(alike[c].rank(0.5)) < 100+100*liveAlike {
			out[c] = nil
		}
	}
	return out
}

// whileEven is a stretch with the steps around it in which a channel's level
// is as in it, up to a window on each side.
func (a *analysis) whileEven(c int, in stretch) stretch {
	lv := a.channels[c].levels
	level := int(levelsIn(lv, []stretch{in}).rank(0.5))
	even := func(step int) bool {
		d := int(lv.total(step)) - level
		return -deadSpread <= d && d <= deadSpread
	}
	out := in
	for out.from > max(0, in.from-deadWindow) && even(out.from-1) {
		out.from--
	}
	for out.to < min(a.steps(), in.to+deadWindow) && even(out.to) {
		out.to++
	}
	return out
}

// windows cuts talk into windows of deadWindow steps, each
// of one stretch or several; w is reused.
func windows(talk []stretch, each func(w []stretch)) {
	var w []stretch
	n := 0
	for _, s := range talk {
		for s.from < s.to {
			part := stretch{s.from, min(s.to, s.from+deadWindow-n)}
			w, n = append(w, part), n+part.to-part.from
			s.from = part.to
			if n == deadWindow {
				each(w)
				w, n = w[:0], 0
			}
		}
	}
}

// levelsAlike is the correlation of the levels of two channels.
func (a *analysis) levelsAlike(c, d int, in []stretch) float64 {
	var n, x, y, xx, yy, xy float64
	for _, s := range in {
		for i := s.from; i < s.to; i++ {
			u, v := float64(a.channels[c].levels.total(i)), float64(a.channels[d].levels.total(i))
			n, x, y, xx, yy, xy = n+1, x+u, y+v, xx+u*u, yy+v*v, xy+u*v
		}
	}
	r := (xy - x*y/n) / math.Sqrt(max(1e-9, (xx-x*x/n)*(yy-y*y/n)))
	return max(-1, min(1, r))
}

// working is the talk in which no channel is dead; all of it where that is
// too little to go by.
func working(talk []stretch, dead [][]stretch) []stretch {
	works, n := talk, 0
	for _, d := range dead {
		works = outside(works, d)
	}
	for _, s := range works {
		n += s.to - s.from
	}
	if n < worksLeast {
		return talk
	}
	return works
}

// leaveDead measures floors without where channels are dead, if any is.
func (l *lineup) leaveDead(talk []stretch) {
	if !slices.ContainsFunc(l.dead, func(d []stretch) bool { return len(d) > 0 }) {
		return
	}
	quiet := quietSteps(l.a.steps(), talk)
	for i, c := range l.channels {
		if rest := levelsIn(l.a.channels[c].levels, outside(quiet, l.dead[i])); rest.n > 0 {
			l.floor[i] = float64(rest.rank(0.5))
		}
	}
}

// outside is what is left of stretches outside of others; both are in order.
func outside(of, others []stretch) []stretch {
	if len(others) == 0 {
		return of
	}
	var out []stretch
	for _, s := range of {
		for _, o := range others {
			if o.to <= s.from || o.from >= s.to {
				continue
			}
			if s.from < o.from {
				out = append(out, stretch{s.from, o.from})
			}
			s.from = min(s.to, o.to)
		}
		if s.from < s.to {
			out = append(out, s)
		}
	}
	return out
}

// fromBleed gives whose microphone is dead what they say: the others hear it
// as they did while it worked, softer than their own owners.
func (l *lineup) fromBleed(rows []marks, talk []stretch) {
	for d := range l.channels {
		for _, dead := range l.dead[d] {
			for _, t := range talk {
				t = stretch{max(t.from, dead.from), min(t.to, dead.to)}
				lead := l.leaderOf(rows, t)
				if lead < 0 {
					continue
				}
				for _, part := range l.parts(lead, t) {
					if l.soundsLike(d, lead, part) {
						give(rows[lead], rows[d], part)
					}
				}
			}
		}
	}
}

// give moves a stretch from one row to another.
func give(from, to marks, t stretch) {
	for s := t.from; s < t.to; s++ {
		from.unset(s)
		to.set(s)
	}
}

// parts cuts a stretch of talk where a channel is near its floor for a moment:
// there another may begin to talk.
func (l *lineup) parts(i int, t stretch) []stretch {
	lv := l.a.channels[l.channels[i]].levels
	var out []stretch
	part, low := t, 0
	for s := t.from; s < t.to; s++ {
		if float64(lv.total(s)) >= l.floor[i]+overFloor {
			low = 0
		} else if low++; low == deadBreak {
			part.to = s + 1
			out = append(out, part)
			part = stretch{s + 1, t.to}
		}
	}
	return append(out, part)
}

// leaderOf is who has most of a stretch, -1 if nobody has any.
func (l *lineup) leaderOf(rows []marks, t stretch) int {
	best, most := -1, 0
	for i := range rows {
		n := 0
		for s := t.from; s < t.to; s++ {
			if rows[i].has(s) {
				n++
			}
		}
		if n > most {
			best, most = i, n
		}
	}
	return best
}

// soundsLike tells whether a stretch is on the microphone of lead rather as
// loud as the bleed of d than as lead's own talk.
func (l *lineup) soundsLike(d, lead int, t stretch) bool {
	if l.bleed[lead][d] <= -128 { // not known
		return false
	}
	heard := levelsIn(l.a.channels[l.channels[lead]].levels, []stretch{t})
	bleed := l.own[d] + l.bleed[lead][d]
	return float64(heard.rank(ownerRank)) < (l.own[lead]+bleed)/2
}
