package listen

import "math"

// bandCount is the number of speech bands whose level is kept each 10 ms.
const bandCount = 4

// bandEdges are the speech bands in Hz: voice and first formant, two bands of
// formants, and consonants. Several bands find a soft start or end that the
// whole band would lose in noise (Sohn, Kim & Sung 1999 work per spectral
// line; four bands are what is cheap).
var bandEdges = [bandCount + 1]float64{150, 500, 1000, 2000, 3800}

// biquad is a second-order filter in transposed direct form II.
type biquad struct{ b0, b1, b2, a1, a2, z1, z2 float64 }

// bands measures the four speech bands of one channel at the analysis rate.
type bands struct {
	high biquad
	band [bandCount]biquad
	sum  [bandCount]float64
	n    int
}

func newBands(hz float64) *bands {
	b := &bands{}
	w := 2 * math.Pi * math.Min(bandEdges[0]*0.85/hz, 0.4)
	alpha := math.Sin(w) / math.Sqrt2
	c := math.Cos(w)
	b.high = biquad{b0: (1 + c) / 2, b1: -(1 + c), b2: (1 + c) / 2, a1: -2 * c, a2: 1 - alpha}.over(1 + alpha)
	for i := range b.band {
		lo, hi := math.Min(bandEdges[i]/hz, 0.40), math.Min(bandEdges[i+1]/hz, 0.47)
		t := math.Pi * (lo + hi) // centre by mean, prewarped width
		q := math.Tan(math.Pi * (hi - lo))
		c := math.Cos(t) / math.Cos(math.Pi*(hi-lo))
		// Second-order Butterworth band-pass by the bilinear transform.
		b.band[i] = biquad{b0: q, b1: 0, b2: -q, a1: -2 * c, a2: 1 - q}.over(1 + q)
	}
	return b
}

func (f biquad) over(a0 float64) biquad {
	return biquad{b0: f.b0 / a0, b1: f.b1 / a0, b2: f.b2 / a0, a1: f.a1 / a0, a2: f.a2 / a0}
}

// feed adds samples to the sums of the present 10 ms.
func (b *bands) feed(x []float64) {
	h := b.high
	f0, f1, f2, f3 := b.band[0], b.band[1], b.band[2], b.band[3]
	s0, s1, s2, s3 := b.sum[0], b.sum[1], b.sum[2], b.sum[3]
	for _, v := range x {
		y := h.b0*v + h.z1
		h.z1 = (h.b1*v + h.z2) - h.a1*y
		h.z2 = h.b2*v - h.a2*y
		// The band-passes have b1 = 0 and b2 = −b0.
		p := f0.b0*y + f0.z1
		f0.z1 = f0.z2 - f0.a1*p
		f0.z2 = -f0.b0*y - f0.a2*p
		s0 += p * p
		p = f1.b0*y + f1.z1
		f1.z1 = f1.z2 - f1.a1*p
		f1.z2 = -f1.b0*y - f1.a2*p
		s1 += p * p
		p = f2.b0*y + f2.z1
		f2.z1 = f2.z2 - f2.a1*p
		f2.z2 = -f2.b0*y - f2.a2*p
		s2 += p * p
		p = f3.b0*y + f3.z1
		f3.z1 = f3.z2 - f3.a1*p
		f3.z2 = -f3.b0*y - f3.a2*p
		s3 += p * p
	}
	b.high = h
	b.band[0], b.band[1], b.band[2], b.band[3] = f0, f1, f2, f3
	b.sum = [bandCount]float64{s0, s1, s2, s3}
	b.n += len(x)
}

// settle cleans the filter states.
func (b *bands) settle() {
	b.high.z1, b.high.z2 = clean(b.high.z1), clean(b.high.z2)
	for i := range b.band {
		b.band[i].z1, b.band[i].z2 = clean(b.band[i].z1), clean(b.band[i].z2)
	}
}

// frame closes the present 10 ms: four levels in half decibels above −127.5
// dBFS, 0 for anything below.
func (b *bands) frame() (lv [bandCount]uint8) {
	for i, s := range b.sum {
		if b.n > 0 {
			lv[i] = level8(s / float64(b.n))
		}
		b.sum[i] = 0
	}
	b.n = 0
	b.settle()
	return lv
}

const level8Floor = -127.5

// level8 is a mean square as half decibels above −127.5 dBFS.
func level8(ms float64) uint8 {
	if !(ms > 1e-13) {
		return 0
	}
	v := (10*math.Log10(ms)-level8Floor)*2 + 0.5
	return uint8(max(0, min(255, v)))
}

// centi is a mean square in hundredths of dBFS, EnvelopeSilent at least.
func centi(ms float64) int16 {
	if !(ms > 1e-20) {
		return -20000
	}
	return int16(max(-20000, min(32767, math.Round(1000*math.Log10(ms)))))
}
