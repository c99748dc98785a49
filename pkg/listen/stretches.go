package listen

import (
	"math"
	"slices"
)

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

// withVoice keeps what lies near a voice: near enough looks with one in
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
			window := stretch{max(s.from, (i-voicedWindow+1)*framesPerLook), min(s.to, (i+1)*framesPerLook)}
			if n < nearLooks || n < a.looksWanted(window) {
				continue
			}
			near := stretch{max(s.from, window.from-voicedReach), min(s.to, window.to+voicedReach)}
			if k := len(out); k > 0 && near.from <= out[k-1].to {
				out[k-1].to = max(out[k-1].to, near.to)
			} else {
				out = append(out, near)
			}
		}
	}
	return out
}

// looksWanted is how many voiced looks make a voice in a window.
func (a *analysis) looksWanted(window stretch) int {
	return int(slices.Min(a.wanted[window.from:window.to]))
}

// want lays out for each step how many voiced looks are wanted by the channel
// that wants the fewest.
func (a *analysis) want() {
	a.wanted = make([]uint8, a.steps())
	for c := range a.channels {
		h := &a.channels[c]
		var of [256]uint8
		for level := range of {
			of[level] = h.looksWanted(uint8(level))
		}
		for s := range a.wanted {
			if n := of[h.levels.total(s)]; c == 0 || n < a.wanted[s] {
				a.wanted[s] = n
			}
		}
	}
}

// looksWanted is how many voiced looks make a voice of a sound at a level: the
// fainter it is beside the loud talk, the more. What is faint is a room's answer, or
// people far off, more often than a person at the microphone.
func (h *hearing) looksWanted(level uint8) uint8 {
	under := (h.loud - float64(level)) / 2
	switch {
	case under < nearVoice:
		return uint8(h.near)
	case under < faintVoice:
		return voicedLooks
	}
	return uint8(voicedLooks + 1 + int(faintMore*(under-faintVoice)))
}

// talks tells whether voices are more than chance in a recording of noises.
func (a *analysis) talks() bool {
	n := 0
	for _, p := range a.periodic {
		if float64(p) >= voicedEnough*255 {
			n++
		}
	}
	return n >= talkLooks && float64(n) >= talkShare*float64(len(a.periodic))
}

// detect finds the speech on all channels together.
func (a *analysis) detect() []stretch {
	if a.steps() == 0 {
		return nil
	}
	score := make([]uint8, a.steps())
	row := score
	if len(a.channels) > 1 {
		row = make([]uint8, len(score))
	}
	a.dropTones()
	floors := make([]noise, len(a.channels))
	for c := range a.channels {
		h := &a.channels[c]
		floors[c], h.loud, h.near = firstFloor(h.levels), a.loudTalk(h.levels), voicedLooks
		if a.talks() && h.loud-floors[c].middle() > 2*clearTalk {
			h.near = nearLooks
		}
	}
	a.want()
	hidden := masked{below: math.Inf(1)}
	for c := range a.channels {
		lv := a.channels[c].levels
		floor, loud := floors[c], a.channels[c].loud
		for range 2 {
			clear(row)
			scores(row, lv, floor, loud)
			floor = secondFloor(lv, floor, a.find(row, true))
		}
		if len(a.channels) == 1 {
			clear(score)
		}
		scores(score, lv, floor, loud)
		if below := floor.middle()/2 - (loud/2 - belowPeak); below < hidden.below {
			hidden = masked{levels: lv, floor: floor, below: below, least: leastOf(loud)}
		}
	}
	talk := a.find(score, true)
	fall := hidden.fastestFall(talk)
	room := fall > 0 && fall < fallRoom
	talk = hidden.settle(talk, len(score), room)
	if room {
		talk = a.withoutTails(talk, fall, floors)
	}
	return talk
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
