package listen

import (
	"math"
	"slices"
)

// faultHum looks for lines at the multiples of 50 and 60 Hz that stand still
// while the voice comes and goes: over 8 s, the power that each spectral line
// has for four fifths of the time. A voice passes over a line; noise falls far
// below its mean now and then, hum doesn't (the idea of minimum statistics,
// Martin 2001).
type faultHum struct {
	binHz  float64
	by     int64 // samples for each low-rate one
	bins   int
	rows   [][]float32
	total  int64
	last   int64 // low-rate start of the newest window
	judged int64 // value of total at the last judgement

	floor  []float64
	column []float32
	found  [2]faultList // 50 Hz, 60 Hz
	base   [2]float64   // frequency of the strongest finding
}

const (
	humRows   = 32 // windows looked at together: 8.7 s
	humEvery  = 8  // a judgement each 2 s
	humFewest = 14 // windows of a short recording: 4.3 s
	humTop    = 520.0
	humHarms  = 8
	humOff    = 0.006 // mains frequency may be off by this part
	humStands = 9.0   // dB that a line stands above its neighbours
	humInARow = 6     // windows at the edge of hum
	humSteady = 4.0   // times its low fifth: the middle of a steady line's powers
	humUnder  = 55.0  // dB under talk: what lies lower nobody hears
)

// humAlone is how far the first or the second harmonic must stand out where
// there is no other: voices don't reach the first.
var humAlone = [2]float64{13, 18}

// humMains are the two mains frequencies in Hz.
var humMains = [2]float64{50, 60}

func newFaultHum(lowHz float64, by int64) *faultHum {
	h := &faultHum{binHz: lowHz / faultWindow, by: by}
	h.bins = min(faultWindow/2, int(humTop/h.binHz)+16)
	h.rows = make([][]float32, humRows)
	all := make([]float32, humRows*h.bins)
	for i := range h.rows {
		h.rows[i] = all[i*h.bins : (i+1)*h.bins]
	}
	h.floor, h.column = make([]float64, h.bins), make([]float32, humRows)
	for i := range h.found {
		h.found[i].gap = int64(lowHz) * by * 20
	}
	return h
}

// row is where the next power spectrum goes.
func (h *faultHum) row() []float32 { return h.rows[h.total%humRows] }

// closeRow ends the row of the window that began at low-rate sample from.
func (h *faultHum) closeRow(from int64) {
	h.total++
	h.last = from
	if h.total >= humRows && h.total-h.judged >= humEvery {
		h.judge()
	}
}

func (h *faultHum) finish() {
	if h.total >= humFewest && h.total > h.judged {
		h.judge()
	}
}

// humLine is one harmonic that stands out.
type humLine struct {
	k             int
	hz, db, power float64
	steady        bool // the same most of the time
}

// judge looks at the rows that are there.
func (h *faultHum) judge() {
	h.judged = h.total
	n := int(min(h.total, humRows))
	for b := range h.floor {
		h.floor[b] = h.rank(b, n, n/5)
	}
	best, score := -1, 0.0
	var lines []humLine
	for m, base := range humMains {
		l, s := h.harmonics(base, n)
		if s > score {
			best, score, lines = m, s, l
		}
	}
	if best < 0 {
		return
	}
	from, to := h.edges(lines, n)
	p := faultPlace{from: from, to: to, n: len(lines)}
	var power float64
	for _, l := range lines {
		power += l.power
	}
	p.value = 10 * math.Log10(power)
	if h.base[best] == 0 || len(h.found[best].places) > 0 && p.value > h.found[best].places[0].value {
		h.base[best] = lines[0].hz / float64(lines[0].k)
	}
	h.found[best].add(p)
}

// rank is the r-th smallest power of line b in the last n rows.
func (h *faultHum) rank(b, n, r int) float64 {
	c := h.column[:n]
	for i := range c {
		c[i] = h.rows[i][b]
	}
	slices.Sort(c)
	return float64(c[r])
}

