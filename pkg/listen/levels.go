package listen

// addTable[d] is what a sum gains over the louder of two levels that differ
// by d half decibels, in half decibels.
var addTable = [41]float64{
	6.02, 5.53, 5.08, 4.65, 4.25, 3.88, 3.53, 3.21, 2.91, 2.64,
	2.39, 2.15, 1.95, 1.75, 1.58, 1.42, 1.28, 1.15, 1.03, 0.93,
	0.83, 0.74, 0.67, 0.60, 0.53, 0.48, 0.43, 0.38, 0.34, 0.30,
	0.27, 0.24, 0.22, 0.19, 0.17, 0.15, 0.14, 0.12, 0.11, 0.10, 0.09,
}

// add8 is the level of two sounds together, in half decibels.
func add8(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	d := int(a - b + 0.5)
	if d >= len(addTable) {
		return a
	}
	return a + addTable[d]
}

// total is the level of all speech bands together.
func total(lv []uint8) uint8 {
	var t float64
	for _, v := range lv {
		switch {
		case v == 0:
		case t == 0:
			t = float64(v)
		default:
			t = add8(t, float64(v))
		}
	}
	return uint8(min(255, t+0.5))
}

// tally is a histogram of levels.
type tally struct {
	count [256]int32
	n     int
}

func (t *tally) add(v uint8, by int32) {
	t.count[v] += by
	t.n += int(by)
}

// bandTally is a tally of each band.
type bandTally [bandCount]tally

func (t *bandTally) add(lv *[bandCount]uint8, by int32) {
	for b, v := range lv {
		t[b].add(v, by)
	}
}

// rank is the level below which the part p (0 to 1) of what was counted lies;
// 0 if nothing was.
func (t *tally) rank(p float64) uint8 {
	left := int(p * float64(t.n))
	for v, c := range t.count {
		if left -= int(c); left < 0 {
			return uint8(v)
		}
	}
	return 0
}
