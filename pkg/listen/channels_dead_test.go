package listen

import (
	"math/rand/v2"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// TestTurnsWithADeadMicrophone: a lavalier dies after one or two fifths of the
// talk, to nothing or to the hiss of its receiver, soft or as loud as the noise
// of the others; what its owner says from then on is told by how loud the other
// hears it, not given to the other. Real voices of Debian's
// asterisk-core-sounds, 12 dB of bleed; the bound is that of working
// microphones (docs/figures.md). Without: 39.9 to 63.0 %.
func TestTurnsWithADeadMicrophone(t *testing.T) {
	en, es := level(voices(t, "en", 1, 30), -26), level(voices(t, "es", 1, 30), -26)
	for i, c := range []struct {
		name  string
		hiss  float64 // dBFS
		works float64 // share of the talk
	}{
		{"nothing", -200, 0.4},
		{"hiss early", -96, 0.2},
		{"hiss", -96, 0.4},
		{"loud hiss", -70, 0.4},
		{"loud hiss early", -80, 0.2},
	} {
		r := rand.New(rand.NewPCG(3, uint64(i)))
		d := makeDialogue(r, 8000, [][]clip{en, es}, []string{"a", "b"}, 60, []float64{0.5, 0.5}, 0)
		n := len(d.people[0])
		var x [][]float64
		for _, g := range [][2]float64{{0, -12}, {-12, 0}} {
			ch := make([]float64, n)
			for p, s := range d.people {
				mix(ch, s, 11*p, db(g[p]))
			}
			mix(ch, pinkNoise(n, r), 0, db(-66))
			x = append(x, ch)
		}
		for k := int(c.works * float64(n)); k < n; k++ {
			x[1][k] = db(c.hiss) * r.NormFloat64()
		}
		h := hear(t, newScene(8000, x...), Options{TrackNames: []string{"Ines", "Joss"}})
		wrong, all := der(d.truth, h.Turns, h.Duration, 250*timecode.Millisecond)
		t.Logf("%s: DER %.2f %%, %v, true %v", c.name, 100*wrong/all, story.TalkShares(h.Turns), story.TalkShares(d.truth))
		if wrong/all > 0.03 {
			t.Errorf("%s: DER %.3f, want at most 0.03", c.name, wrong/all)
		}
	}
}