// edges are the samples between which the lowest of the lines is there (the one
// that voices reach least): the quietest fifth of the rows may be before it or
// after.
func (h *faultHum) edges(lines []humLine, n int) (from, to int64) {
	b := int(math.Round(lines[0].hz / h.binHz))
	oldest := h.total - int64(n)
	least := float32(math.Max(h.floor[b]/2, h.rank(b, n, n/2)/8))
	there := func(i int) bool { return h.rows[(oldest+int64(i))%humRows][b] >= least }
	// Noise alone comes so high now and then, but not often in a row.
	first, last := 0, n-1
	for ; first < n/2 && !mostOf(there, first, first+humInARow); first++ {
	}
	for ; last > n/2 && !mostOf(there, last+1-humInARow, last+1); last-- {
	}
	start := func(i int) int64 { return (h.last - int64(n-1-i)*faultHop) * h.by }
	from, to = start(first), start(last)+faultWindow*h.by
	// A window that only its end or beginning lies in hum counts too.
	if first > 0 {
		from += faultWindow / 2 * h.by
	}
	if last < n-1 {
		to -= faultWindow / 2 * h.by
	}
	return from, max(from, to)
}

// mostOf tells whether it holds at all places, or all but one.
func mostOf(holds func(int) bool, from, to int) bool {
	n := 0
	for i := from; i < to; i++ {
		if holds(i) {
			n++
		}
	}
	return n >= to-from-1
}

// harmonics gives the lines at multiples of base, and a score, 0 if they make
// no hum: two lines or more at multiples of one frequency, the first or second
// steady among them, or one of those alone that nothing but hum makes.
func (h *faultHum) harmonics(base float64, rows int) ([]humLine, float64) {
	var lines []humLine
	for k := 1; k <= humHarms; k++ {
		if l, ok := h.line(base, k, rows); ok {
			lines = append(lines, l)
		}
	}
	var best []humLine
	top := 0.0
	for _, ref := range lines {
		var agree []humLine
		sum := 0.0
		for _, l := range lines {
			off := l.hz - ref.hz/float64(ref.k)*float64(l.k)
			if math.Abs(off) <= 0.4*h.binHz*math.Max(1, float64(l.k)/float64(ref.k)) {
				agree = append(agree, l)
				sum += l.db - humStands/2
			}
		}
		if sum > top {
			best, top = agree, sum
		}
	}
	switch {
	case !slices.ContainsFunc(best, func(l humLine) bool { return l.k <= 2 && l.steady }):
		return nil, 0
	case len(best) >= 2 && top >= 15:
	case len(best) == 1 && best[0].db >= humAlone[best[0].k-1] && rows == humRows:
	default:
		return nil, 0
	}
	return best, top
}

// line looks for harmonic k of base.
func (h *faultHum) line(base float64, k, rows int) (humLine, bool) {
	at := base * float64(k) / h.binHz
	reach := int(math.Ceil(at*humOff + 0.5))
	mid := int(math.Round(at))
	const far = 14
	if mid-reach-1 < 1 || mid+far >= h.bins {
		return humLine{}, false
	}
	b := mid
	for i := mid - reach; i <= mid+reach; i++ {
		if h.floor[i] > h.floor[b] {
			b = i
		}
	}
	if h.floor[b] <= 0 || h.floor[b] < h.floor[b-1] || h.floor[b] < h.floor[b+1] {
		return humLine{}, false
	}
	var beside []float64
	for d := 4; d <= far; d++ {
		for _, i := range []int{b - d, b + d} {
			if i > 0 && i < h.bins {
				beside = append(beside, h.floor[i])
			}
		}
	}
	slices.Sort(beside)
	around := math.Max(beside[len(beside)/2], 1e-12)
	l := humLine{k: k, db: 10 * math.Log10(h.floor[b]/around)}
	l.power = (h.floor[b-1] + h.floor[b] + h.floor[b+1]) * 16 / (3 * faultWindow * faultWindow)
	x, y, z := math.Log(h.floor[b-1]+1e-30), math.Log(h.floor[b]), math.Log(h.floor[b+1]+1e-30)
	shift := 0.0
	if bend := x - 2*y + z; bend < 0 {
		shift = math.Max(-0.5, math.Min(0.5, 0.5*(x-z)/bend))
	}
	l.hz = (float64(b) + shift) * h.binHz
	if math.Abs(l.hz/float64(k)-base) > base*humOff+0.1 {
		return humLine{}, false
	}
	l.steady = h.rank(b, rows, rows/2) <= humSteady*h.floor[b]
	return l, l.db >= humStands
}
