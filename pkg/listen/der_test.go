package listen

import (
	"sort"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// der is the diarization error time and the reference speaker time in
// seconds: (miss + false alarm + confusion) with overlap counted and the best
// one-to-one mapping of speakers; steps of 10 ms within collar of a reference
// boundary don't count (NIST Rich Transcription, recalled).
func der(ref, got []story.Turn, end timecode.Ticks, collar timecode.Ticks) (wrong, total float64) {
	n := int(end.Millis(timecode.Ceil)/10) + 1
	ri, rn := speakerRows(ref, n)
	gi, gn := speakerRows(got, n)
	skip := make([]bool, n)
	if collar > 0 {
		for _, t := range ref {
			for _, e := range []timecode.Ticks{t.In, t.Out} {
				for i := max(0, (e-collar).Millis(timecode.Nearest)/10); i < min(int64(n), (e+collar).Millis(timecode.Nearest)/10); i++ {
					skip[i] = true
				}
			}
		}
	}
	both := make([][]int, rn)
	for r := range both {
		both[r] = make([]int, gn)
	}
	var refTime, miss, fa, matched int
	for i := range n {
		if skip[i] {
			continue
		}
		a, b := 0, 0
		for r := range rn {
			if ri[r][i] {
				a++
				for g := range gn {
					if gi[g][i] {
						both[r][g]++
					}
				}
			}
		}
		for g := range gn {
			if gi[g][i] {
				b++
			}
		}
		refTime += a
		miss += max(0, a-b)
		fa += max(0, b-a)
		matched += min(a, b)
	}
	right := bestMapping(both, 0, make([]bool, gn))
	return float64(miss+fa+matched-right) / 100, float64(refTime) / 100
}

func speakerRows(turns []story.Turn, n int) ([][]bool, int) {
	by := map[string][]timecode.Span{}
	for _, t := range turns {
		by[t.Speaker] = append(by[t.Speaker], t.Span)
	}
	var names []string
	for s := range by {
		names = append(names, s)
	}
	sort.Strings(names)
	var rows [][]bool
	for _, s := range names {
		rows = append(rows, raster(by[s], n))
	}
	return rows, len(rows)
}

func bestMapping(both [][]int, r int, used []bool) int {
	if r == len(both) {
		return 0
	}
	best := bestMapping(both, r+1, used)
	for g := range used {
		if !used[g] {
			used[g] = true
			best = max(best, both[r][g]+bestMapping(both, r+1, used))
			used[g] = false
		}
	}
	return best
}
