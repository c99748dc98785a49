package listen

import (
	"context"
	"errors"
	"io"
	"math"
)

// scanHop is the number of level frames in a second.
const scanHop = 50

// scanEdges are the band edges in Hz: about a third of an octave's width of
// voice energy each, without hum.
var scanEdges = [...]float64{250, 500, 900, 1500, 2300, 3400}

const scanBands = len(scanEdges) - 1

// bandLevels are a recording's band levels each 20 ms, in half decibels; 0 is
// digital silence.
type bandLevels [scanBands][]uint8

// frames is how many there are of each.
func (l *bandLevels) frames() int { return len(l[0]) }

// scan hears the whole recording once. done is told frames heard, now and then.
func (t *syncTrack) scan(ctx context.Context, done func(frames int64)) (*bandLevels, error) {
	if err := t.seek(0); err != nil {
		return nil, err
	}
	t.ready()
	s := newLevelScan(float64(t.rate) / float64(t.by))
	for b := range s.out {
		// The length is checked against what is there, but not by us.
		s.out[b] = make([]uint8, 0, min(t.frames/int64(t.rate)+2, 50*3600)*scanHop)
	}
	var mono []float64
	var sum float64
	left := t.by
	for {
		start, x, err := t.next(ctx)
		if errors.Is(err, io.EOF) {
			t.at = -1
			s.finish()
			return &s.out, nil
		}
		if err != nil {
			return nil, err
		}
		if len(x) == 0 {
			continue
		}
		src := x[0]
		if len(t.weights) > 1 {
			mono = append(mono[:0], x[0]...)
			t.mix(mono, x, 0)
			src = mono
		}
		sum, left = s.decimate(src, t.by, sum, left)
		s.take()
		done(start + int64(len(src)))
	}
}

// levelScan turns samples at about 8 kHz into levels.
type levelScan struct {
	rate  float64
	buf   []float64 // not yet used up
	first int64     // place of buf[0]
	n     int       // window
	fft   *spectrum
	hann  []float64
	x, p  []float64
	edges [scanBands + 1]int
	out   bandLevels
}

func newLevelScan(rate float64) *levelScan {
	s := &levelScan{rate: rate, n: 128}
	if rate > 10000 {
		s.n = 256
	}
	s.fft = newSpectrum(s.n)
	s.x, s.p, s.hann = make([]float64, s.n), make([]float64, s.n/2+1), make([]float64, s.n)
	for i := range s.hann {
		s.hann[i] = hann(2*(float64(i)+0.5)/float64(s.n) - 1)
	}
	for i, f := range scanEdges {
		s.edges[i] = min(s.n/2, int(math.Round(f*float64(s.n)/rate)))
	}
	return s
}

// decimate adds the mean of each by samples; sum and left carry over. The
// rough filter does for levels.
func (s *levelScan) decimate(x []float64, by int, sum float64, left int) (float64, int) {
	if by == 1 {
		s.buf = append(s.buf, x...)
		return 0, 1
	}
	g := 1 / float64(by)
	for i := 0; i < len(x); {
		if left == by && i+by <= len(x) {
			var v float64
			for _, y := range x[i : i+by] {
				v += y
			}
			s.buf = append(s.buf, v*g)
			i += by
			continue
		}
		sum += x[i]
		i++
		if left--; left == 0 {
			s.buf = append(s.buf, sum*g)
			sum, left = 0, by
		}
	}
	return sum, left
}

// take measures all whole windows there are. A window stands around its
// frame's time, whatever the rate.
func (s *levelScan) take() {
	for {
		at := int64(math.Round(float64(s.out.frames())*s.rate/scanHop)) - int64(s.n/2) - s.first
		if at+int64(s.n) > int64(len(s.buf)) {
			return
		}
		if at < 0 { // only at the beginning
			s.window(append(make([]float64, -at), s.buf[:int64(s.n)+at]...))
			continue
		}
		s.window(s.buf[at : at+int64(s.n)])
		if at > 1<<14 {
			s.buf = s.buf[:copy(s.buf, s.buf[at:])]
			s.first += at
		}
	}
}

// finish measures the last windows, filled up with silence.
func (s *levelScan) finish() {
	s.buf = append(s.buf, make([]float64, s.n/2)...)
	s.take()
}

func (s *levelScan) window(x []float64) {
	for i, h := range s.hann {
		s.x[i] = h * x[i]
	}
	s.fft.power(s.x, s.p)
	for b := range scanBands {
		var e float64
		for _, v := range s.p[s.edges[b]:max(s.edges[b], s.edges[b+1])] {
			e += v
		}
		s.out[b] = append(s.out[b], levelByte(e))
	}
}

// levelByte is a power in half decibels over −100 dB; 0 under it and for what
// is no number.
func levelByte(e float64) uint8 {
	v := 20*math.Log10(e) + 200
	if !(v >= 1) {
		return 0
	}
	return uint8(min(v, 255))
}
