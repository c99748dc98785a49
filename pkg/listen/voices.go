package listen

import (
	"math"
	"slices"
)

// voiceDims is what a voiced cell is known by: mel cepstrum and pitch.
const voiceDims = cepstra + 1

const (
	pieceCells  = 25  // cells of a first piece of talk: 1.5 s
	mostPieces  = 400 // pieces merged; further ones only join what is found
	mostVoices  = 6
	priorCells  = 20.0 // cells of the common spread added to each covariance
	leastCells  = 20   // voiced cells (1.2 s) below which a voice is none
	changePrice = 14.0 // log likelihood that changing voices costs in talk
	pausePrice  = 7.0  // and over a pause
	cellWeight  = 0.5  // neighbouring cells are not independent
)

// oneVoice is how far apart two sets can be and still be one voice. By
// likelihood gain for a cell: gain and, where they are small, more by the share
// of small to the cells of the smaller; at least floor. By how much likelier
// stretches of talk are their own set's than the other's (voices_apart.go): own
// and, in the same way, few.
type oneVoice struct{ gain, small, floor, own, few float64 }

// Measured on half of 244 built dialogues of 4 to 8 minutes with one to five
// real voices (English, Spanish, French, Russian, two Italian; dry and in a room,
// 30 and 20 dB): of 400 to 800 cells one voice cut in two gains up to 1.8 a
// cell, a stretch of it 1.4; two voices gain 1.7 and 1.5 or more. The gain alone
// tells 222 of the numbers of voices, both together 231. Without the gain,
// sayings that come back word for word, as in tests, would know their own too
// well. Where the number of people is known, less is enough.
var (
	unknownVoices = oneVoice{gain: 1, small: 520, floor: 1.5, own: 1.2, few: 200}
	knownVoices   = oneVoice{gain: 1, small: 200, own: 0.9, few: 150}
)

type vector [voiceDims]float64

// gauss is what is kept of a set of vectors: count, sum, sum of products.
type gauss struct {
	n   float64
	sum vector
	out [voiceDims * (voiceDims + 1) / 2]float64
}

func (g *gauss) add(v *vector) {
	g.n++
	k := 0
	for i, x := range v {
		g.sum[i] += x
		for j := 0; j <= i; j++ {
			g.out[k] += x * v[j]
			k++
		}
	}
}

func (g *gauss) join(o *gauss) {
	g.n += o.n
	for i := range g.sum {
		g.sum[i] += o.sum[i]
	}
	for i := range g.out {
		g.out[i] += o.out[i]
	}
}

// cov is the covariance, drawn towards prior (a covariance worth priorCells).
func (g *gauss) cov(prior *[voiceDims * (voiceDims + 1) / 2]float64) (c [voiceDims * (voiceDims + 1) / 2]float64) {
	k := 0
	for i := range voiceDims {
		for j := 0; j <= i; j++ {
			s := g.out[k] - g.sum[i]*g.sum[j]/g.n
			c[k] = (s + priorCells*prior[k]) / (g.n + priorCells)
			k++
		}
	}
	return c
}

// factor is the Cholesky factor of c in place, and log of c's determinant.
func factor(c *[voiceDims * (voiceDims + 1) / 2]float64) float64 {
	var logDet float64
	row := 0
	for i := range voiceDims {
		other := 0
		for j := 0; j <= i; j++ {
			s := c[row+j]
			for k := range j {
				s -= c[row+k] * c[other+k]
			}
			if j == i {
				s = math.Max(s, 1e-6)
				logDet += math.Log(s)
				c[row+i] = math.Sqrt(s)
			} else {
				c[row+j] = s / c[other+j]
			}
			other += j + 1
		}
		row += i + 1
	}
	return logDet
}

// vectorOf is a cell as a vector; false if it has no voice.
func (c *cell) vectorOf() (v vector, ok bool) {
	if c.voiced < 1 {
		return v, false
	}
	for i, x := range c.cepstrum {
		v[i] = float64(x) / cepstrumScale
	}
	v[cepstra] = float64(c.pitch) / 10
	return v, true
}

// voices gives each cell of each stretch of talk to a voice, numbered from 0.
func (a *analysis) voices(talk []stretch, wanted int) [][]int8 {
	who := make([][]int8, len(talk))
	pieces := a.pieces(talk, who)
	var all gauss
	within := gauss{n: 1}
	for i := range pieces {
		p := &pieces[i]
		all.join(p)
		k := 0
		for x := range voiceDims {
			for y := 0; y <= x; y++ {
				within.out[k] += p.out[k] - p.sum[x]*p.sum[y]/p.n
				k++
			}
		}
	}
	if all.n < 2*leastCells || wanted == 1 {
		return who
	}
	prior := within.out
	for k := range prior {
		prior[k] /= all.n
	}
	// Pieces are short: merge them to more voices than there can be, let every
	// cell choose among those, and only then judge which are the same.
	found := merge(pieces, nil, &prior, 2*mostVoices, oneVoice{})
	for range 2 {
		found = a.decode(talk, who, found, &prior)
	}
	most, one := mostVoices, unknownVoices
	if wanted > 0 {
		most, one = wanted, knownVoices
	}
	for range 3 {
		if found = merge(found, a.runs(talk, who), &prior, most, one); len(found) < 2 {
			break
		}
		found = a.decode(talk, who, found, &prior)
	}
	if len(found) < 2 {
		for _, w := range who {
			clear(w)
		}
	}
	return who
}

