package listen

import (
	"math"
	"slices"
)

// decimator brings one channel down to the analysis rate, 8 to 16 kHz, in two
// steps: a short triple-boxcar filter (three moving averages in one, good
// enough for levels: images at least 28 dB down) and a half-band filter.
type decimator struct {
	first, second stage
	mid           []float64
}

// stage is one FIR filter that keeps each r-th output.
type stage struct {
	r    int
	taps []float64
	// hist holds the samples not yet used up, oldest first.
	hist []float64
}

// analysisRate is the rate that speech is looked for at, with its divisor.
func analysisRate(rate int) (hz float64, by int) {
	by = 1
	if rate >= 16000 {
		by = rate / 8000 &^ 1
	}
	return float64(rate) / float64(by), by
}

func newDecimator(by int) *decimator {
	d := &decimator{}
	if by < 2 {
		return d
	}
	if r := by / 2; r > 1 {
		box := make([]float64, r)
		for i := range box {
			box[i] = 1 / float64(r)
		}
		d.first = stage{r: r, taps: convolve(convolve(box, box), box)}
	}
	// 18 taps, Hamming-windowed, −6 dB just under a quarter of its rate.
	const n = 18
	t := make([]float64, n)
	var sum float64
	for i := range t {
		x := float64(i) - (n-1)/2.0
		t[i] = math.Sin(math.Pi*x*0.48) / (math.Pi * x) * (0.54 + 0.46*math.Cos(2*math.Pi*x/n))
		sum += t[i]
	}
	for i := range t {
		t[i] /= sum
	}
	d.second = stage{r: 2, taps: t}
	return d
}

func convolve(a, b []float64) []float64 {
	out := make([]float64, len(a)+len(b)-1)
	for i, x := range a {
		for j, y := range b {
			out[i+j] += x * y
		}
	}
	return out
}

// feed appends the decimated form of x to dst.
func (d *decimator) feed(dst, x []float64) []float64 {
	if d.second.r == 0 {
		return append(dst, x...)
	}
	if d.first.r == 0 {
		return d.second.feed(dst, x)
	}
	d.mid = d.first.feed(d.mid[:0], x)
	return d.second.feed(dst, d.mid)
}

func (s *stage) feed(dst, x []float64) []float64 {
	s.hist = append(s.hist, x...)
	n := len(s.taps)
	if len(s.hist) < n {
		return dst
	}
	count := (len(s.hist)-n)/s.r + 1
	from := len(dst)
	dst = slices.Grow(dst, count)[:from+count]
	if n == 7 && s.r == 3 {
		s.third(dst[from:])
	} else {
		s.any(dst[from:])
	}
	s.hist = s.hist[:copy(s.hist, s.hist[count*s.r:])]
	return dst
}

// any writes outputs for any filter with symmetric taps.
func (s *stage) any(out []float64) {
	n := len(s.taps)
	half := s.taps[:n/2]
	for i := range out {
		w := s.hist[i*s.r : i*s.r+n : i*s.r+n]
		var a, b float64
		k := 0
		for ; k+1 < len(half); k += 2 {
			a += half[k] * (w[k] + w[n-1-k])
			b += half[k+1] * (w[k+1] + w[n-2-k])
		}
		if k < len(half) {
			a += half[k] * (w[k] + w[n-1-k])
		}
		if n%2 == 1 {
			b += s.taps[n/2] * w[n/2]
		}
		out[i] = a + b
	}
}

// third is any, by hand for the common case of 48 kHz.
func (s *stage) third(out []float64) {
	t0, t1, t2, t3 := s.taps[0], s.taps[1], s.taps[2], s.taps[3]
	h := s.hist
	for i := range out {
		w := (*[7]float64)(h)
		out[i] = t0*(w[0]+w[6]) + t1*(w[1]+w[5]) + (t2*(w[2]+w[4]) + t3*w[3])
		h = h[3:]
	}
}
