package listen

import "math"

// faultPolarity compares channels by the cross-correlation of their whitened
// spectra (generalised cross-correlation with phase transform, Knapp & Carter
// 1976): its highest peak is a negative one where one channel is upside down,
// whatever the distance between the microphones.
type faultPolarity struct {
	from, to int // bins
	lags     int
	pairs    []faultPair
	re, im   [][]float64 // of each channel, bins from … to by two
	cos, sin []float64
	turn     int
	cr, ci   []float64
}

// faultPair is two channels and how often they agreed.
type faultPair struct {
	a, b      int
	same, not int
}

const (
	polarityLowHz  = 80.0
	polarityHighHz = 800.0
	polarityLag    = 0.012 // s, 4 m of way
	polarityPeak   = 0.25  // of what two equal channels give
	polarityLead   = 1.25  // over the highest peak of the other sign
	polarityFewest = 3     // windows
	polarityShare  = 0.8   // of the windows that tell anything
)

func newFaultPolarity(channels int, lowHz float64) *faultPolarity {
	binHz := lowHz / faultWindow
	p := &faultPolarity{
		from: max(1, int(polarityLowHz/binHz)), to: min(faultWindow/2, int(polarityHighHz/binHz)),
		lags: int(polarityLag * lowHz), re: make([][]float64, channels), im: make([][]float64, channels),
	}
	for a := range channels {
		for b := a + 1; b < channels; b++ {
			// All pairs of a few channels; neighbours of many.
			if channels <= 4 || b == a+1 {
				p.pairs = append(p.pairs, faultPair{a: a, b: b})
			}
		}
	}
	n := max(0, (p.to-p.from+1)/2)
	for c := range channels {
		p.re[c], p.im[c] = make([]float64, n), make([]float64, n)
	}
	p.cr, p.ci = make([]float64, n), make([]float64, n)
	p.cos, p.sin = make([]float64, faultWindow), make([]float64, faultWindow)
	for i := range p.cos {
		p.sin[i], p.cos[i] = math.Sincos(2 * math.Pi * float64(i) / faultWindow)
	}
	return p
}

// keep holds the spectrum of channel c, whitened.
func (p *faultPolarity) keep(c int, s *spectrum) {
	if len(p.pairs) == 0 || p.turn%2 == 1 {
		return
	}
	for i := range p.re[c] {
		re, im := s.unpack(p.from + 2*i)
		if a := math.Hypot(re, im); a > 1e-9 {
			p.re[c][i], p.im[c][i] = re/a, im/a
		} else {
			p.re[c][i], p.im[c][i] = 0, 0
		}
	}
}

// compare judges all pairs, each second window.
func (p *faultPolarity) compare() {
	if p.turn++; p.turn%2 == 0 {
		return
	}
	for i := range p.pairs {
		q := &p.pairs[i]
		up, down := p.peaks(q.a, q.b)
		switch {
		case up >= polarityPeak && up >= polarityLead*down:
			q.same++
		case down >= polarityPeak && down >= polarityLead*up:
			q.not++
		}
	}
}

// peaks is the highest and the lowest cross-correlation, the latter turned.
func (p *faultPolarity) peaks(a, b int) (up, down float64) {
	for i := range p.cr {
		p.cr[i] = p.re[a][i]*p.re[b][i] + p.im[a][i]*p.im[b][i]
		p.ci[i] = p.im[a][i]*p.re[b][i] - p.re[a][i]*p.im[b][i]
	}
	for lag := -p.lags; lag <= p.lags; lag++ {
		var sum float64
		at, step := p.from*lag&(faultWindow-1), 2*lag&(faultWindow-1)
		for i := range p.cr {
			sum += p.cr[i]*p.cos[at] - p.ci[i]*p.sin[at]
			at = (at + step) & (faultWindow - 1)
		}
		up, down = math.Max(up, sum), math.Max(down, -sum)
	}
	n := float64(max(1, len(p.cr)))
	return up / n, down / n
}

// opposite tells whether a pair is upside down, with the share of moments that
// say so.
func (q *faultPair) opposite() (share float64, ok bool) {
	all := q.same + q.not
	if q.not < polarityFewest {
		return 0, false
	}
	share = float64(q.not) / float64(all)
	return share, share >= polarityShare
}
