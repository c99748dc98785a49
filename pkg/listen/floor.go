package listen

// Constants of the noise floor, tuned as those of speech.go and on talk without
// pauses in rooms (TestMonologues).
const (
	floorBlock  = 50   // steps for which one noise floor holds: 0.5 s
	floorReach  = 16   // blocks before and after that the first floor is taken from
	floorRank   = 0.12 // part of all steps below it,
	floorOver   = 1.9  // smoothed spreads (1.2 of single steps) under the middle of the noise
	farReach    = 120  // the same where the talk leaves no pauses
	farRank     = 0.02 // in that time
	farOver     = 3.4
	steadyNear  = 24  // eighths of a decibel about the floor within which noise stays
	steadySteps = 15  // for so many steps at least,
	steadyPart  = 0.1 // if so many of the low steps do so it is noise
	steadyEvery = 8   // blocks that are looked at together
	floorRise   = 12  // half decibels that the second floor may lie over the first
	mostSpread  = 4   // times that of stationary noise: so far levels of a restless room scatter
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
// that many gaps (after Martin 2001, with a rank instead of a minimum). Talk that
// goes on in a room for longer has no gaps down to the noise: there the level so
// found isn't steady, and a lower rank over a longer time is taken.
func firstFloor(lv *levels) noise {
	near, far := floorWithin(lv, floorReach, floorRank, floorOver), floorWithin(lv, farReach, farRank, farOver)
	for k := 0; k < len(near.block); k += steadyEvery {
		group := near.block[k:min(len(near.block), k+steadyEvery)]
		middle := k + len(group)/2
		if lv.steady(middle, group[len(group)/2]) {
			continue
		}
		for i := range group {
			for b := range bandCount {
				group[i][b] = min(group[i][b], far.block[k+i][b])
			}
		}
	}
	return near
}

// steady tells whether sound about a block stays near a level, as noise does; the
// low places between syllables are passed through.
func (l *levels) steady(block int, level [bandCount]uint8) bool {
	middle := 4 * int(total(level[:]))
	low, stays, run := 0, 0, 0
	for s := max(0, block-floorReach) * floorBlock; s < min(l.steps, (block+floorReach+1)*floorBlock); s++ {
		over := l.smooth(s) - middle
		if over <= steadyNear {
			low++
		}
		if over < -steadyNear || over > steadyNear {
			run = 0
			continue
		}
		switch run++; {
		case run == steadySteps:
			stays += steadySteps
		case run > steadySteps:
			stays++
		}
	}
	return float64(stays) >= steadyPart*float64(low)
}

// floorWithin is for each block and band the level of noise under which the
// part rank of the steps within reach blocks lies; the rank lies over unsmoothed
// spreads under the middle of the noise.
func floorWithin(lv *levels, reach int, rank, over float64) noise {
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
	for k := range min(reach, blocks) {
		count(k, 1)
	}
	for k := range blocks {
		count(k+reach, 1)
		count(k-reach-1, -1)
		for b := range bandCount {
			f.block[k][b] = uint8(min(255, float64(t[b].rank(rank))+over*bandSpread[b]))
		}
	}
	return f
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
			f.block[k][b] = uint8(min(int(f.block[k][b]), int(first.block[k][b])+floorRise))
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
// lie from their floor, at least that of stationary noise, at most mostSpread times that.
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
		out[b] = max(bandSpread[b], min(float64(t[b].rank(0.68))/8, mostSpread*bandSpread[b]))
	}
	return out
}

// quietSteps is what lies at least 100 ms away from talk.
func quietSteps(steps int, talk []stretch) []stretch { return awayFrom(steps, talk, 10) }

// awayFrom is what lies at least away steps from talk.
func awayFrom(steps int, talk []stretch, away int) []stretch {
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
