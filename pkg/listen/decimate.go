package listen

import "math"

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
	h, at := s.hist, 0
	if len(s.taps) == 7 { // the case of 48 kHz, by hand
		t0, t1, t2, t3 := s.taps[0], s.taps[1], s.taps[2], s.taps[3]
		for ; at+7 <= len(h); at += s.r {
			w := h[at : at+7 : at+7]
			dst = append(dst, t0*(w[0]+w[6])+t1*(w[1]+w[5])+t2*(w[2]+w[4])+t3*w[3])
		}
	} else {
		n := len(s.taps)
		for ; at+n <= len(h); at += s.r {
			w := h[at : at+n : at+n]
			var a, b float64
			i := 0
			for ; i+1 < len(w) && i+1 < len(s.taps); i += 2 {
				a += w[i] * s.taps[i]
				b += w[i+1] * s.taps[i+1]
			}
			if i < len(w) {
				a += w[i] * s.taps[i]
			}
			dst = append(dst, a+b)
		}
	}
	s.hist = s.hist[:copy(s.hist, s.hist[at:])]
	return dst
}
