package listen

import (
	"math"
	"math/bits"
)

// spectrum turns real windows of a fixed power-of-two length into power
// spectra. Not safe for concurrent use.
type spectrum struct {
	n        int
	re, im   []float64
	cos, sin []float64 // of 2πk/n, k < n/2
	swap     []int
}

func newSpectrum(n int) *spectrum {
	h := n / 2
	s := &spectrum{n: n, re: make([]float64, h), im: make([]float64, h), cos: make([]float64, h), sin: make([]float64, h), swap: make([]int, h)}
	shift := 64 - bits.Len(uint(h-1))
	for k := range h {
		s.sin[k], s.cos[k] = math.Sincos(2 * math.Pi * float64(k) / float64(n))
		s.swap[k] = int(bits.Reverse64(uint64(k)) >> shift)
	}
	return s
}

// transform leaves the transform of even and odd samples of x (length n),
// taken as a complex sequence of half the length, in s.re and s.im.
func (s *spectrum) transform(x []float64) {
	h := s.n / 2
	re, im := s.re[:h], s.im[:h]
	for i, j := range s.swap {
		re[i], im[i] = x[2*j], x[2*j+1]
	}
	for i := 0; i+1 < h; i += 2 { // the first pass multiplies by one
		re[i], re[i+1] = re[i]+re[i+1], re[i]-re[i+1]
		im[i], im[i+1] = im[i]+im[i+1], im[i]-im[i+1]
	}
	for size := 4; size <= h; size *= 2 {
		half, step := size/2, s.n/size
		for base := 0; base < h; base += size {
			ra, ia := re[base:base+half], im[base:base+half]
			rb, ib := re[base+half:base+size], im[base+half:base+size]
			ia, rb, ib = ia[:len(ra)], rb[:len(ra)], ib[:len(ra)]
			t := 0
			for k := range ra {
				c, d := s.cos[t], s.sin[t]
				tr := rb[k]*c + ib[k]*d
				ti := ib[k]*c - rb[k]*d
				rb[k], ib[k] = ra[k]-tr, ia[k]-ti
				ra[k] += tr
				ia[k] += ti
				t += step
			}
		}
	}
}

// unpack is line k (0 < k < n/2) of the real input's spectrum.
func (s *spectrum) unpack(k int) (xr, xi float64) {
	j := s.n/2 - k
	er, ei := (s.re[k]+s.re[j])/2, (s.im[k]-s.im[j])/2
	or, oi := (s.im[k]+s.im[j])/2, (s.re[j]-s.re[k])/2
	c, d := s.cos[k], s.sin[k]
	return er + or*c + oi*d, ei + oi*c - or*d
}

// power writes |X[k]|² for k = 0 … n/2 of the real input x (length n) to out
// (length n/2+1).
func (s *spectrum) power(x, out []float64) {
	s.transform(x)
	h := s.n / 2
	dc, ny := s.re[0]+s.im[0], s.re[0]-s.im[0]
	out[0], out[h] = dc*dc, ny*ny
	for k := 1; k < h; k++ {
		xr, xi := s.unpack(k)
		out[k] = xr*xr + xi*xi
	}
}

// real writes the real part of X[k] for k = 0 … last (last < n/2) of the real
// input x to out. For an even x, such as a whole power spectrum, that is all
// of it: the circular autocorrelation.
func (s *spectrum) real(x, out []float64, last int) {
	s.transform(x)
	out[0] = s.re[0] + s.im[0]
	for k := 1; k <= last; k++ {
		out[k], _ = s.unpack(k)
	}
}
