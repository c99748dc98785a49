package quotes

import (
	"testing"

	"rushlight/pkg/timecode"
)

// breathless lets all but each twelfth silence be heard as speech: somebody who
// talks fast, or people who talk into each other.
func (v interview) breathless() interview {
	h := *v.heard
	h.Speech = h.Speech[:1:1]
	for i, s := range v.heard.Speech[1:] {
		if last := &h.Speech[len(h.Speech)-1]; i%12 > 0 {
			last.Out = s.Out
		} else {
			h.Speech = append(h.Speech, s)
		}
	}
	v.heard = &h
	return v
}

// A right transcript isn't condemned, moved or marked where the sound can't
// tell: where hardly a pause is heard, and where the talk is short. Real voices
// that were laid without pauses, or for a minute, had all of that.
func TestBelongsWhereSoundTellsLittle(t *testing.T) {
	for seed := range uint64(6) {
		for _, c := range []struct {
			name string
			v    interview
		}{
			{"no pauses", makeInterview(seed, 4).breathless()},
			{"a minute", makeInterview(seed, 1)},
			{"two minutes", makeInterview(seed, 2)},
		} {
			for kind, doc := range map[string]bool{"a time each 25 s": true, "words": false} {
				rec := reel(0)
				rec.Duration = c.v.heard.Duration
				src := Source{Recording: rec, Document: c.v.coarse(25), Heard: c.v.heard}
				if !doc {
					src.Document = worded(c.v.subtitles(seed))
				}
				b, _ := Belongs(t.Context(), src)
				if b.Doubtful || b.Offset != 0 {
					t.Errorf("seed %d, %s, %s: doubtful %v, offset %.1f s: fit %.2f, chance %.2f, spread %.3f", seed, c.name, kind, b.Doubtful, b.Offset.Seconds(), b.Fit, b.Chance, b.Spread)
				}
				sure := []float64{sureWords, sureWords, sureWords, sureWords}
				b.Doubt(sure)
				if low := mean(sure); low < 1 {
					t.Errorf("seed %d, %s, %s: words' own times are doubted: %.2f", seed, c.name, kind, low)
				}
			}
		}
	}
}

// A search among so many places finds none that is better by accident.
func TestBelongsMovesNothingRight(t *testing.T) {
	for seed := range uint64(6) {
		v := makeInterview(seed, 3)
		if seed%2 == 0 {
			v = v.breathless()
		}
		rec := reel(0)
		rec.Duration = v.heard.Duration + 2*timecode.Minute
		src := Source{Recording: rec, Document: v.coarse(10_000), Heard: v.heard}
		if b, _ := Belongs(t.Context(), src); b.Offset != 0 {
			t.Errorf("seed %d: moved by %.1f s", seed, b.Offset.Seconds())
		}
	}
}
