package listen

import "math"

// masked is what noise hides of the ends of speech on the clearest channel:
// below is how many decibels, from the level at which speech ends in silence
// (least, in half decibels) up to the noise.
type masked struct {
	levels *levels
	floor  noise
	below  float64
	least  uint8
	sound  *soundTable // set by settle
}

// Constants of the search for edges, set on the voices of TestEdgesCorpus and a
// French one at 30 to 5 dB, with all of them in sight; those of soft sound, later,
// on the English and the French one. Ends looked for over more steps are nearer in
// these voices, but worse in meetings.
const (
	fadeSteps  = 25   // steps over which an end is looked for,
	riseSteps  = 15   // and a start
	soundShare = 0.08 // of the bands stand out in a step of soft sound,
	soundScore = 1.8  // so many spreads
	soundPrice = 0.17 // less of log likelihood for each step, or noise would do
	quietPrice = 2.0  // the same for a step too quiet to be speech
	scoreMost  = 4.5  // spreads; what is louder tells no more
	reachSteps = 12   // steps over which a fading sound is averaged
	reachScore = 2.15 // how far the average must stand out of the noise,
	reachFall  = 0.05 // less by this for each decibel hidden,
	reachLeast = 1.2  // but at least so far
	reachMost  = 20   // steps that an end may move,
	reachBack  = 6    // and a start, which is seldom soft;
	startScore = 2.5  // what precedes it must stand out more
	holdFree   = 4    // decibels hidden that cost nothing yet
)

// Constants of what follows the last sound that can be told from noise, chosen
// on the English and the French voice at 20 to 5 dB.
const (
	fadeOver  = 12    // half decibels over the noise from which a fade counts,
	fadeMost  = 30    // steps at most
	holdShare = 0.16  // steps for each decibel hidden,
	holdUsual = 0.035 // more for each step of the recording's usual fade,
	holdFade  = 0.016 // less for each step of this fade
	holdMost  = 10.0  // steps
)

// leastOf is the level under which nothing is speech where talk is as loud as
// loud, both in half decibels.
func leastOf(loud float64) uint8 { return uint8(max(0, loud-2*belowPeak)) }

// middle is the noise floor in all bands together, in half decibels.
func (f noise) middle() float64 {
	var t tally
	for i := range f.block {
		t.add(total(f.block[i][:]), 1)
	}
	return float64(t.rank(0.5))
}

// settle moves the edges of stretches outwards, in place, over soft sound:
// to where the likelihood of sound rather than noise, summed from the stretch
// on, is highest; further while an average over more steps still stands out; and
// at the end for what is hidden altogether (hold). In a long room fades are the
// room's, and say nothing of how long a voice goes on.
func (m masked) settle(talk []stretch, steps int, room bool) []stretch {
	hidden := max(0, m.below-holdFree)
	m.sound = newSoundTable(m.floor.spread)
	restless := m.restless(talk, steps)
	ends := m.ends(talk, steps, hidden, restless)
	usual := 0.0
	if !room {
		usual = m.usualFade(ends)
	}
	end := 0 // of the stretch before, where it was found first
	for i := range talk {
		found := talk[i]
		from := found.from
		if !restless(from) {
			from = m.first(from, end)
		}
		if hidden > 0 {
			for n := 0; n < reachBack && m.standsOut(found.from-n-reachSteps, found.from-n, startScore); n++ {
				from = min(from, found.from-n-1)
			}
		}
		to := min(midGap(talk, i, steps), ends[i]+m.hold(hidden, usual, m.fade(ends[i])))
		if i > 0 {
			from = max(from, talk[i-1].to+1)
		}
		end = found.to
		talk[i] = stretch{max(0, from), max(to, found.to)}
	}
	return talk
}

// midGap is the step half way from the end of stretch i to the next.
func midGap(talk []stretch, i, steps int) int {
	if i+1 < len(talk) {
		return (talk[i].to + talk[i+1].from) / 2
	}
	return steps
}

