package listen

import (
	"math"
)

// Constants of the search for speech, tuned on real voices with pink noise
// (TestEdges) and checked on real meetings (TestMeetings).
const (
	floorBlock   = 50   // steps for which one noise floor holds: 0.5 s
	floorReach   = 16   // blocks before and after that the first floor is taken from
	floorRank    = 0.12 // part of all steps below the first floor
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

// noise is the floor of one channel: for each block and band a level, and for
// each band how far levels scatter about it, in half decibels.
type noise struct {
	block  [][bandCount]uint8
	spread [bandCount]float64
}

// bandSpread is how far the level of stationary noise scatters in each band
// over 10 ms, after smoothing over three steps, in half decibels: 4.34·√(2/n)
// dB for n = 2·bandwidth·time independent values, times 0.61.
var bandSpread = [bandCount]float64{2.8, 2.4, 1.7, 1.2}

// firstFloor takes a low rank of the levels about each block: most talk has
// that many gaps (after Martin 2001, with a rank instead of a minimum).
func firstFloor(lv *levels) noise {
	blocks := (lv.steps + floorBlock - 1) / floorBlock
	f := noise{block: make([][bandCount]uint8, blocks), spread: bandSpread}
	var t bandTally
	count := func(block int, by int32) {
		if block < 0 || block >= blocks {
			return
		}
		for s := block * floorBlock; s < min(lv.steps, (block+1)*floorBlock); s++ {
			t.add(lv.at(s), by)
		}
	}
	for k := range min(floorReach, blocks) {
		count(k, 1)
	}
	for k := range blocks {
		count(k+floorReach, 1)
		count(k-floorReach-1, -1)
		for b := range bandCount {
			// The rank lies about 1.2 unsmoothed spreads under the middle.
			f.block[k][b] = uint8(min(255, float64(t[b].rank(floorRank))+1.9*bandSpread[b]))
		}
	}
	return f
}

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

// secondFloor takes the middle of the levels away from the speech found
// first, within 5 s, else 20 s, else anywhere; where there is none, the first
// floor stays.
func secondFloor(lv *levels, first noise, talk []stretch) noise {
	quiet := quietSteps(lv.steps, talk)
	f := noise{block: make([][bandCount]uint8, len(first.block))}
	near, far := slide{levels: lv, quiet: quiet, reach: 10}, slide{levels: lv, quiet: quiet, reach: 40}
	var every bandTally
	for _, q := range quiet {
		for s := q.from; s < q.to; s++ {
			every.add(lv.at(s), 1)
		}
	}
	for k := range f.block {
		near.to(k)
		far.to(k)
		for b := range bandCount {
			const enough = 50
			switch {
			case near.t[b].n >= enough:
				f.block[k][b] = calm(&near.t[b], b)
			case far.t[b].n >= enough:
				f.block[k][b] = calm(&far.t[b], b)
			case every[b].n >= enough:
				f.block[k][b] = calm(&every[b], b)
			default:
				f.block[k][b] = first.block[k][b]
			}
		}
	}
	f.spread = spread(lv, quiet, f.block)
	return f
}

// calm is the level of the noise in band b among quiet steps: their middle,
// but not far above the quieter of them, for in a room much of what is quiet
// is the room's answer to the talk.
func calm(quiet *tally, b int) uint8 {
	const rank, over = 0.2, 4 / 0.61 // in spreads of single steps
	return uint8(min(255, float64(quiet.rank(0.5)), float64(quiet.rank(rank))+over*bandSpread[b]))
}

// spread is for each band the two-thirds rank of how far smoothed quiet levels
// lie from their floor, at least that of stationary noise and at most twice.
func spread(lv *levels, quiet []stretch, floor [][bandCount]uint8) (out [bandCount]float64) {
	var t bandTally
	for _, q := range quiet {
		for s := q.from + 1; s < q.to-1; s++ {
			prev, now, next, fl := lv.at(s-1), lv.at(s), lv.at(s+1), &floor[s/floorBlock]
			for b := range bandCount {
				l := (int(prev[b]) + 2*int(now[b]) + int(next[b])) * 2
				d := l - 8*int(fl[b])
				t[b].add(uint8(min(255, max(d, -d))), 1)
			}
		}
	}
	for b := range bandCount {
		out[b] = max(bandSpread[b], min(float64(t[b].rank(0.68))/8, 2*bandSpread[b]))
	}
	return out
}

// stretch is a range of steps, to excluded.
type stretch struct{ from, to int }

// quietSteps is what lies at least 100 ms away from talk.
func quietSteps(steps int, talk []stretch) []stretch {
	const away = 10
	out := make([]stretch, 0, len(talk)+1)
	at := 0
	for _, t := range append(talk[:len(talk):len(talk)], stretch{steps + away, steps + away}) {
		if end := min(t.from-away, steps); end > at {
			out = append(out, stretch{at, end})
		}
		at = max(at, t.to+away)
	}
	return out
}

// slide is a tally of quiet steps in a window that moves over the blocks.
type slide struct {
	t      bandTally
	levels *levels
	quiet  []stretch
	reach  int // blocks before and after
	lo, hi int // counted: quiet steps in [lo, hi)
	il, ih int // index into quiet
}

func (w *slide) to(block int) {
	w.count(&w.hi, &w.ih, (block+w.reach+1)*floorBlock, 1)
	w.count(&w.lo, &w.il, (block-w.reach)*floorBlock, -1)
}

func (w *slide) count(at, i *int, end int, by int32) {
	for *i < len(w.quiet) {
		q := w.quiet[*i]
		from, to := max(*at, q.from), min(end, q.to)
		for s := from; s < to; s++ {
			w.t.add(w.levels.at(s), by)
		}
		if end < q.to {
			break
		}
		*i++
	}
	*at = max(*at, end)
}
