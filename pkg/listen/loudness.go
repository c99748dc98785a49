package listen

import "math"

// kWeight is the K-weighting of ITU-R BS.1770-5 annex 1 for one channel: a
// high shelf for the head, then a high-pass. The annex gives coefficients for
// 48 kHz only; for other rates both filters are designed anew by the bilinear
// transform from the analogue prototypes that give those coefficients.
type kWeight struct {
	// Shelf: b0, b1, b2, a1, a2; high-pass: a1, a2 (its numerator is 1, −2, 1).
	b0, b1, b2, a1, a2 float64
	c1, c2             float64
	z1, z2, w1, w2     float64
}

// newKWeight designs the filters. The prototype's corner, gain and quality
// are those that reproduce table 1 and 2 of the annex at 48 kHz (recomputed:
// TestKWeightTable).
func newKWeight(rate int) kWeight {
	fs := float64(rate)
	var k kWeight
	const shelfHz, shelfDB, shelfQ = 1681.974450955533, 3.999843853973347, 0.7071752369554196
	// A corner at or above half the rate cannot be drawn; hold it below.
	t := math.Tan(math.Pi * math.Min(shelfHz, 0.45*fs) / fs)
	vh := math.Pow(10, shelfDB/20)
	vb := math.Pow(vh, 0.4996667741545416)
	a0 := 1 + t/shelfQ + t*t
	k.b0 = (vh + vb*t/shelfQ + t*t) / a0
	k.b1 = 2 * (t*t - vh) / a0
	k.b2 = (vh - vb*t/shelfQ + t*t) / a0
	k.a1 = 2 * (t*t - 1) / a0
	k.a2 = (1 - t/shelfQ + t*t) / a0
	const highHz, highQ = 38.13547087602444, 0.5003270373238773
	t = math.Tan(math.Pi * math.Min(highHz, 0.45*fs) / fs)
	a0 = 1 + t/highQ + t*t
	k.c1 = 2 * (t*t - 1) / a0
	k.c2 = (1 - t/highQ + t*t) / a0
	return k
}

// settle cleans the filter states.
func (k *kWeight) settle() {
	k.z1, k.z2, k.w1, k.w2 = clean(k.z1), clean(k.z2), clean(k.w1), clean(k.w2)
}

// clean drops a filter state so small that it would run as a slow denormal,
// or one that a broken float sample has made useless.
func clean(z float64) float64 {
	if a := math.Abs(z); a > 1e-30 && a < 1e30 {
		return z
	}
	return 0
}

// Speaker positions in a WAVE channel mask (WAVEFORMATEXTENSIBLE, recalled).
const (
	maskLowFrequency = 0x8
	maskBackLeft     = 0x10
	maskBackRight    = 0x20
	maskSideLeft     = 0x200
	maskSideRight    = 0x400
)

// channelWeights are the gains G of BS.1770-5 annex 1 table 3: 1 for left,
// right and centre, 1.41 for surround, 0 for the low-frequency channel. A
// file without a mask counts as 5.0 with five channels and as 5.1 with six
// (order L R C [LFE] Ls Rs), else every channel counts 1.
func channelWeights(mask uint32, channels int) []float64 {
	const surround = 1.41
	w := make([]float64, channels)
	for i := range w {
		w[i] = 1
	}
	if mask == 0 {
		switch channels {
		case 5:
			w[3], w[4] = surround, surround
		case 6:
			w[3], w[4], w[5] = 0, surround, surround
		}
		return w
	}
	i := 0
	for bit := uint32(1); bit != 0 && i < channels; bit <<= 1 {
		if mask&bit == 0 {
			continue
		}
		switch bit {
		case maskLowFrequency:
			w[i] = 0
		case maskBackLeft, maskBackRight, maskSideLeft, maskSideRight:
			w[i] = surround
		}
		i++
	}
	return w
}

// gate collects the energies of 400 ms blocks in a histogram, so that its
// size does not grow with the recording. Each bin also keeps its exact sum;
// only the relative gate's edge is rounded, to a hundredth of a decibel.
type gate struct {
	sum   []float64
	count []int64
}

const (
	absoluteGate = -70.0 // LUFS, BS.1770-5 annex 1
	relativeGate = -10.0 // LU below the ungated mean
	gateBins     = 10000 // −70 to +30 LUFS in hundredths
)

func loudnessOf(energy float64) float64 { return -0.691 + 10*math.Log10(energy) }

func (g *gate) add(energy float64) {
	if g.sum == nil {
		g.sum, g.count = make([]float64, gateBins), make([]int64, gateBins)
	}
	l := loudnessOf(energy)
	if !(l > absoluteGate) || math.IsInf(l, 1) {
		return
	}
	i := int(math.Min((l-absoluteGate)*100, gateBins-1))
	g.sum[i] += energy
	g.count[i]++
}

// integrated is the loudness in LUFS, −Inf if no block passes the gates.
func (g *gate) integrated() float64 {
	mean := func(from int) float64 {
		var s float64
		var n int64
		for i := from; i < len(g.sum); i++ {
			s += g.sum[i]
			n += g.count[i]
		}
		if n == 0 {
			return math.Inf(-1)
		}
		return loudnessOf(s / float64(n))
	}
	first := mean(0)
	if math.IsInf(first, -1) {
		return first
	}
	edge := first + relativeGate
	return mean(max(0, int(math.Ceil((edge-absoluteGate)*100))))
}
