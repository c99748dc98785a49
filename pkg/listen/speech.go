package listen

import (
	"math"
)

// Constants of the search for speech, tuned on real voices with pink noise
// (TestEdges) and checked on real meetings (TestMeetings).
const (
	enterScore   = 6    // a stretch needs steps this far out of the noise
	leaveScore   = 1.4  // and reaches as far as its steps stay above this
	coreSteps    = 5    // steps above enterScore in a stretch of speech
	voicedEnough = 0.43 // periodicity of a voiced look
	voicedLooks  = 3    // voiced looks that make a voice,
	voicedWindow = 13   // among so many (260 ms);
	nearVoice    = 4.0  // dB under the loud talk down to which
	nearLooks    = 2    // so many are enough, if it is clear of the noise
	clearTalk    = 18.0 // by so many dB and the recording has so many voiced
	talkLooks    = 25   // looks, and so many
	talkShare    = 0.02 // of all,
	faintVoice   = 14.0 // and from which on one more is needed,
	faintMore    = 0.7  // and so many more for each decibel;
	voicedReach  = 30   // speech lies within so many steps of it
	belowPeak    = 45.0 // dB under the loud speech at which speech ends
	shortestGap  = 20   // steps: a shorter gap does not end a stretch
	attachScore  = 3.5  // a weak stretch near another needs steps this far out
	attachSteps  = 3    // and so many of them
	attachGap    = 20   // steps to a weak stretch that still belongs to it
	held         = 5    // cells on one pitch are a tone, not a voice,
	heldNearly   = 10   // or so many within a step of 1/40 octave of the first
	shortest     = 8    // steps: a shorter stretch is not speech
)

// scores says for each step how far the sound stands out of the noise, in
// spreads over all bands; 0 where it is more than belowPeak under loud talk.
func scores(dst []uint8, lv *levels, f noise, loud float64) {
	steps := lv.steps
	least := leastOf(loud)
	for s := range steps {
		var sum float64
		prev, now, next := lv.at(max(s-1, 0)), lv.at(s), lv.at(min(s+1, steps-1))
		fl := &f.block[s/floorBlock]
		for b := range bandCount {
			l := float64(prev[b]) + 2*float64(now[b]) + float64(next[b])
			if z := (l/4-float64(fl[b]))/f.spread[b] - 0.5; z > 0 {
				sum += z * z
			}
		}
		if total(now[:]) < least {
			sum = 0
		}
		v := uint8(min(255, math.Sqrt(sum)*scoreScale))
		dst[s] = max(dst[s], v)
	}
}

const scoreScale = 8

// loudTalk is the level that voiced sound seldom passes, in half decibels.
func (a *analysis) loudTalk(lv *levels) float64 {
	var voiced, all tally
	for s := range lv.steps {
		t := lv.total(s)
		if t == 0 {
			continue
		}
		all.add(t, 1)
		if i := s / framesPerLook; i < len(a.periodic) && float64(a.periodic[i]) >= voicedEnough*255 {
			voiced.add(t, 1)
		}
	}
	if voiced.n >= 20 {
		return float64(voiced.rank(0.98))
	}
	return float64(all.rank(0.98))
}

// stretch is a range of steps, to excluded.
type stretch struct{ from, to int }