// ends is for each stretch the step up to which sound can be told from noise
// where so many decibels are hidden.
func (m masked) ends(talk []stretch, steps int, hidden float64, restless func(step int) bool) []int {
	out := make([]int, len(talk))
	score := max(reachLeast, reachScore-reachFall*hidden)
	for i, found := range talk {
		to := found.to
		if hidden > 0 {
			for n := 0; n < reachMost && m.standsOut(to, to+reachSteps, score); n++ {
				to++
			}
		}
		if !restless(to) {
			to = max(to, m.last(found.to, midGap(talk, i, steps)))
		}
		out[i] = to
	}
	return out
}

// fade is for how many steps sound that ends at end had been close to the noise.
func (m masked) fade(end int) int {
	end = min(end, m.levels.steps-1)
	for s := end; s > max(0, end-fadeMost); s-- {
		if m.levels.smooth(s) >= 4*(int(total(m.floor.block[s/floorBlock][:]))+fadeOver) {
			return end - s
		}
	}
	return fadeMost
}

// usualFade is the middle of the fades of a recording, 0 without any.
func (m masked) usualFade(ends []int) float64 {
	var fades tally
	for _, e := range ends {
		fades.add(uint8(m.fade(e)), 1)
	}
	return float64(fades.rank(0.5))
}

// hold is for how many steps sound goes on after all that can be told from the
// noise: the more is hidden, the longer, and longer where ends fade slowly while
// they can still be heard, for so they go on (one English voice falls for 120 ms
// from 6 dB over the noise, an Italian one for 30). That is a habit of the voice:
// an end that fades faster than usual was lost early in the noise.
func (m masked) hold(hidden, usual float64, fade int) int {
	more := max(0, holdUsual*usual-holdFade*float64(fade))
	return int(min(holdMost, hidden*(holdShare+more)) + 0.5)
}

// last is the step at which sound that goes on after to ends, most at most.
func (m masked) last(to, most int) int {
	best, sum := 0.0, 0.0
	end := to
	for s := to; s < min(most, to+fadeSteps); s++ {
		if sum += m.likelySound(s); sum > best {
			best, end = sum, s+1
		}
	}
	return end
}

// first is the step at which sound that leads to from begins, least at least.
func (m masked) first(from, least int) int {
	best, sum := 0.0, 0.0
	start := from
	for s := from - 1; s >= max(least, from-riseSteps); s-- {
		if sum += m.likelySound(s); sum > best {
			best, start = sum, s
		}
	}
	return start
}

// likelySound is the log of how much likelier the levels of a step are as soft
// sound, which stands out of the noise in some of the bands, than as noise.
func (m masked) likelySound(s int) float64 {
	lv := m.levels.at(s)
	if total(lv[:]) < m.least {
		return -quietPrice
	}
	fl := &m.floor.block[s/floorBlock]
	likely := -soundPrice
	for b := range bandCount {
		likely += m.sound[b][levelRange+int(lv[b])-int(fl[b])]
	}
	return likely
}

// standsOut tells whether the steps from … to, taken together, are louder
// than the noise by at least score spreads.
func (m masked) standsOut(from, to int, score float64) bool {
	if from < 0 || to > m.levels.steps {
		return false
	}
	// One step scatters 1/0.61 times as much as three smoothed ones.
	narrow := 1 / (0.61 * math.Sqrt(float64(to-from)))
	var sum float64
	for b := range bandCount {
		l := 0
		for s := from; s < to; s++ {
			l += int(m.levels.at(s)[b])
		}
		mean := float64(l) / float64(to-from)
		z := (mean - float64(m.floor.block[from/floorBlock][b])) / (m.floor.spread[b] * narrow)
		if z > 0.5 {
			sum += (z - 0.5) * (z - 0.5)
		}
	}
	return sum > score*score
}
