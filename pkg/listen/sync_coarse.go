package listen

import (
	"context"
	"maps"
	"math"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	// coarseLength is the longest piece of the shorter recording looked for at
	// once, in frames of 20 ms: 82 s, in which 200 ppm are 16 ms.
	coarseLength = 4096
	// coarseBlock is how much of the longer recording is compared at once.
	coarseBlock = 2 * coarseLength
	// coarsePieces is how many pieces are looked for at most.
	coarsePieces = 48
	// coarseBest is how many places of a piece are kept at least; of a short
	// recording's few pieces, up to four times as many.
	coarseBest = 6
	// coarseApart is how far apart, in frames, two places must lie.
	coarseApart = scanHop / 2
)

// sighting is a place where a piece of one recording may lie in the other: b
// would start offset frames of 20 ms after a, seen at a place of a.
type sighting struct {
	at, offset int
	z          float64 // height over the standard deviation of all places
}

// piece is a stretch of the shorter recording that is looked for.
type piece struct {
	from  int
	lines [scanBands][]complex64
	keeps int // how many places
	n     int // of correlations summed into power
	power float64
	best  []sighting // offset is the place in the longer recording, best first
}

// coarse looks for each recording's levels in the other's.
type coarse struct {
	fft   *fourier.FFT
	x     []float64
	mean  []float64
	lines [scanBands][]complex128
	sum   []complex128
	rise  [512]float64 // what a level weighs, by half decibels over its floor, from 256
}

func newCoarse() *coarse {
	c := &coarse{fft: fourier.NewFFT(coarseBlock), x: make([]float64, coarseBlock), mean: make([]float64, coarseBlock+1)}
	for i := range c.lines {
		c.lines[i] = make([]complex128, coarseBlock/2+1)
	}
	c.sum = make([]complex128, coarseBlock/2+1)
	for i := range c.rise {
		c.rise[i] = math.Log1p(math.Pow(10, float64(i-256)/20))
	}
	return c
}

// sightings are the likeliest places, most of them wrong.
func sightings(ctx context.Context, a, b *bandLevels, done func(share float64)) ([]sighting, error) {
	short, long, swapped := b, a, false
	if a.frames() < b.frames() {
		short, long, swapped = a, b, true
	}
	if short.frames() < scanHop/4 {
		return nil, nil
	}
	c := newCoarse()
	pieces := c.cut(short)
	blocks := long.frames()/coarseLength + 2
	for k := range blocks {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		from := (k - 1) * coarseLength
		if c.load(long, from, coarseBlock) {
			for _, p := range pieces {
				c.compare(p, from)
			}
		}
		done(float64(k+1) / float64(blocks))
	}
	var out []sighting
	for _, p := range pieces {
		sigma := math.Sqrt(p.power / float64(max(1, p.n)))
		for _, s := range p.best {
			s.z /= sigma
			if swapped { // frame from of a is frame s.offset of b
				s.at, s.offset = p.from, p.from-s.offset
			} else {
				s.at, s.offset = s.offset, s.offset-p.from
			}
			s.at += min(coarseLength, short.frames()) / 2
			out = append(out, s)
		}
	}
	return out, nil
}

// cut divides the shorter recording into pieces, leaving out what is silent;
// of a long one, evenly spread ones.
func (c *coarse) cut(short *bandLevels) []*piece {
	n := min(coarseLength, short.frames())
	all := (short.frames() + n - 1) / n
	keeps := min(4*coarseBest, max(coarseBest, coarsePieces/all))
	var out []*piece
	for i := range min(all, coarsePieces) {
		from := i * n
		if all > coarsePieces {
			from = i * (short.frames() - n) / (coarsePieces - 1)
		}
		from = min(from, short.frames()-n)
		if !c.load(short, from, n) {
			continue
		}
		p := &piece{from: from, keeps: keeps}
		for b := range c.lines {
			p.lines[b] = make([]complex64, len(c.lines[b]))
			for k, v := range c.lines[b] {
				p.lines[b][k] = complex64(v)
			}
		}
		out = append(out, p)
	}
	return out
}

// load takes the spectra of n frames of all bands from a frame on; false where
// all is silent.
func (c *coarse) load(l *bandLevels, from, n int) bool {
	sound := false
	for b := range l {
		if c.shape(l[b], from, n) {
			sound = true
		}
		c.fft.Coefficients(c.lines[b], c.x)
	}
	return sound
}

