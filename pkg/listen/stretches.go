package listen

import "math"

// find is the speech that a row of scores shows. With voice set, a stretch
// without a voice in it is not speech.
func (a *analysis) find(score []uint8, voice bool) []stretch {
	var weak []stretch
	var core []bool
	for s := 0; s < len(score); {
		if float64(score[s]) < leaveScore*scoreScale {
			s++
			continue
		}
		from, strong, fair := s, 0, 0
		for ; s < len(score) && float64(score[s]) >= leaveScore*scoreScale; s++ {
			if float64(score[s]) >= enterScore*scoreScale {
				strong++
			}
			if float64(score[s]) >= attachScore*scoreScale {
				fair++
			}
		}
		if strong >= coreSteps || fair >= attachSteps {
			weak = append(weak, stretch{from, s})
			core = append(core, strong >= coreSteps)
		}
	}
	out := join(attach(weak, core))
	if voice {
		out = a.withVoice(out)
	}
	n := 0
	for _, s := range out {
		if s.to-s.from >= shortest {
			out[n] = s
			n++
		}
	}
	return out[:n]
}

// attach keeps the stretches with a core, and the others that lie close to one
// that is kept. It uses keep up.
func attach(weak []stretch, keep []bool) []stretch {
	near := func(i, j int) bool {
		return keep[j] && max(weak[i].from-weak[j].to, weak[j].from-weak[i].to) < attachGap
	}
	for i := 1; i < len(weak); i++ {
		keep[i] = keep[i] || near(i, i-1)
	}
	for i := len(weak) - 2; i >= 0; i-- {
		keep[i] = keep[i] || near(i, i+1)
	}
	n := 0
	for i, s := range weak {
		if keep[i] {
			weak[n] = s
			n++
		}
	}
	return weak[:n]
}

// join closes gaps too short to be a pause, in place.
func join(in []stretch) []stretch {
	out := in[:0]
	for _, s := range in {
		if n := len(out); n > 0 && s.from-out[n-1].to < shortestGap {
			out[n-1].to = s.to
			continue
		}
		out = append(out, s)
	}
	return out
}

// withVoice keeps what lies near a voice: near voicedLooks looks with one in
// voicedWindow. A rustle or a door has none, and a long noise before or after
// talk is cut off voicedReach from it.
func (a *analysis) withVoice(in []stretch) []stretch {
	var out []stretch
	voiced := func(i int) int {
		if i >= 0 && i < len(a.periodic) && float64(a.periodic[i]) >= voicedEnough*255 {
			return 1
		}
		return 0
	}
	for _, s := range in {
		first, last := s.from/framesPerLook, min(len(a.periodic), s.to/framesPerLook+1)
		n := 0
		for i := first; i < last; i++ {
			n += voiced(i)
			if i-voicedWindow >= first {
				n -= voiced(i - voicedWindow)
			}
			if n < voicedLooks {
				continue
			}
			near := stretch{
				max(s.from, (i-voicedWindow+1)*framesPerLook-voicedReach),
				min(s.to, (i+1)*framesPerLook+voicedReach),
			}
			if k := len(out); k > 0 && near.from <= out[k-1].to {
				out[k-1].to = max(out[k-1].to, near.to)
			} else {
				out = append(out, near)
			}
		}
	}
	return out
}

// detect finds the speech on all channels together.
func (a *analysis) detect() []stretch {
	if len(a.channels) == 0 || len(a.channels[0].levels) == 0 {
		return nil
	}
	score := make([]uint8, len(a.channels[0].levels)/bandCount)
	row := score
	if len(a.channels) > 1 {
		row = make([]uint8, len(score))
	}
	a.dropTones()
	mask := masked{below: math.Inf(1)}
	for c := range a.channels {
		lv := a.channels[c].levels
		loud := a.loudTalk(lv)
		floor := firstFloor(lv)
		for range 2 {
			clear(row)
			scores(row, lv, floor, loud)
			floor = secondFloor(lv, floor, a.find(row, true))
		}
		if len(a.channels) == 1 {
			clear(score)
		}
		scores(score, lv, floor, loud)
		if below := floor.middle()/2 - (loud/2 - belowPeak); below < mask.below {
			mask = masked{levels: lv, floor: floor, below: below}
		}
	}
	return mask.hold(a.find(score, true), len(score))
}

