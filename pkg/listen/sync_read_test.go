package listen

import (
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// A window is the same whatever was read before it: behind it, over its end,
// the other way round, at any rate.
func TestWindowAfterWindow(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 14))
	x := make([]float64, 120_000)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	rapid.Check(t, func(t *rapid.T) {
		rate := rapid.SampledFrom([]int{8000, 12000, 44100, 48000}).Draw(t, "rate")
		open := func() *syncTrack {
			s, err := openSyncTrack(t.Context(), "a", syncFrom(rate, x))
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		used := open()
		for range rapid.IntRange(2, 5).Draw(t, "windows") {
			start := rapid.Float64Range(-5000, 125_000).Draw(t, "start")
			got := make([]float64, rapid.IntRange(1, 6000).Draw(t, "length"))
			want := make([]float64, len(got))
			step := float64(rate) / gridRate
			if err := used.window(t.Context(), start, step, got); err != nil {
				t.Fatal(err)
			}
			if err := open().window(t.Context(), start, step, want); err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(got, want) {
				t.Fatalf("window at %g of %d differs from one read alone", start, len(got))
			}
		}
	})
}