// shape writes to c.x how far a band stands above its floor, on a compressed
// scale, without what changes slower than a second, at a power of one. The
// rest of c.x, silence and what lies outside are 0.
func (c *coarse) shape(l []uint8, from, n int) bool {
	clear(c.x)
	lo, hi := max(0, from), min(len(l), from+n)
	lo = min(lo, hi)
	floor := bandFloor(l[lo:hi])
	if floor == 0 {
		return false
	}
	x := c.x[lo-from : hi-from]
	for i := range x {
		if v := int(l[lo+i]); v > 0 {
			x[i] = c.rise[256+v-floor]
		}
	}
	// Take off the mean of the 1.2 s around.
	sum := c.mean[:len(x)+1]
	for i, v := range x {
		sum[i+1] = sum[i] + v
	}
	var power float64
	const half = scanHop * 6 / 10
	for i := range x {
		f, t := max(0, i-half), min(len(x), i+half)
		if l[lo+i] == 0 {
			x[i] = 0
			continue
		}
		x[i] -= (sum[t] - sum[f]) / float64(t-f)
		power += x[i] * x[i]
	}
	if power == 0 {
		return false
	}
	g := 1 / math.Sqrt(power/float64(n))
	for i := range x {
		x[i] *= g
	}
	return true
}

// compare lays a piece over the loaded block at each frame.
func (c *coarse) compare(p *piece, from int) {
	clear(c.sum)
	for b := range c.lines {
		q := p.lines[b]
		for k, v := range c.lines[b] {
			w := q[k]
			c.sum[k] += v * complex(float64(real(w)), -float64(imag(w)))
		}
	}
	r := c.fft.Sequence(c.x, c.sum)[:coarseLength]
	var power float64
	for i, v := range r {
		power += v * v
		if len(p.best) == p.keeps && v <= p.best[p.keeps-1].z || i > 0 && r[i-1] > v || i+1 < len(r) && r[i+1] >= v {
			continue
		}
		p.keep(sighting{offset: from + i, z: v})
	}
	p.power += power
	p.n += len(r)
}

// keep enters a place among the best, unless a better one lies close by.
func (p *piece) keep(s sighting) {
	for i, o := range p.best {
		if o.offset-s.offset < coarseApart && s.offset-o.offset < coarseApart {
			if o.z >= s.z {
				return
			}
			p.best = slices.Delete(p.best, i, i+1)
			break
		}
	}
	i, _ := slices.BinarySearchFunc(p.best, s.z, func(o sighting, z float64) int {
		if o.z >= z {
			return -1
		}
		return 1
	})
	p.best = slices.Insert(p.best, i, s)
	p.best = p.best[:min(len(p.best), p.keeps)]
}

// hypotheses are lines that most sightings speak for, best first, at most
// most. drift is in parts of one.
func hypotheses(seen []sighting, drift float64, most int) []guess {
	type scored struct {
		guess
		z float64
	}
	var all []scored
	for _, s := range seen {
		if s.z < 3 {
			continue
		}
		h := scored{guess: guess{at: float64(s.at) / scanHop, apart: float64(s.offset) / scanHop, reach: 0.06}}
		best := map[int]float64{} // the best sighting of each piece's place
		for _, o := range seen {
			near := 2 + int(drift*math.Abs(float64(o.at-s.at)))
			if d := o.offset - s.offset; o.z >= 3 && -near <= d && d <= near {
				best[o.at/coarseApart] = max(best[o.at/coarseApart], o.z)
			}
		}
		// In order: sums of another order differ in their last digit, and
		// then places of one height would change places from run to run.
		for _, place := range slices.Sorted(maps.Keys(best)) {
			h.z += best[place] * best[place]
		}
		all = append(all, h)
	}
	slices.SortStableFunc(all, func(a, b scored) int {
		switch {
		case a.z > b.z:
			return -1
		case a.z < b.z:
			return 1
		}
		return 0
	})
	var out []guess
	for _, h := range all {
		if len(out) == most {
			break
		}
		if !slices.ContainsFunc(out, func(o guess) bool {
			return math.Abs(o.apart-h.apart) <= 0.05+drift*math.Abs(o.at-h.at)
		}) {
			h.height = math.Sqrt(h.z)
			out = append(out, h.guess)
		}
	}
	return out
}