// dropTones takes the voice away from cells that hold one pitch longer than
// anybody speaks on: a bell, a horn, a whistle. Measured on synthetic voices,
// the flattest, three cells in a row; a bell, thirty.
func (a *analysis) dropTones() {
	for i := 0; i < len(a.cells); {
		from, same := i, 0
		for i < len(a.cells) && a.cells[i].voiced > 0 {
			d := int(a.cells[i].pitch) - int(a.cells[from].pitch)
			if d < -1 || d > 1 {
				break
			}
			if d == 0 && same == i-from {
				same++
			}
			i++
		}
		if n := i - from; n < heldNearly {
			i = from + max(1, same)
			if same < held {
				continue
			}
		}
		for c := from; c < i; c++ {
			a.cells[c].voiced = 0
		}
		looks := a.perCell / framesPerLook
		clear(a.periodic[from*looks : min(i*looks, len(a.periodic))])
	}
}

// middle is the noise floor in all bands together, in half decibels.
func (f noise) middle() float64 {
	var t tally
	for i := range f.block {
		t.add(total(f.block[i][:]), 1)
	}
	return float64(t.rank(0.5))
}

// masked is what noise hides of the ends of speech on the clearest channel:
// below is how many decibels, from the level at which speech ends in silence
// up to the noise.
type masked struct {
	levels []uint8
	floor  noise
	below  float64
}

const (
	reachSteps = 12   // steps over which a fading sound is averaged
	reachScore = 2.15 // how far the average must stand out of the noise,
	reachFall  = 0.05 // less by this for each decibel hidden,
	reachLeast = 1.2  // but at least so far
	reachMost  = 20   // steps that an end may move,
	reachBack  = 6    // and a start, which is seldom soft;
	startScore = 2.5  // what precedes it must stand out more
	holdFree   = 4    // decibels hidden that cost nothing yet
	holdShare  = 0.33 // steps for each further decibel
	holdMost   = 6.0  // steps
)

// hold moves the ends of stretches outwards over sound that fades into noise:
// first as far as an average over more steps still stands out, then by a
// little more for what is hidden altogether.
func (m masked) hold(talk []stretch, steps int) []stretch {
	hidden := max(0, m.below-holdFree)
	after := int(min(holdMost, holdShare*hidden) + 0.5)
	if hidden == 0 {
		return talk
	}
	score := max(reachLeast, reachScore-reachFall*hidden)
	for i := range talk {
		from, to := talk[i].from, talk[i].to
		for n := 0; n < reachMost && m.standsOut(to, to+reachSteps, score); n++ {
			to++
		}
		to += after
		for n := 0; n < reachBack && m.standsOut(from-reachSteps, from, startScore); n++ {
			from--
		}
		if i > 0 {
			from = max(from, talk[i-1].to+1)
		}
		if i+1 < len(talk) {
			to = min(to, (talk[i].to+talk[i+1].from)/2)
		}
		talk[i] = stretch{max(0, from), min(to, steps)}
	}
	return talk
}

// standsOut tells whether the steps from … to, taken together, are louder
// than the noise by at least score spreads.
func (m masked) standsOut(from, to int, score float64) bool {
	if from < 0 || to*bandCount > len(m.levels) {
		return false
	}
	// One step scatters 1/0.61 times as much as three smoothed ones.
	narrow := 1 / (0.61 * math.Sqrt(float64(to-from)))
	var sum float64
	for b := range bandCount {
		l := 0
		for s := from; s < to; s++ {
			l += int(m.levels[s*bandCount+b])
		}
		mean := float64(l) / float64(to-from)
		z := (mean - float64(m.floor.block[from/floorBlock][b])) / (m.floor.spread[b] * narrow)
		if z > 0.5 {
			sum += (z - 0.5) * (z - 0.5)
		}
	}
	return sum > score*score
}
