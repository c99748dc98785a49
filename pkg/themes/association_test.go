package themes

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// printed wants got to round to what is printed with so many digits.
func printed(t *testing.T, name string, got, want float64, digits int) {
	t.Helper()
	near(t, name, got, want, 0.5*math.Pow10(-digits)+1e-12)
}

// Manning and Schütze 1999, chapter 5, values as printed (seen): 14,307,668
// words of newspaper.
func TestManningSchuetzeTables(t *testing.T) {
	const n = 14_307_668
	printed(t, "t new companies", TScore(8, 15828, 4675, n), 0.9999, 4)
	printed(t, "t 20/42/20", TScore(20, 42, 20, n), 4.4721, 4)
	printed(t, "χ² new companies", ChiSquared(8, 4675-8, 15828-8, n-4675-15828+8), 1.55, 2)
	printed(t, "PMI 20/42/20", PMI(20, 42, 20, n), 18.38, 2)
	printed(t, "PMI time last", PMI(20, 15019, 15629, n), 0.29, 2)
	for name, got := range map[string]float64{"t": TScore(0, 1, 1, 9), "χ²": ChiSquared(0, 0, 3, 4), "PMI": PMI(0, 1, 1, 9)} {
		if got != 0 {
			t.Errorf("%s of nothing: got %g, want 0", name, got)
		}
	}
}

// Monroe, Colaresi and Quinn 2008: the log odds with a flat Dirichlet prior of
// two short sentences, a known fixture (seen), recomputed by hand.
func TestLogOddsFixture(t *testing.T) {
	count := func(text string) (map[string]float64, float64) {
		c := map[string]float64{}
		for _, w := range strings.Fields(text) {
			c[w]++
		}
		return c, float64(len(strings.Fields(text)))
	}
	a, n := count("the quick brown fox jumps over the lazy pig")
	b, m := count("the lazy purple pig jumps over the lazier donkey")
	const alpha, vocabulary = 0.05, 11
	for word, want := range map[string]float64{
		"quick": 0.6894227886807968, "fox": 0.6894227886807968, "donkey": -0.6894227886807968, "the": 0, "pig": 0,
	} {
		_, z := LogOdds(a[word], n, b[word], m, alpha, alpha*vocabulary)
		near(t, word, z, want, 1e-12)
	}
	if d, z := LogOdds(1, 2, 3, 4, 0, 0); d != 0 || z != 0 {
		t.Errorf("without a prior: got %g, %g; want 0, 0", d, z)
	}
}

func TestLogRatio(t *testing.T) {
	near(t, "four times as often", LogRatio(40, 1000, 10, 1000), 2, 1e-12)
	near(t, "never there", LogRatio(8, 1000, 0, 1000), 4, 1e-12)
	near(t, "never here", LogRatio(0, 1000, 8, 1000), -4, 1e-12)
	near(t, "nothing", LogRatio(0, 10, 0, 10), 0, 0)
}

// Our own fixture for Kleinberg's automaton, recomputed by trying every way
// through it: 14 offsets, two states.
func TestKleinbergFixture(t *testing.T) {
	offsets := []float64{4, 17, 23, 27, 33, 35, 37, 76, 77, 82, 84, 88, 90, 92}
	for _, c := range []struct {
		gamma  float64
		states string
		cost   float64
	}{{0.3, "0000110111111", 36.8094}, {1, "0000000000000", 37.8610}} {
		got, cost := Bursts(offsets, 2, c.gamma, 2)
		var s strings.Builder
		for _, l := range got {
			s.WriteByte(byte('0' + l))
		}
		if s.String() != c.states {
			t.Errorf("γ %g: got %s, want %s", c.gamma, s.String(), c.states)
		}
		printed(t, "cost", cost, c.cost, 4)
	}
	for name, none := range map[string][]float64{"none": nil, "one": {3}, "one place": {3, 3, 3}} {
		if got, cost := Bursts(none, 2, 1, 2); got != nil || cost != 0 {
			t.Errorf("%s: got %v, %g; want none", name, got, cost)
		}
	}
}

// The cheapest way found equals that of trying every way, up to three states.
func TestBurstsAreCheapest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		gaps := rapid.SliceOfN(rapid.IntRange(0, 30), 1, 7).Draw(t, "gaps")
		states := rapid.IntRange(1, 3).Draw(t, "states")
		gamma := rapid.Float64Range(0, 2).Draw(t, "gamma")
		offsets := []float64{5}
		for _, g := range gaps {
			offsets = append(offsets, offsets[len(offsets)-1]+float64(g))
		}
		levels, cost := Bursts(offsets, 2, gamma, states)
		n := float64(len(gaps))
		length := offsets[len(gaps)] - 5
		if length == 0 {
			if levels != nil {
				t.Fatalf("got %v, want none", levels)
			}
			return
		}
		price := func(way []int) float64 {
			c, before := 0.0, 0
			for i, g := range gaps {
				rate := n / length * math.Pow(2, float64(way[i]))
				c += rate*float64(g) - math.Log(rate) + gamma*math.Log(n)*float64(max(0, way[i]-before))
				before = way[i]
			}
			return c
		}
		least := math.Inf(1)
		way := make([]int, len(gaps))
		for k := range int(math.Pow(float64(states), n)) {
			for i := range way {
				way[i] = k % states
				k /= states
			}
			least = min(least, price(way))
		}
		if math.Abs(least-cost) > 1e-9 || math.Abs(price(levels)-cost) > 1e-9 {
			t.Fatalf("got %v for %g, itself worth %g; the cheapest is %g", levels, cost, price(levels), least)
		}
	})
}
