package listen

import (
	"math"
	"math/rand/v2"
	"os"
)

// wideSeeds is how many draws the wide tables take: three as specified where
// RUSHLIGHT_SLOW is set (make corpora), else one.
func wideSeeds() int {
	if os.Getenv("RUSHLIGHT_SLOW") != "" {
		return 3
	}
	return 1
}

// roomOf is a made room response: the direct sound, then from 4 ms on noise
// that decays by 60 dB in rt seconds, with direct dB between the energies of the two
// (Polack's model, recalled).
func roomOf(rate int, rt, direct float64, r *rand.Rand) []float64 {
	h := make([]float64, int(rt*1.2*float64(rate)))
	var energy float64
	for i := rate / 250; i < len(h); i++ {
		h[i] = r.NormFloat64() * math.Pow(10, -3*float64(i)/float64(rate)/rt)
		energy += h[i] * h[i]
	}
	for i := range h {
		h[i] *= db(-direct) / math.Sqrt(energy)
	}
	h[0] = 1
	return h
}

// inRoom is x with the response h, cut to the length of x (overlap-add).
func inRoom(x, h []float64) []float64 {
	n := 1
	for n < 4*len(h) {
		n *= 2
	}
	resp, buf := make([]complex128, n), make([]complex128, n)
	for i, v := range h {
		resp[i] = complex(v, 0)
	}
	transform(resp, -1)
	out := make([]float64, len(x))
	for at := 0; at < len(x); at += n - len(h) {
		clear(buf)
		for i, v := range x[at:min(len(x), at+n-len(h))] {
			buf[i] = complex(v, 0)
		}
		transform(buf, -1)
		for i := range buf {
			buf[i] *= resp[i]
		}
		transform(buf, 1)
		for i, v := range buf[:min(n, len(x)-at)] {
			out[at+i] += real(v) / float64(n)
		}
	}
	return out
}

// transform is a plain radix-2 Fourier transform in place, the tests' own.
func transform(a []complex128, sign float64) {
	n := len(a)
	for i, j := 1, 0; i < n; i++ {
		bit := n >> 1
		for ; j&bit != 0; bit >>= 1 {
			j ^= bit
		}
		if j |= bit; i < j {
			a[i], a[j] = a[j], a[i]
		}
	}
	for l := 2; l <= n; l *= 2 {
		turn := make([]complex128, l/2)
		for k := range turn {
			s, c := math.Sincos(sign * 2 * math.Pi * float64(k) / float64(l))
			turn[k] = complex(c, s)
		}
		for i := 0; i < n; i += l {
			for k, w := range turn {
				u, v := a[i+k], a[i+k+l/2]*w
				a[i+k], a[i+k+l/2] = u+v, u-v
			}
		}
	}
}
