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
	}{{math.Inf(1), 0.95}, {30, 0.95}, {20, 0.95}, {10, 0.86}} {
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
// room; the aim of 95 % at 20 dB is just met, that of 90 % at 10 dB is not by
// English (TestEdgesKnown says what could be): it fades for 130 ms in the middle after
// the last sound that stands out of the noise, Russian for 20 ms. How long to wait
// is told from the fades that can be heard (masked.hold), chosen on English and
// French: Spanish, Italian and Russian are held out there.
func TestEdgesCorpus(t *testing.T) {
	for _, c := range []struct {
		snr        float64
		both, four float64
	}{{30, 0.98, 0.98}, {20, 0.94, 0.96}, {10, 0.86, 0.89}} {
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
		t.Logf("FIGURE | Listening | pause edges within 50 ms at %.0f dB | English and Spanish %.1f %%, all four voices %.1f %% | 95 %%, at 10 dB 90 %%", c.snr, pct(within[0], all[0]), pct(within[1], all[1]))
		if got := pct(within[0], all[0]) / 100; got < c.both {
			t.Errorf("%.0f dB: %.3f of edges within 50 ms, want %.2f", c.snr, got, c.both)
		}
		if got := pct(within[1], all[1]) / 100; got < c.four {
			t.Errorf("%.0f dB, four voices: %.3f of edges within 50 ms, want %.2f", c.snr, got, c.four)
		}
	}
}

// A voice that fades slowly goes on longer under the noise than one that stops
// short, and how fast it fades shows before it is hidden. A buzz that falls
// evenly, so that where it is 45 dB down is known by calculation. Own bound:
// the middle error within 50 ms. Slower fades come out too early, for voices
// fall faster as they end.
func TestEdgesOfFades(t *testing.T) {
	for _, fall := range []float64{250, 400, 800} { // dB a second
		r := rand.New(rand.NewPCG(9, 9))
		const rate, ends = 8000, 30
		tail := 50 / fall // seconds
		var x, outs, errors []float64
		for range ends {
			x = append(x, make([]float64, int((0.6+r.Float64())*rate))...)
			full := 0.7 + 0.6*r.Float64()
			outs = append(outs, float64(len(x))/rate+full+45/fall)
			for i := range int((full + tail) * rate) {
				at := float64(i) / rate
				down, v := max(0, at-full)*fall, 0.0
				for h := 1.0; h < 20; h++ {
					v += 0.05 / h * math.Sin(2*math.Pi*h*(130*at+2*math.Sin(2*math.Pi*2.5*at)))
				}
				x = append(x, v*db(-down))
			}
		}
		x = append(x, make([]float64, rate)...)
		mix(x, pinkNoise(len(x), r), 0, 0.014)
		h := hear(t, newScene(rate, x), Options{})
		for _, want := range outs {
			best := math.Inf(1)
			for _, got := range h.Speech {
				if d := 1000 * (got.Out.Seconds() - want); math.Abs(d) < math.Abs(best) {
					best = d
				}
			}
			errors = append(errors, best)
		}
		sort.Float64s(errors)
		middle := errors[len(errors)/2]
		t.Logf("%3.0f dB a second: outs %+.0f ms in the middle (%+.0f to %+.0f)", fall, middle, errors[0], errors[len(errors)-1])
		if math.Abs(middle) > 50 {
			t.Errorf("%.0f dB a second: outs %+.0f ms in the middle, want within 50", fall, middle)
		}
	}
}

// How many edges could be found by one who knew the clean sound and the noise
// apart, and told sound in any of the speech bands down to 6 dB under the
// noise, and who then moved all ends of a voice by the best one time: what lies
// deeper is not in four bands of 10 ms. Ours may not come out above it.
func TestEdgesKnown(t *testing.T) {
	for _, snr := range []float64{20, 10} {
		for _, language := range []string{"en", "es"} {
			clips := voices(t, language, 1, 60)
			x, truth, noise := edgeScene(clips, snr, 100)
			talk, still := bandPowers(x), mean(bandPowers(noise))
			heard := func(s int) bool {
				for b, n := range still {
					if talk[s-1][b]+2*talk[s][b]+talk[s+1][b] > n { // a quarter of four
						return true
					}
				}
				return false
			}
			var ins, outs []float64
			for _, w := range truth {
				from, to := int(w.In.Millis(timecode.Nearest)/10), int(w.Out.Millis(timecode.Nearest)/10)
				first, last := from, to
				for first < to && !heard(first) {
					first++
				}
				for last > from && !heard(last-1) {
					last--
				}
				ins, outs = append(ins, float64(10*(first-from))), append(outs, float64(10*(to-last)))
			}
			in, out := mostWithin(ins, 50), mostWithin(outs, 50)
			s, _ := edgesAt(t, clips, snr, 100)
			t.Logf("%s, %2.0f dB: %.1f %% could be found (ins %.1f, outs %.1f); ours %.1f %%", language, snr, (in+out)/2, in, out, 100*s.share())
			if 100*s.share() > (in+out)/2+2 {
				t.Errorf("%s, %.0f dB: ours %.1f %% is more than could be found (%.1f %%)", language, snr, 100*s.share(), (in+out)/2)
			}
		}
	}
}

// bandPowers is the mean square of each speech band in steps of 10 ms at 8 kHz.
func bandPowers(x []float64) (out [][bandCount]float64) {
	b := newBands(8000)
	for at := 0; at+80 <= len(x); at += 80 {
		b.feed(x[at : at+80])
		out = append(out, b.sum)
		b.frame()
	}
	return out
}

func mean(v [][bandCount]float64) (m [bandCount]float64) {
	for _, x := range v {
		for b := range m {
			m[b] += x[b] / float64(len(v))
		}
	}
	return m
}

// mostWithin is how many per cent of the values lie within reach of one value.
func mostWithin(v []float64, reach float64) float64 {
	most := 0
	for centre := -200.0; centre <= 300; centre += 5 {
		n := 0
		for _, x := range v {
			if math.Abs(x-centre) <= reach {
				n++
			}
		}
		most = max(most, n)
	}
	return pct(most, len(v))
}

// edgeScene is clips in silence, where they lie, and noise snr under them.
func edgeScene(clips []clip, snr float64, seed uint64) (x []float64, truth []timecode.Span, noise []float64) {
	r := rand.New(rand.NewPCG(seed, uint64(math.Min(snr, 99))))
	x, truth = placed(clips, 8000, func(int) float64 { return 0.3 + 1.7*r.Float64() })
	noise = make([]float64, len(x))
	if !math.IsInf(snr, 1) {
		var talk []float64
		for _, c := range clips {
			talk = append(talk, c.x...)
		}
		mix(noise, pinkNoise(len(x), r), 0, rms(talk)*db(-snr))
	}
	return x, truth, noise
}

func edgesAt(t *testing.T, clips []clip, snr float64, seed uint64) (edgeScore, float64) {
	t.Helper()
	x, truth, noise := edgeScene(clips, snr, seed)
	mix(x, noise, 0, 1)
	h := hear(t, newScene(8000, x), Options{})
	valid(t, "edges", h)
	return scoreEdges(truth, h.Speech), h.FloorDBFS
}