// pieces cuts talk into pieces of equal length and lays out the answer. Of
// more than twice mostPieces only some are taken, evenly.
func (a *analysis) pieces(talk []stretch, who [][]int8) []gauss {
	total := 0
	parts := func(cells int) int { return max(1, (cells+pieceCells/2)/pieceCells) }
	for i, s := range talk {
		who[i] = make([]int8, (s.to-1)/a.perCell+1-s.from/a.perCell)
		total += parts(len(who[i]))
	}
	cells := 0
	for _, w := range who {
		cells += len(w)
	}
	a.tops, a.turned = make([]int8, 0, cells), make([]uint16, 0, cells)
	every := 1 + total/(2*mostPieces)
	out := make([]gauss, 0, total/every+1)
	number := 0
	for i, s := range talk {
		n := parts(len(who[i]))
		for p := range n {
			if number++; number%every != 0 {
				continue
			}
			var g gauss
			for k := p * len(who[i]) / n; k < (p+1)*len(who[i])/n; k++ {
				if v, ok := a.vectorAt(s, k); ok {
					g.add(&v)
				}
			}
			if g.n >= 3 {
				out = append(out, g)
			}
		}
	}
	return out
}

// parts tells whether two sets of n and m cells that gain so much by being two
// are two voices.
func (o oneVoice) parts(gain, n, m float64) bool {
	return o.gain > 0 && gain*(n+m)/(n*m) > max(o.floor, o.gain*(1+o.small/min(n, m)))
}

// merge joins two sets again and again, those that lose least likelihood
// first, until no two of them are one voice and there are not more than most.
// What a pair loses is the likelihood that two normal distributions gain over
// one (as in Chen & Gopalakrishnan's BIC); whether it is one voice is judged by
// the gain for each cell: BIC's own penalty grows too slowly for cells that
// are not independent.
func merge(pieces []gauss, runs [][]gauss, prior *[voiceDims * (voiceDims + 1) / 2]float64, most int, one oneVoice) []gauss {
	set := slices.Clone(pieces)
	if len(set) > mostPieces {
		slices.SortStableFunc(set, func(x, y gauss) int { return int(y.n - x.n) })
		set = set[:mostPieces]
	}
	half := func(g *gauss) float64 {
		c := g.cov(prior)
		return g.n / 2 * factor(&c)
	}
	fit := make([]float64, len(set))
	for i := range set {
		fit[i] = half(&set[i])
	}
	far := func(i, j int) float64 {
		g := set[i]
		g.join(&set[j])
		return half(&g) - fit[i] - fit[j]
	}
	dist := make([][]float64, len(set))
	for i := range set {
		dist[i] = make([]float64, i)
		for j := range i {
			dist[i][j] = far(i, j)
		}
	}
	if runs == nil {
		runs = make([][]gauss, len(set))
	}
	for len(set) > 1 {
		i, j := nearest(dist, func(i, j int) bool {
			return !one.apart(&set[i], &set[j], dist[i][j], runs[i], runs[j], prior)
		})
		if i < 0 && len(set) > most {
			i, j = nearest(dist, func(int, int) bool { return true })
		}
		if i < 0 || one == (oneVoice{}) && len(set) <= most {
			break
		}
		set[j].join(&set[i])
		runs[j] = append(runs[j], runs[i]...)
		fit[j] = half(&set[j])
		last := len(set) - 1
		set[i], fit[i], runs[i] = set[last], fit[last], runs[last]
		set, dist = set[:last], moveLast(dist, i)
		for k := range j {
			dist[j][k] = far(j, k)
		}
		for k := j + 1; k < last; k++ {
			dist[k][j] = far(k, j)
		}
	}
	return set
}

// nearest is the pair i > j with the least distance among those that may be
// joined; −1 if none may.
func nearest(dist [][]float64, may func(i, j int) bool) (i, j int) {
	i, j = -1, -1
	for k := range dist {
		for l, d := range dist[k] {
			if (i < 0 || d < dist[i][j]) && may(k, l) {
				i, j = k, l
			}
		}
	}
	return i, j
}

// moveLast puts the last row of a triangle of distances in place of row i.
func moveLast(dist [][]float64, i int) [][]float64 {
	last := len(dist) - 1
	for j := range min(i, last) {
		dist[i][j] = dist[last][j]
	}
	for k := i + 1; k < last; k++ {
		dist[k][i] = dist[last][k]
	}
	return dist[:last]
}
