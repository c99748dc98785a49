package listen

// In a room with a long answer what is heard after the last sound is the
// room's, not speech, and short silences drown in it. How long it is shows in
// how fast levels fall at their fastest: in a room they can't fall faster than
// the room lets them (common practice for measuring a room by its speech, no
// source). Constants chosen on the English dialogues of TestActivityCorpus. The falls
// of five voices at 30 to 10 dB were 310 to 630 dB a second in dry sound, 240 to
// 310 in a room of 0.3 s, 200 to 250 in one of 0.4 s and 150 to 180 in one of
// 0.8 s; those of meetings 390 to 600.
const (
	fallSteps  = 5       // steps over which a fall is measured,
	fallOver   = 30      // half decibels over the noise from which it must begin,
	fallRank   = 0.97    // part of all falls that are slower than the fastest
	fallEnough = 500     // falls needed
	fallRoom   = 250     // dB a second: where levels fall faster there is no long room
	tailFade   = 0.00065 // of the fastest fall: how fast the last loud sound is forgotten
	tailUnder  = 42      // half decibels under it at which a tail is not speech
)

// smooth is the level at a step with its neighbours, in eighths of a decibel.
func (l *levels) smooth(s int) int {
	return int(l.total(max(s-1, 0))) + 2*int(l.total(s)) + int(l.total(min(s+1, l.steps-1)))
}

// fastestFall is how fast levels fall in talk at their fastest, in dB a
// second; 0 if there are too few falls from well over the noise to tell.
func (m masked) fastestFall(talk []stretch) float64 {
	var falls tally // in quarters of a decibel
	for _, t := range talk {
		for s := t.from + 1; s < min(t.to, m.levels.steps-fallSteps-1); s++ {
			high := m.levels.smooth(s)
			if high < 4*(int(total(m.floor.block[s/floorBlock][:]))+fallOver) {
				continue
			}
			if fall := high - m.levels.smooth(s+fallSteps); fall > 0 {
				falls.add(uint8(min(255, fall/2)), 1)
			}
		}
	}
	if falls.n < fallEnough {
		return 0
	}
	return float64(falls.rank(fallRank)) / 4 * 100 / fallSteps
}

// withoutTails takes the tails of a long room off the ends of talk, and cuts it
// where one lasts for shortestGap or longer; fall is the fastest, in dB a second.
func (a *analysis) withoutTails(talk []stretch, fall float64, floors []noise) []stretch {
	tail := a.tails(talk, floors, fall*tailFade*8)
	var out []stretch
	for _, t := range talk {
		from, begun := t.from, -1
		for s := t.from; s < t.to; s++ {
			switch {
			case tail.has(s) && begun < 0:
				begun = s
			case !tail.has(s):
				if begun >= 0 && s-begun >= shortestGap {
					out = append(out, stretch{from, begun})
					from = s
				}
				begun = -1
			}
		}
		if begun < 0 {
			begun = t.to
		}
		out = append(out, stretch{from, begun})
	}
	return out
}

// tails marks the steps of talk that lie far under the last loud sound on each
// channel that had one; fade is in eighths of a decibel for each step.
func (a *analysis) tails(talk []stretch, floors []noise, fade float64) marks {
	low, fresh := newMarks(a.steps()), newMarks(a.steps())
	for c := range a.channels {
		lv, least := a.channels[c].levels, 4*(floors[c].middle()+tailUnder)
		for _, t := range talk {
			top := 0.0
			for s := t.from; s < t.to; s++ {
				now := float64(lv.smooth(s))
				top = max(top-fade, now)
				switch {
				case top < least: // nothing loud was heard here
				case now < top-4*tailUnder:
					low.set(s)
				default:
					fresh.set(s)
				}
			}
		}
	}
	for i := range low {
		low[i] &^= fresh[i]
	}
	return low
}
