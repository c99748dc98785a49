package listen

import (
	"math"
	"math/rand/v2"
	"testing"

	"rushlight/pkg/timecode"
)

// Whole numbers that stand at full scale are clipping however long they stay
// there: a knock on the microphone holds a recorder there for a second.
func TestFaultsFullScaleHeld(t *testing.T) {
	const rate = 48000
	for ms, severity := range map[int]FaultSeverity{
		2: FaultNote, 15: FaultNote, 19: FaultNote, 20: FaultNote, 21: FaultNote, 25: FaultNote,
		60: FaultWarn, 300: FaultWarn, 1500: FaultStop,
	} {
		r := rand.New(rand.NewPCG(6, 1))
		x := make([]float64, 10*rate)
		for i := range x {
			x[i] = math.Round(0.05*r.NormFloat64()*32768) / 32768
		}
		var want []timecode.Span
		for _, at := range []int{1, 4, 7} {
			from, to := at*rate+rate/3, at*rate+rate/3+ms*rate/1000
			for i := from; i < to; i++ {
				x[i] = 32767.0 / 32768
			}
			want = append(want, spanSamples(from, to, rate))
		}
		s := newScene(rate, x)
		s.info.Float, s.info.Bits, s.info.ValidBits = false, 16, 16
		found := faultsOf(t, s)
		for _, w := range want {
			n := 0
			for _, f := range found {
				if f.Kind == FaultStuck || f.Kind == FaultDropout {
					t.Errorf("%d ms: got %s", ms, f)
				}
				if f.Kind == FaultClipping && f.Overlaps(w) {
					n++
					if f.Severity != severity {
						t.Errorf("%d ms: severity %s, want %s", ms, f.Severity, severity)
					}
				}
			}
			if n != 1 {
				t.Errorf("%d ms: %d findings of clipping at %s, want 1: %v", ms, n, w, found)
			}
		}
	}
}
