package listen

import "math"

// model is one voice ready to score cells.
type model struct {
	mean   vector
	chol   [voiceDims * (voiceDims + 1) / 2]float64
	logDet float64
}

func (g *gauss) model(prior *[voiceDims * (voiceDims + 1) / 2]float64) model {
	m := model{chol: g.cov(prior)}
	m.logDet = factor(&m.chol)
	for i := range m.mean {
		m.mean[i] = g.sum[i] / g.n
	}
	return m
}

// score is the log likelihood of v without the constant.
func (m *model) score(v *vector) float64 {
	var y vector
	var q float64
	row := 0
	for i := range voiceDims {
		s := v[i] - m.mean[i]
		for k := range i {
			s -= m.chol[row+k] * y[k]
		}
		y[i] = s / m.chol[row+i]
		q += y[i] * y[i]
		row += i + 1
	}
	return -(q + m.logDet) / 2
}

// decode gives each cell to one of the voices (Viterbi) and returns the voices
// measured again from what they got; a voice that got too little is gone.
func (a *analysis) decode(talk []stretch, who [][]int8, found []gauss, prior *[voiceDims * (voiceDims + 1) / 2]float64) []gauss {
	if len(found) == 0 {
		return nil
	}
	models := make([]model, len(found))
	for i := range found {
		models[i] = found[i].model(prior)
	}
	n := len(models)
	best, next := make([]float64, n), make([]float64, n)
	// Where each voice came from at each cell: from itself, or, where its bit
	// is set, from the one that was best then.
	tops, turned := a.tops[:0], a.turned[:0]
	for i, s := range talk {
		for k := range who[i] {
			price := changePrice
			if k == 0 {
				price = pausePrice
			}
			top := 0
			for m := range best {
				if best[m] > best[top] {
					top = m
				}
			}
			v, ok := a.vectorAt(s, k)
			bits := uint16(0)
			for m := range models {
				b := best[m]
				if alt := best[top] - price; alt > b {
					bits |= 1 << m
					b = alt
				}
				if ok {
					b += cellWeight * math.Max(models[m].score(&v), -60)
				}
				next[m] = b
			}
			tops, turned = append(tops, int8(top)), append(turned, bits)
			best, next = next, best
		}
	}
	a.tops, a.turned = tops, turned
	again := a.trace(talk, who, best, tops, turned)
	var keep []gauss
	for _, g := range again {
		if g.n >= leastCells {
			keep = append(keep, g)
		}
	}
	return keep
}

// trace goes back from the best end and measures the voices it meets.
func (a *analysis) trace(talk []stretch, who [][]int8, best []float64, tops []int8, turned []uint16) []gauss {
	state := 0
	for m := range best {
		if best[m] > best[state] {
			state = m
		}
	}
	again := make([]gauss, len(best))
	at := len(tops)
	for i := len(talk) - 1; i >= 0; i-- {
		for k := len(who[i]) - 1; k >= 0; k-- {
			at--
			who[i][k] = int8(state)
			if v, ok := a.vectorAt(talk[i], k); ok {
				again[state].add(&v)
			}
			if turned[at]&(1<<state) != 0 {
				state = int(tops[at])
			}
		}
	}
	return again
}

// vectorAt is cell k of a stretch.
func (a *analysis) vectorAt(s stretch, k int) (v vector, ok bool) {
	if c := s.from/a.perCell + k; c < len(a.cells) {
		return a.cells[c].vectorOf()
	}
	return v, false
}
