package listen

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Worked by hand: the slopes of four points are 1, 1, 1, 10/3, 9/2 and 8, the
// median of the six (1 + 10/3)/2 = 13/6.
func TestFitLine(t *testing.T) {
	tests := []struct {
		name     string
		t, apart []float64
		slope    float64
	}{
		{"by hand", []float64{0, 10, 20, 30}, []float64{0, 1e-4, 2e-4, 1e-3}, 13e-5 / 6},
		{"one of five lies off", []float64{0, 10, 20, 30, 40}, []float64{1, 1.002, 1.004, 5, 1.008}, 2e-4},
		{"two points", []float64{0, 10}, []float64{0, 1}, 0},
		{"four seconds", []float64{0, 2, 4}, []float64{0, 1, 2}, 0},
		{"none", nil, nil, 0},
	}
	for _, c := range tests {
		if got := -fitLine(c.t, c.apart).delta; math.Abs(got-c.slope) > 1e-12 {
			t.Errorf("%s: got slope %g, want %g", c.name, got, c.slope)
		}
	}
}

// A quarter of the points may lie anywhere.
func TestFitLineOutliers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := syncLine{offset: rapid.Float64Range(-100, 100).Draw(t, "offset"), delta: rapid.Float64Range(-2e-4, 2e-4).Draw(t, "delta")}
		n := rapid.IntRange(8, 32).Draw(t, "n")
		var at, apart []float64
		for i := range n {
			at = append(at, 10*float64(i))
			apart = append(apart, want.apart(at[i]))
			if i%4 == 1 {
				apart[i] += rapid.Float64Range(-0.1, 0.1).Draw(t, "off")
			}
		}
		set := agree(at, apart, 0.001, 3e-4)
		got := fitLine(chosen(at, set), chosen(apart, set))
		if len(set) < n*3/4 || math.Abs(got.apart(150)-want.apart(150)) > 0.001 || math.Abs(got.delta-want.delta) > 2e-5 {
			t.Fatalf("%d of %d agree, got %+v, want %+v", len(set), n, got, want)
		}
	})
}
