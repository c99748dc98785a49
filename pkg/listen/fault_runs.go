package listen

import (
	"cmp"
	"math"
	"slices"

	"rushlight/pkg/sound"
)

// faultRuns finds samples in a row that hardly differ or don't at all: tops
// cut flat, dropouts, stuck samples.
type faultRuns struct {
	lsb   float64 // one step of the file's integers, 0 for floats
	full  float64 // at or above this is full scale; +Inf for floats
	least int     // samples of a dropout
	long  int     // samples of a top that no voice has, and of a hole that no codec leaves

	last       float64
	near, same int     // steps without a break that are small, or none
	before     float64 // level before the present run of equal samples
	seen       bool

	tops     [2][]faultTop   // of the present second, upper and lower
	ceilings [2]faultCeiling // what they are held against
	clipped  faultList
	dropouts faultList
	stuck    faultList
	// gone are zeros beside something softer than soundLevel: dropouts if the
	// channel is never silent elsewhere.
	gone faultList
}

const (
	flatPart   = 0.001  // of the level: samples of a flat top differ by less
	flatLeast  = 0.03   // tops below −30 dBFS are left alone
	flatLikely = 4.0    // times flatter than a parabola through the shoulders
	flatHold   = 128    // tops of a second that are kept
	soundLevel = 0.0045 // −47 dBFS: something is on
	noiseLevel = 3e-5   // −90 dBFS: less than that isn't noise
)

func newFaultRuns(info sound.Info) faultRuns {
	rate := int64(info.SampleRate)
	r := faultRuns{
		full: math.Inf(1), least: max(8, info.SampleRate/2000), long: max(8, info.SampleRate/200),
		clipped: faultList{gap: 2 * rate}, dropouts: faultList{gap: rate}, stuck: faultList{gap: rate}, gone: faultList{gap: rate},
	}
	if !info.Float {
		valid := info.ValidBits
		if valid == 0 {
			valid = info.Bits
		}
		if valid > 1 && valid <= 64 {
			r.lsb = math.Ldexp(1, 1-valid)
			r.full = 1 - 1.01*r.lsb
		}
	}
	return r
}

// look goes over e.buf[from:to], whose highest and lowest samples are given.
func (r *faultRuns) look(e *faultEar, from, to int, high, low float64) {
	peak := math.Max(high, -low)
	eps := math.Max(1.01*r.lsb, flatPart*peak)
	last, near, same := r.last, r.near, r.same
	if !r.seen {
		last, r.seen = math.Inf(1), true
	}
	for i, v := range e.buf[from:to] {
		d := v - last
		switch {
		case d == 0:
			near++
			if same++; same == r.least {
				start := from + i - same
				r.before = e.acLevel(start-r.window(e), start)
			}
		case d <= eps && d >= -eps:
			near++
			if same >= r.least {
				r.endSame(e, from+i, same+1, last)
			}
			same = 0
		default:
			if near >= 2 && math.Abs(last) >= flatLeast {
				r.endNear(e, from+i, near+1, peak)
			}
			if same >= r.least {
				r.endSame(e, from+i, same+1, last)
			}
			near, same = 0, 0
		}
		last = v
	}
	r.last, r.near, r.same = last, near, same
}

// window is how many samples beside a run tell whether there is sound: 4 ms.
func (r *faultRuns) window(e *faultEar) int { return max(4, e.step*2/5) }

// endNear judges n samples before end that hardly differ.
func (r *faultRuns) endNear(e *faultEar, end, n int, peak float64) {
	start := end - n
	if start < 2 || end+1 >= len(e.buf) {
		return
	}
	run := e.buf[start:end]
	lo, hi, full := run[0], run[0], 0
	for _, v := range run {
		lo, hi = math.Min(lo, v), math.Max(hi, v)
		if math.Abs(v) >= r.full {
			full++
		}
	}
	sign, side := 1.0, 0
	if lo < 0 {
		sign, side = -1, 1
	}
	level := math.Max(math.Abs(lo), math.Abs(hi))
	if full < clipRun {
		if level < 0.9*peak {
			return
		}
		// A parabola through both shoulders would fall this much from the
		// middle of the run to its ends.
		drop := math.Min(level-sign*e.buf[start-2], level-sign*e.buf[end+1])
		part := float64(n-1) / float64(n+3)
		if drop*part*part < flatLikely*math.Max(hi-lo, 1.01*r.lsb) {
			return
		}
	}
	if len(r.tops[side]) < flatHold {
		r.tops[side] = append(r.tops[side], faultTop{from: e.base + int64(start), n: n, level: level, full: full >= clipRun})
	}
}

// second ends a second for the flat tops.
func (r *faultRuns) second(e *faultEar) {
	for side, highest := range [2]float64{e.levels.high, -e.levels.low} {
		r.ceilings[side].second(r.tops[side], highest, e.rate, &r.clipped)
		r.tops[side] = r.tops[side][:0]
	}
}

// endSame judges n equal samples before end.
func (r *faultRuns) endSame(e *faultEar, end, n int, value float64) {
	w := r.window(e)
	if n > faultHole*int(e.rate)+2*e.step*100 { // two seconds may be broken: the whole ones between are a dead channel's
		return
	}
	p := faultPlace{from: e.base + int64(end-n), to: e.base + int64(end), n: 1, size: int64(n), value: float64(n)}
	if beside := math.Min(r.before, e.acLevel(end, end+w)); beside < math.Max(soundLevel, 6*r.lsb) {
		if value == 0 && n >= r.long && beside >= r.noise() {
			r.gone.add(p)
		}
		return
	}
	if math.Abs(value) >= r.full {
		if end-n < 2 { // longer than what is kept, so that endNear left it
			r.clipped.add(faultTop{from: e.base + int64(end-n), n: n, level: math.Abs(value)}.place())
		}
		return
	}
	if value == 0 {
		r.dropouts.add(p)
		return
	}
	if n < r.long && r.isTop(e, end, n, value) {
		return
	}
	r.stuck.add(p)
}

// noise is the least level of noise in which zeros don't come in a row by
// chance.
func (r *faultRuns) noise() float64 { return math.Max(noiseLevel, 6*r.lsb) }

// finish takes zeros in soft places for dropouts, unless the channel's own
// silence, at floor dBFS, is as deep: what a gate or a codec shut is no fault.
func (r *faultRuns) finish(floor float64) {
	if floor < dbOf(r.noise()) {
		return
	}
	all := append(slices.Clone(r.dropouts.places), r.gone.places...)
	slices.SortFunc(all, func(a, b faultPlace) int { return cmp.Compare(a.from, b.from) })
	r.dropouts.places = nil
	for _, p := range all {
		r.dropouts.add(p)
	}
}

// isTop tells whether equal samples are the flat top of a clipped wave rather
// than a value that was held.
func (r *faultRuns) isTop(e *faultEar, end, n int, value float64) bool {
	start := end - n
	if start < 2 || end+1 >= len(e.buf) {
		return false
	}
	level := math.Abs(value)
	for _, v := range []float64{e.buf[start-1], e.buf[start-2], e.buf[end], e.buf[end+1]} {
		if v*value > 0 && math.Abs(v) > level {
			return false
		}
	}
	for _, v := range e.buf[max(0, start-e.step):min(len(e.buf), end+e.step)] {
		if math.Abs(v) > level/0.9 {
			return false
		}
	}
	return true
}
