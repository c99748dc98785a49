package listen

import "slices"

const (
	deadUnder = 110 // half decibels under its owner's talk: no bleed is so weak
	deadLeast = 500 // steps of talk without a break in which a channel is dead
	deadBreak = 10  // steps near the floor that part two talkers
	ownerRank = 0.7 // of the levels of a stretch: that of who talks in it
)

// deadIn are the stretches of talk in which a channel hears nothing: a lavalier
// that was pulled out, or whose battery ran down.
func (l *lineup) deadIn(talk []stretch, i int) []stretch {
	var out []stretch
	var run stretch
	n := 0
	end := func() {
		if n >= deadLeast {
			out = append(out, run)
		}
		n = 0
	}
	lv := l.a.channels[l.channels[i]].levels
	for _, t := range talk {
		for s := t.from; s < t.to; s++ {
			if float64(lv.total(s)) >= l.own[i]-deadUnder {
				end()
				continue
			}
			if n == 0 {
				run.from = s
			}
			run.to = s + 1
			n++
		}
	}
	end()
	return out
}

// leaveDead finds where channels are dead, measures owners and floors without
// that, and gives the talk in which all channels work.
func (l *lineup) leaveDead(talk []stretch) []stretch {
	works := talk
	for i := range l.channels {
		l.dead = append(l.dead, l.deadIn(talk, i))
		works = outside(works, l.dead[i])
	}
	if !slices.ContainsFunc(l.dead, func(d []stretch) bool { return len(d) > 0 }) {
		return talk
	}
	quiet := quietSteps(l.a.steps(), talk)
	for i, c := range l.channels {
		if rest := levelsIn(l.a.channels[c].levels, outside(quiet, l.dead[i])); rest.n > 0 {
			l.floor[i] = float64(rest.rank(0.5))
		}
	}
	l.measureOwn(works)
	return works
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
