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
}

// Constants of the search for edges, set on the voices of TestEdgesCorpus and a
// French one at 30 to 5 dB, with all of them in sight.
const (
	fadeSteps  = 25   // steps over which an end is looked for,
	riseSteps  = 15   // and a start
	soundShare = 0.1  // of the bands stand out in a step of soft sound,
	soundScore = 2.0  // so many spreads
	soundPrice = 0.2  // less of log likelihood for each step, or noise would do
	quietPrice = 2.0  // the same for a step too quiet to be speech
	scoreMost  = 4.0  // spreads; what is louder tells no more
	reachSteps = 12   // steps over which a fading sound is averaged
	reachScore = 2.15 // how far the average must stand out of the noise,
	reachFall  = 0.05 // less by this for each decibel hidden,
	reachLeast = 1.2  // but at least so far
	reachMost  = 20   // steps that an end may move,
	reachBack  = 6    // and a start, which is seldom soft;
	startScore = 2.5  // what precedes it must stand out more
	holdFree   = 4    // decibels hidden that cost nothing yet
	holdShare  = 0.25 // steps for each further decibel
	holdMost   = 5.0  // steps
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
// at the end a little more for what is hidden altogether.
func (m masked) settle(talk []stretch, steps int) []stretch {
	hidden := max(0, m.below-holdFree)
	after := int(min(holdMost, holdShare*hidden) + 0.5)
	score := max(reachLeast, reachScore-reachFall*hidden)
	end := 0 // of the stretch before, where it was found first
	for i := range talk {
		found := talk[i]
		from, to := m.first(found.from, end), found.to
		most := steps
		if i+1 < len(talk) {
			most = (found.to + talk[i+1].from) / 2
		}
		if hidden > 0 {
			for n := 0; n < reachMost && m.standsOut(to, to+reachSteps, score); n++ {
				to++
			}
			for n := 0; n < reachBack && m.standsOut(found.from-n-reachSteps, found.from-n, startScore); n++ {
				from = min(from, found.from-n-1)
			}
		}
		to = min(most, max(to, m.last(found.to, most))+after)
		if i > 0 {
			from = max(from, talk[i-1].to+1)
		}
		end = found.to
		talk[i] = stretch{max(0, from), max(to, found.to)}
	}
	return talk
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
		// One step scatters 1/0.61 times as much as three smoothed ones.
		z := min(scoreMost, 0.61*(float64(lv[b])-float64(fl[b]))/m.floor.spread[b])
		likely += math.Log(1 - soundShare + soundShare*math.Exp(soundScore*z-soundScore*soundScore/2))
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
