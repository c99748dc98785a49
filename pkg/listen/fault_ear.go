package listen

import (
	"math"

	"rushlight/pkg/sound"
)

// faultEar listens for faults on one channel: runs and levels at the full
// rate, hum and rumble at the low one.
type faultEar struct {
	rate int64
	step int // samples in 10 ms
	// buf holds 20 ms that were looked at, then what wasn't yet; at least
	// 10 ms are kept back, so that there is always something after a place.
	buf  []float64
	base int64 // sample number of buf[0]
	next int   // first of buf not looked at

	runs   faultRuns
	levels faultLevels
	slow   faultSlow
	hum    *faultHum
	rumble faultRumble
}

func newFaultEar(info sound.Info, by int, taps []float64) *faultEar {
	e := &faultEar{rate: int64(info.SampleRate), step: max(1, info.SampleRate/100)}
	e.slow = faultSlow{by: by, taps: taps}
	lowHz := float64(info.SampleRate) / float64(by)
	e.hum = newFaultHum(lowHz, int64(by))
	e.rumble = newFaultRumble(lowHz, int64(by), e.rate)
	e.levels = newFaultLevels(e.rate)
	e.runs = newFaultRuns(info)
	return e
}

// feed takes samples; what is no number counts as 0, what is beyond +80 dBFS
// as that.
func (e *faultEar) feed(x []float64) {
	was := len(e.buf)
	e.buf = append(e.buf, x...)
	for i, v := range e.buf[was:] {
		if !(math.Abs(v) <= meterLoudest) {
			v = math.Max(-meterLoudest, math.Min(meterLoudest, v))
			if v != v {
				v = 0
			}
			e.buf[was+i] = v
		}
	}
	e.slow.feed(e.buf[was:])
	for e.next+2*e.step <= len(e.buf) {
		e.look(e.next + e.step)
	}
	if drop := e.next - 2*e.step; drop > 0 {
		e.buf = e.buf[:copy(e.buf, e.buf[drop:])]
		e.base += int64(drop)
		e.next -= drop
	}
}

// look goes over the samples up to index to.
func (e *faultEar) look(to int) {
	x := e.buf[e.next:to]
	var sum, square float64
	high, low := x[0], x[0]
	for _, v := range x {
		sum += v
		square += v * v
		if v > high {
			high = v
		}
		if v < low {
			low = v
		}
	}
	e.runs.look(e, e.next, to, high, low)
	e.levels.add(len(x), sum, square, high, low, e.base+int64(to))
	e.next = to
	if e.levels.secondOver {
		e.runs.second(e)
		e.levels.closeSecond()
	}
}

func (e *faultEar) finish() {
	for e.next < len(e.buf) {
		e.look(min(len(e.buf), e.next+e.step))
	}
	e.runs.second(e)
	e.levels.finish()
	e.runs.finish(e.levels.floor())
}

// spectrum takes the transform of one window of low-rate sound that begins at
// low-rate sample from.
func (e *faultEar) spectrum(s *spectrum, from int64) {
	p := e.hum.row()
	for k := range p {
		if k == 0 {
			continue
		}
		re, im := s.unpack(k)
		p[k] = float32(re*re + im*im)
	}
	e.rumble.window(p, from)
	e.hum.closeRow(from)
}

// acLevel is the RMS of buf[from:to] about its own mean; 0 where that lies
// outside of what is kept.
func (e *faultEar) acLevel(from, to int) float64 {
	if from < 0 || to > len(e.buf) || from >= to {
		return 0
	}
	var sum, square float64
	for _, v := range e.buf[from:to] {
		sum += v
	}
	mean := sum / float64(to-from)
	for _, v := range e.buf[from:to] {
		square += (v - mean) * (v - mean)
	}
	return math.Sqrt(square / float64(to-from))
}
