package quotes

import (
	"testing"

	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

func TestTapes(t *testing.T) {
	cues := func(seconds ...int64) []timedtext.Cue {
		var out []timedtext.Cue
		for _, s := range seconds {
			in := timecode.Ticks(s) * timecode.Second
			out = append(out, timedtext.Cue{Span: timecode.Span{In: in, Out: in + timecode.Second}})
		}
		return out
	}
	for _, c := range []struct {
		name   string
		cues   []timedtext.Cue
		begins int
		last   int64 // seconds at which the last cue lies then
	}{
		{"one tape", cues(1, 60, 3400, 3500), 0, 3500},
		{"two tapes", cues(1, 3400, 3540, 1, 5, 60), 1, 3541 - 1 + 60},
		{"three tapes", cues(1, 600, 2, 600, 3, 500, 700), 2, 601 - 2 + 601 - 3 + 700},
		{"tapes that begin at ten", cues(36_000, 39_000, 36_005, 36_100), 1, 39_001 - 36_005 + 36_100},
		{"one cue out of order", cues(1, 3400, 5, 3500), 0, 3500},
		{"a little back", cues(100, 200, 170, 300), 0, 300},
		{"none", nil, 0, 0},
	} {
		add, begins := tapes(c.cues)
		if len(begins) != c.begins || len(add) != len(c.cues) {
			t.Errorf("%s: begins %v, want %d", c.name, begins, c.begins)
			continue
		}
		if n := len(c.cues) - 1; n >= 0 {
			if got := (c.cues[n].In + add[n]) / timecode.Second; got != timecode.Ticks(c.last) {
				t.Errorf("%s: the last lies at %d s, want %d", c.name, got, c.last)
			}
		}
	}
}
