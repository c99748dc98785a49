package listen

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// A film of many reels: each two voices are compared once, not anew for each
// that joins another (300 reels of three voices took two minutes), and all
// voices of one colour become one, though never two of a reel.
func TestMatchManyReels(t *testing.T) {
	r := rand.New(rand.NewPCG(12, 1))
	const reels, people = 60, 3
	var list []KnownVoice
	for reel := range reels {
		for who := range people {
			var g gauss
			for range 60 {
				var v vector
				for k := range v {
					v[k] = 0.5*r.NormFloat64() + 3*float64(who)
				}
				g.add(&v)
			}
			list = append(list, KnownVoice{Reel: fmt.Sprint("R", reel), Speaker: fmt.Sprint("Voice ", len(list)), Measure: VoiceMeasure{g}})
		}
	}
	asked := 0
	got := MatchVoices(list, func(string, string) bool { asked++; return false })
	if want := (reels - 1) * people; len(got) != want {
		t.Errorf("%d voices joined, want %d", len(got), want)
	}
	for _, j := range got {
		if j.Voice%people != j.With%people {
			t.Errorf("voice %d joined %d: two people", j.Voice, j.With)
		}
	}
	if n := len(list); asked > n*(n-1)/2 {
		t.Errorf("asked %d times who is apart from whom, want at most once for each of %d pairs", asked, n*(n-1)/2)
	}
}
