package listen

import "math"

// truePeakTaps is the interpolating filter of BS.1770-5 annex 2 (four phases
// of twelve taps; recalled, checked with the signals of EBU Tech 3341 in the
// tests). Phases 2 and 3 are 1 and 0 turned round.
var truePeakTaps = [2][12]float64{
	{
		0.0017089843750, 0.0109863281250, -0.0196533203125, 0.0332031250000, -0.0594482421875, 0.1373291015625,
		0.9721679687500, -0.1022949218750, 0.0476074218750, -0.0266113281250, 0.0148925781250, -0.0083007812500,
	},
	{
		-0.0291748046875, 0.0292968750000, -0.0517578125000, 0.0891113281250, -0.1665039062500, 0.4650878906250,
		0.7797851562500, -0.2003173828125, 0.1015625000000, -0.0582275390625, 0.0330810546875, -0.0189208984375,
	},
}

const (
	truePeakPast = 11
	// truePeakGain is more than the filter can make of any samples: the sum
	// of the absolute taps of a phase is at most 2.023.
	truePeakGain = 2.03
	// truePeakRun is how many samples are judged together.
	truePeakRun = 32
)

// truePeak finds the highest value between the samples of one channel.
type truePeak struct {
	buf [truePeakPast + truePeakRun]float64 // the last samples, then new ones
}

// feed looks through x and returns the higher of top and the peak in it. The
// interpolation is left out where it can't reach known, which is most of the
// time: a peak below known may come out too low, never too high.
func (p *truePeak) feed(x []float64, known, top float64) float64 {
	for len(x) > 0 {
		n := min(len(x), truePeakRun)
		var high float64
		for i, v := range x[:n] {
			a := math.Abs(v)
			if !(a <= meterLoudest) {
				v, a = 0, 0
			}
			p.buf[truePeakPast+i] = v
			if a > high {
				high = a
			}
		}
		top = math.Max(top, high)
		for _, v := range p.buf[:truePeakPast] {
			if a := math.Abs(v); a > high {
				high = a
			}
		}
		if high*truePeakGain > math.Max(known, top) {
			top = p.between(n, top)
		}
		copy(p.buf[:], p.buf[n:n+truePeakPast])
		x = x[n:]
	}
	return top
}

// between interpolates around n new samples.
func (p *truePeak) between(n int, top float64) float64 {
	f, g := &truePeakTaps[0], &truePeakTaps[1]
	for i := range n {
		w := p.buf[i : i+12 : i+12]
		var a, b, c, d float64
		for j := range 12 {
			v := w[j]
			a += v * f[11-j]
			b += v * g[11-j]
			c += v * g[j]
			d += v * f[j]
		}
		top = math.Max(math.Max(top, math.Max(math.Abs(a), math.Abs(b))), math.Max(math.Abs(c), math.Abs(d)))
	}
	return top
}

// tail is the peak with the end of the sound taken as silence; p is a copy.
func (p truePeak) tail(top float64) float64 {
	return p.feed(make([]float64, truePeakPast), 0, top)
}
