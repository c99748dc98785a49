package listen

import "math"

// faultSlow brings a channel down to about 2 kHz, where hum and rumble are.
type faultSlow struct {
	by   int
	taps []float64
	hist []float64
	out  []float64
}

// faultLowPass is a Hamming-windowed low-pass for one sample in by: six
// periods of the low rate long, so that what folds down is 40 dB under.
func faultLowPass(by int) []float64 {
	if by < 2 {
		return []float64{1}
	}
	n := 6*by + 1
	t := make([]float64, n)
	var sum float64
	for i := range t {
		x := float64(i-3*by) / float64(by)
		s := 0.8
		if x != 0 {
			s = math.Sin(math.Pi*0.8*x) / (math.Pi * x)
		}
		t[i] = s * (0.54 + 0.46*math.Cos(math.Pi*x/3))
		sum += t[i]
	}
	for i := range t {
		t[i] /= sum
	}
	return t
}

func (s *faultSlow) feed(x []float64) {
	s.hist = append(s.hist, x...)
	at, n := 0, len(s.taps)
	for ; at+n <= len(s.hist); at += s.by {
		w, t := s.hist[at:at+n], s.taps[:n]
		var a, b float64
		i := 0
		for ; i+1 < n; i += 2 {
			a += w[i] * t[i]
			b += w[i+1] * t[i+1]
		}
		if i < n {
			a += w[i] * t[i]
		}
		s.out = append(s.out, a+b)
	}
	at = min(at, len(s.hist))
	s.hist = s.hist[:copy(s.hist, s.hist[at:])]
}
