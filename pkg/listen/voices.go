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
	bicLambda   = 1.6  // weight of the penalty (Chen & Gopalakrishnan: λ)
	priorCells  = 20.0 // cells of the common spread added to each covariance
	leastCells  = 20   // voiced cells (1.2 s) below which a voice is none
	changePrice = 14.0 // log likelihood that changing voices costs in talk
	pausePrice  = 7.0  // and over a pause
	cellWeight  = 0.5  // neighbouring cells are not independent
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
	found := merge(pieces, &prior, wanted)
	if len(found) < 2 {
		return who
	}
	for range 4 {
		next := a.decode(talk, who, found, &prior)
		if len(next) < len(found) && len(next) < 2 {
			for _, w := range who {
				clear(w)
			}
			return who
		}
		found = next
	}
	return who
}

// pieces cuts talk into pieces of equal length and lays out the answer.
func (a *analysis) pieces(talk []stretch, who [][]int8) []gauss {
	var out []gauss
	for i, s := range talk {
		first, last := s.from/framesPerCell, (s.to-1)/framesPerCell+1
		who[i] = make([]int8, last-first)
		parts := max(1, (last-first+pieceCells/2)/pieceCells)
		for p := range parts {
			var g gauss
			for c := first + p*(last-first)/parts; c < first+(p+1)*(last-first)/parts && c < len(a.cells); c++ {
				if v, ok := a.cells[c].vectorOf(); ok {
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

// merge joins the two nearest pieces until no pair is nearer than the BIC
// penalty allows, or as many as wanted are left.
func merge(pieces []gauss, prior *[voiceDims * (voiceDims + 1) / 2]float64, wanted int) []gauss {
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
		const parameters = voiceDims + voiceDims*(voiceDims+1)/2.0
		return half(&g) - fit[i] - fit[j] - bicLambda/2*parameters*math.Log(g.n)
	}
	dist := make([][]float64, len(set))
	for i := range set {
		dist[i] = make([]float64, i)
		for j := range i {
			dist[i][j] = far(i, j)
		}
	}
	for len(set) > 1 {
		bi, bj := 1, 0
		for i := range dist {
			for j, d := range dist[i] {
				if d < dist[bi][bj] {
					bi, bj = i, j
				}
			}
		}
		if wanted > 0 && len(set) <= wanted || wanted == 0 && dist[bi][bj] > 0 && len(set) <= mostVoices {
			break
		}
		set[bj].join(&set[bi])
		fit[bj] = half(&set[bj])
		last := len(set) - 1
		set[bi], fit[bi] = set[last], fit[last]
		set = set[:last]
		for j := range min(bi, last) {
			dist[bi][j] = dist[last][j]
		}
		for i := bi + 1; i < last; i++ {
			dist[i][bi] = dist[last][i]
		}
		dist = dist[:last]
		for j := range bj {
			dist[bj][j] = far(bj, j)
		}
		for i := bj + 1; i < last; i++ {
			dist[i][bj] = far(i, bj)
		}
	}
	return slices.DeleteFunc(set, func(g gauss) bool { return wanted == 0 && g.n < leastCells })
}
