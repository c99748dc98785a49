package listen

import (
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"rushlight/pkg/timecode"
)

// placed puts clips into silence with gaps of known length, and says where.
func placed(clips []clip, rate int, gap func(i int) float64) (x []float64, truth []timecode.Span) {
	at := rate
	var spans [][2]int
	for i, c := range clips {
		spans = append(spans, [2]int{at, at + len(c.x)})
		at += len(c.x) + int(gap(i)*float64(rate))
	}
	x = make([]float64, at+rate)
	for i, c := range clips {
		mix(x, c.x, spans[i][0], 1)
		truth = append(truth, spanSamples(spans[i][0], spans[i][1], rate))
	}
	return x, truth
}

// edgeScore compares the ins and outs of truth with the nearest found.
type edgeScore struct {
	within50, all int
	errors        []float64 // ms, found − true, by edge
	extra         int       // stretches found that overlap no truth
	splits        int       // gaps found inside truth
}

func scoreEdges(truth, found []timecode.Span) edgeScore {
	var s edgeScore
	for _, want := range truth {
		in, out := math.Inf(1), math.Inf(1)
		for _, got := range found {
			if d := (got.In - want.In).Seconds() * 1000; math.Abs(d) < math.Abs(in) {
				in = d
			}
			if d := (got.Out - want.Out).Seconds() * 1000; math.Abs(d) < math.Abs(out) {
				out = d
			}
		}
		for _, d := range []float64{in, out} {
			s.all++
			if math.Abs(d) <= 50 {
				s.within50++
			}
			s.errors = append(s.errors, d)
		}
		n := 0
		for _, got := range found {
			if got.Overlaps(want) {
				n++
			}
		}
		s.splits += max(0, n-1)
	}
	for _, got := range found {
		hit := false
		for _, want := range truth {
			hit = hit || got.Overlaps(want)
		}
		if !hit {
			s.extra++
		}
	}
	return s
}

func (s edgeScore) share() float64 { return float64(s.within50) / float64(s.all) }

func (s edgeScore) quantile(p float64) float64 {
	e := make([]float64, len(s.errors))
	for i, v := range s.errors {
		e[i] = math.Abs(v)
	}
	sort.Float64s(e)
	return e[int(p*float64(len(e)-1))]
}

func (s edgeScore) mean(odd int) float64 {
	var m float64
	var n int
	for i, v := range s.errors {
		if i%2 == odd && math.Abs(v) < 300 {
			m += v
			n++
		}
	}
	return m / float64(max(1, n))
}

// Real voices: Debian's asterisk-core-sounds-en-wav and -es-wav. The truth
// comes from the clean signal (trim), the bound is this project's aim
// (docs/figures.md): 95 % of edges within 50 ms at 20 dB and better. Many of these
// clips fade below the noise at 20 dB before they are cut, so 100 % can't be.
func TestEdges(t *testing.T) {
	for _, c := range []struct {
		snr, want float64
	}{{math.Inf(1), 0.95}, {30, 0.95}, {20, 0.95}, {10, 0.75}} {
		within, all := 0, 0
		for _, language := range []string{"en", "es"} {
			s, floor := edgesAt(t, voices(t, language, 1, 60), c.snr, 1)
			t.Logf("%s, %3.0f dB: %.1f %% of %d edges within 50 ms, median %.0f ms, p95 %.0f ms, bias in %+.0f out %+.0f, %d extra, %d splits, floor %.1f",
				language, c.snr, 100*s.share(), s.all, s.quantile(0.5), s.quantile(0.95), s.mean(0), s.mean(1), s.extra, s.splits, floor)
			within, all = within+s.within50, all+s.all
			if s.extra > 1 {
				t.Errorf("%s at %.0f dB: %d stretches where nobody speaks", language, c.snr, s.extra)
			}
		}
		if got := float64(within) / float64(all); got < c.want {
			t.Errorf("%.0f dB: %.3f of edges within 50 ms, want %.2f", c.snr, got, c.want)
		}
	}
}

// A wider draw, with two more voices. The bounds are what was measured, with
// room; the aim of 95 % at 20 dB is met over all four, not by Spanish,
// and that of 90 % at 10 dB is not met: English fades for 130 ms in the middle
// after the last sound that stands out of the noise, Russian for 20 ms, so that
// no one hang-over suits both.
func TestEdgesCorpus(t *testing.T) {
	for _, c := range []struct {
		snr        float64
		both, four float64
	}{{30, 0.97, 0.95}, {20, 0.93, 0.94}, {10, 0.78, 0.80}} {
		if wideSeeds() == 1 && c.snr != 20 {
			continue
		}
		var within, all [2]int
		for _, language := range []string{"en", "es", "it", "ru"} {
			var ins, outs, n int
			for seed := range wideSeeds() {
				s, _ := edgesAt(t, voices(t, language, 1, 60), c.snr, uint64(seed+100))
				for i, e := range s.errors {
					if i%2 == 0 && math.Abs(e) <= 50 {
						ins++
					} else if math.Abs(e) <= 50 {
						outs++
					}
				}
				n += s.all / 2
			}
			t.Logf("%s, %.0f dB: %.1f %% of %d edges within 50 ms (ins %.1f, outs %.1f)", language, c.snr, pct(ins+outs, 2*n), 2*n, pct(ins, n), pct(outs, n))
			if language < "f" {
				within[0], all[0] = within[0]+ins+outs, all[0]+2*n
			}
			within[1], all[1] = within[1]+ins+outs, all[1]+2*n
		}
		t.Logf("%.0f dB: English and Spanish %.1f %%, all four %.1f %%", c.snr, pct(within[0], all[0]), pct(within[1], all[1]))
		if got := pct(within[0], all[0]) / 100; got < c.both {
			t.Errorf("%.0f dB: %.3f of edges within 50 ms, want %.2f", c.snr, got, c.both)
		}
		if got := pct(within[1], all[1]) / 100; got < c.four {
			t.Errorf("%.0f dB, four voices: %.3f of edges within 50 ms, want %.2f", c.snr, got, c.four)
		}
	}
}

func edgesAt(t *testing.T, clips []clip, snr float64, seed uint64) (edgeScore, float64) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed, uint64(math.Min(snr, 99))))
	x, truth := placed(clips, 8000, func(int) float64 { return 0.3 + 1.7*r.Float64() })
	if !math.IsInf(snr, 1) {
		var talk []float64
		for _, c := range clips {
			talk = append(talk, c.x...)
		}
		mix(x, pinkNoise(len(x), r), 0, rms(talk)*db(-snr))
	}
	h := hear(t, newScene(8000, x), Options{})
	valid(t, "edges", h)
	return scoreEdges(truth, h.Speech), h.FloorDBFS
}
