package listen

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
		from, strong := s, 0
		for ; s < len(score) && float64(score[s]) >= leaveScore*scoreScale; s++ {
			if float64(score[s]) >= enterScore*scoreScale {
				strong++
			}
		}
		weak = append(weak, stretch{from, s})
		core = append(core, strong >= coreSteps)
	}
	out := join(attach(weak, core))
	n := 0
	for _, s := range out {
		if s.to-s.from >= shortest && (!voice || a.hasVoice(s)) {
			out[n] = s
			n++
		}
	}
	return out[:n]
}

// attach keeps the stretches with a core, and those of at least 30 ms that lie
// close to one.
func attach(weak []stretch, core []bool) []stretch {
	keep := make([]bool, len(weak))
	copy(keep, core)
	near := func(i, j int) bool {
		return keep[j] && weak[i].to-weak[i].from >= 3 && max(weak[i].from-weak[j].to, weak[j].from-weak[i].to) < attachGap
	}
	for i := 1; i < len(weak); i++ {
		keep[i] = keep[i] || near(i, i-1)
	}
	for i := len(weak) - 2; i >= 0; i-- {
		keep[i] = keep[i] || near(i, i+1)
	}
	var out []stretch
	for i, s := range weak {
		if keep[i] {
			out = append(out, s)
		}
	}
	return out
}

// join closes gaps too short to be a pause.
func join(in []stretch) []stretch {
	var out []stretch
	for _, s := range in {
		if n := len(out); n > 0 && s.from-out[n-1].to < shortestGap {
			out[n-1].to = s.to
			continue
		}
		out = append(out, s)
	}
	return out
}

func (a *analysis) hasVoice(s stretch) bool {
	n := 0
	for i := s.from / framesPerLook; i < min(len(a.periodic), s.to/framesPerLook+1); i++ {
		if float64(a.periodic[i]) >= voicedEnough*255 {
			n++
		}
	}
	return n >= voicedLooks
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
	for c := range a.channels {
		lv := a.channels[c].levels
		loud := a.loudTalk(lv)
		floor := firstFloor(lv)
		for range 2 {
			clear(row)
			scores(row, lv, floor, loud)
			floor = secondFloor(lv, floor, a.find(row, true))
		}
		scores(score, lv, floor, loud)
		if len(a.channels) == 1 {
			clear(score)
			scores(score, lv, floor, loud)
		}
	}
	return a.find(score, true)
}
