package listen

import "math"

const (
	runLeast = 8   // cells of a stretch of talk that can say whose it is
	mostRuns = 600 // of them looked at; of more, some, evenly
)

// runs are the stretches of talk of each voice that who has enough cells of,
// in order: those that decode keeps.
func (a *analysis) runs(talk []stretch, who [][]int8) [][]gauss {
	var count [2 * mostVoices]float64
	stretches := 0
	each := func(f func(voice int8, from, to int, s stretch)) {
		for i, s := range talk {
			for k := 0; k < len(who[i]); {
				from := k
				for ; k < len(who[i]) && who[i][k] == who[i][from]; k++ {
				}
				f(who[i][from], from, k, s)
			}
		}
	}
	each(func(voice int8, from, to int, s stretch) {
		stretches++
		for k := from; k < to; k++ {
			if _, ok := a.vectorAt(s, k); ok {
				count[voice]++
			}
		}
	})
	out := make([][]gauss, 0, len(count))
	var place [2 * mostVoices]int
	for v, n := range count {
		place[v] = -1
		if n >= leastCells {
			place[v] = len(out)
			out = append(out, nil)
		}
	}
	n, every := 0, 1+stretches/mostRuns
	each(func(voice int8, from, to int, s stretch) {
		if n++; n%every != 0 || place[voice] < 0 {
			return
		}
		var g gauss
		for k := from; k < to; k++ {
			if v, ok := a.vectorAt(s, k); ok {
				g.add(&v)
			}
		}
		if g.n >= runLeast {
			out[place[voice]] = append(out[place[voice]], g)
		}
	})
	return out
}

// leadOfOwn is how much likelier, for each cell, the runs of a voice are its own
// than another's, if each is compared with what the others of its voice say:
// the mean over runs; false if there are fewer than two.
func leadOfOwn(own, other *gauss, runs []gauss, prior *[voiceDims * (voiceDims + 1) / 2]float64) (float64, bool) {
	that := other.model(prior)
	sum, n := 0.0, 0
	for i := range runs {
		rest := *own
		rest.leave(&runs[i])
		if rest.n < leastCells {
			continue
		}
		this := rest.model(prior)
		sum += (this.likelihood(&runs[i]) - that.likelihood(&runs[i])) / runs[i].n
		n++
	}
	return sum / float64(max(1, n)), n > 1
}

// leave takes a part out again.
func (g *gauss) leave(o *gauss) {
	g.n -= o.n
	for i := range g.sum {
		g.sum[i] -= o.sum[i]
	}
	for i := range g.out {
		g.out[i] -= o.out[i]
	}
}

// likelihood is the log likelihood of a set without the constant. With the
// scatter about the mean, E, it is −(tr S⁻¹E + n log det S)/2, and tr S⁻¹E is
// the sum of squares of L⁻¹ times the factor of E.
func (m *model) likelihood(g *gauss) float64 {
	var e [voiceDims * (voiceDims + 1) / 2]float64
	k := 0
	for i := range voiceDims {
		for j := 0; j <= i; j++ {
			e[k] = g.out[k] - g.sum[i]*m.mean[j] - g.sum[j]*m.mean[i] + g.n*m.mean[i]*m.mean[j]
			k++
		}
	}
	// L⁻¹, row by row; tr S⁻¹E = Σ over rows r of L⁻¹ of r E r'.
	var q float64
	var inv [voiceDims][voiceDims]float64
	row := 0
	for i := range voiceDims {
		for c := 0; c <= i; c++ {
			s := 0.0
			if c == i {
				s = 1
			}
			for k := c; k < i; k++ {
				s -= m.chol[row+k] * inv[k][c]
			}
			inv[i][c] = s / m.chol[row+i]
		}
		at := 0
		for x := 0; x <= i; x++ {
			for y := range x {
				q += 2 * inv[i][x] * inv[i][y] * e[at+y]
			}
			q += inv[i][x] * inv[i][x] * e[at+x]
			at += x + 1
		}
		row += i + 1
	}
	return -(q + g.n*m.logDet) / 2
}

// apart tells whether two sets that gain so much by being two are two voices:
// by the gain and, where there are runs enough, by whether each knows its own.
func (o oneVoice) apart(g, h *gauss, gain float64, ofG, ofH []gauss, prior *[voiceDims * (voiceDims + 1) / 2]float64) bool {
	if !o.parts(gain, g.n, h.n) {
		return false
	}
	x, ok := leadOfOwn(g, h, ofG, prior)
	y, also := leadOfOwn(h, g, ofH, prior)
	return !ok || !also || math.Min(x, y) > o.own*(1+o.few/math.Min(g.n, h.n))
}
