package listen

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// The same sightings give the same hypotheses in the same order, again and
// again: where b is laid must not depend on the run.
func TestHypothesesSameAgain(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 1))
	var seen []sighting
	for i := range 40 {
		seen = append(seen, sighting{at: i * 400, offset: 1000 + r.IntN(3), z: 3 + 5*r.Float64()})
	}
	want := hypotheses(seen, 200e-6, syncTries)
	for range 50 {
		if got := hypotheses(seen, 200e-6, syncTries); !slices.Equal(got, want) {
			t.Fatalf("got %v, before %v", got, want)
		}
	}
}
