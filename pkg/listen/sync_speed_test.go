package listen

import (
	"math"
	"math/rand/v2"
	"strings"
	"sync"
	"testing"
)

// A machine that was set to another rate is found when it is asked for, with
// the drift that this makes, and what its own clock drifts on top of it.
func TestSynchroniseSpeeds(t *testing.T) {
	for _, c := range []struct {
		name        string
		factor, ppm float64
		severity    FaultSeverity
		what        string
	}{
		// A frame rate of 24 or 30 against 1000/1001 of it (SMPTE ST 12-1).
		{"23.976 for 24", 1001. / 1000, 0, FaultWarn, "0.10 % fast"},
		{"24 for 23.976, its clock 60 ppm slow", 1000. / 1001, -60, FaultWarn, "0.11 % slow"},
		{"44100 for 48000", 48000. / 44100, 0, FaultStop, "8.84 % fast, as 48000 samples a second written as 44100"},
		{"48000 for 44100, its clock 30 ppm fast", 44100. / 48000, 30, FaultStop, "8.12 % slow"},
	} {
		t.Run(c.name, func(t *testing.T) {
			ppm := 1e6 * (c.factor*(1+c.ppm/1e6) - 1)
			p, a, b := talkPair(t, 56, 60, -3, ppm)
			wantSync(t, p, synchronise(t, syncFrom(p.rate, a), syncFrom(p.rate, b), SyncOptions{Speeds: true}), 1, 3)
			if s := synchronise(t, syncFrom(p.rate, a), syncFrom(p.rate, b), SyncOptions{}); s.Found {
				t.Errorf("without asking: got %.1f ppm, want not found", s.DriftPPM)
			}
			f, bad := ClockFault(ppm)
			if !bad || f.Severity != c.severity || !strings.Contains(f.What, c.what) || f.Do == "" {
				t.Errorf("got %v %+v, want %s %q", bad, f, c.severity, c.what)
			}
		})
	}
}

func TestClockFault(t *testing.T) {
	for ppm, want := range map[float64]bool{0: false, 40: false, -100: false, 140: true, -300: true, math.Inf(1): true} {
		if f, bad := ClockFault(ppm); bad != want || bad && (f.What == "" || f.Do == "") {
			t.Errorf("%.0f ppm: got %v %+v, want %v", ppm, bad, f, want)
		}
	}
}

// skipping notes that it was told not to hash.
type skipping struct {
	SyncReader
	told *bool
}

func (s skipping) SkipEssence() { *s.told = true }

// No recording is hashed while it is lined up, at other speeds neither.
func TestSynchroniseSpeedsSkipsEssence(t *testing.T) {
	var told []*bool
	var mu sync.Mutex // the two are opened at the same time
	noise := func(seed uint64) SyncSource {
		r := rand.New(rand.NewPCG(seed, 1))
		x := make([]float64, 5*8000)
		for i := range x {
			x[i] = 0.1 * r.NormFloat64()
		}
		open := syncFrom(8000, x)
		return func() (SyncReader, error) {
			r, err := open()
			skips := new(bool)
			mu.Lock()
			told = append(told, skips)
			mu.Unlock()
			return skipping{r, skips}, err
		}
	}
	synchronise(t, noise(1), noise(2), SyncOptions{Speeds: true})
	n := 0
	for _, s := range told {
		if *s {
			n++
		}
	}
	// Opened, too, once for each speed to look at the rate alone.
	if want := 2 + 2*len(otherSpeeds()); n != want {
		t.Errorf("%d of %d readers were told, want %d", n, len(told), want)
	}
}
