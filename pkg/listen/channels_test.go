package listen

import "testing"

// Who has a microphone is told by a part of the talk, spread over all of it,
// also where an hour of talk is one stretch: each channel is tried without
// each other, so that all of 16 channels took minutes.
func TestSampleOf(t *testing.T) {
	const hour = 360_000
	a := &analysis{channels: make([]hearing, 3)}
	store := newLevelStore(3, pagesInMind)
	defer store.close()
	for s := range hour {
		for c := range a.channels {
			a.channels[c].levels = &store.channels[c]
			var lv [bandCount]uint8
			lv[c] = uint8(1 + s/samplePiece + 10*c)
			a.channels[c].levels.add(lv)
		}
	}
	whole, cut := []stretch{{0, hour}}, []stretch{}
	for s := 0; s+700 <= hour; s += 800 {
		cut = append(cut, stretch{s, s + 700})
	}
	for name, talk := range map[string][]stretch{"one stretch": whole, "many stretches": cut} {
		got, spans := a.sampleOf(talk)
		steps := got.steps()
		if steps < sampleSteps*9/10 || steps > 2*sampleSteps {
			t.Errorf("%s: %d steps, want about %d", name, steps, sampleSteps)
		}
		n := 0
		for i, s := range spans {
			if s.from != n || s.to <= s.from {
				t.Errorf("%s: stretch %d is %v, want one from %d", name, i, s, n)
			}
			n = s.to
		}
		if n != steps {
			t.Errorf("%s: stretches end at %d of %d steps", name, n, steps)
		}
		for c := range got.channels {
			lv := got.channels[c].levels
			if first, last := lv.total(0), lv.total(steps-1); int(first) != 1+10*c || int(last) < 105+10*c {
				t.Errorf("%s: channel %d: from level %d to %d, want from the first to the last tenth", name, c, first, last)
			}
		}
	}
}
