package listen

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"
)

// syncHum adds mains hum with harmonics, the same phase in every recording: what
// strangers can have in common.
func syncHum(x []float64, rate int, level float64) {
	for k := 1; k <= 20; k++ {
		for i := range x {
			x[i] += level / float64(k) * math.Sin(2*math.Pi*50*float64(k)*float64(i)/float64(rate))
		}
	}
}

// Fifty pairs of recordings that have nothing in common: the same voices
// (Debian's), no saying twice, rooms and noise as in TestSynchroniseBuilt; each
// third pair on the same mains hum.
func TestSynchroniseStrangers(t *testing.T) {
	pairs, minutes := 3, 0.6
	if syncSlow {
		pairs, minutes = 50, 3
	}
	en, es := syncVoices(t, "en"), syncVoices(t, "es")
	locks := 0
	for i := range pairs {
		r := rand.New(rand.NewPCG(77, uint64(i)))
		var half [2][]clip
		for k, c := range append(append([]clip(nil), en...), es...) {
			half[k%2] = append(half[k%2], c)
		}
		if i%2 == 1 { // not even the language
			half = [2][]clip{en, es}
		}
		snr := []float64{30, 20, 10, 0}[i%4]
		var x [2][]float64
		for k := range x {
			talk := syncTalk(r, half[k], 8000, 60*minutes*(1+r.Float64()))
			x[k] = syncNoise(r, syncConvolve(talk, syncRoom(r, 8000, 0.3+0.4*float64(k), 0)), snr)
			if i%3 == 2 {
				syncHum(x[k], 8000, 0.02)
			}
		}
		s := synchronise(t, syncFrom(8000, x[0]), syncFrom(8000, x[1]), SyncOptions{Speeds: true})
		var top float64
		for _, w := range s.Windows {
			top = max(top, w.Peak)
		}
		t.Logf("pair %d, %.0f dB: found %v, highest peak %.1f", i, snr, s.Found, top)
		if s.Found {
			locks++
			t.Errorf("pair %d: offset %s, %.1f ppm, confidence %.2f, want not found", i, s.Offset, s.DriftPPM, s.Confidence)
		}
	}
	t.Logf("FIGURE | Listening | lining up unrelated pairs, five speeds each | %d false locks in %d pairs | none", locks, pairs)
}

// Pieces of one to six seconds against a minute of strangers: the less there
// is, the more looks alike.
func TestSynchroniseShortStrangers(t *testing.T) {
	pairs := 4
	if syncSlow {
		pairs = 200
	}
	en, es := syncVoices(t, "en"), syncVoices(t, "es")
	r := rand.New(rand.NewPCG(78, 0))
	var half [2][]clip
	for k, c := range append(append([]clip(nil), en...), es...) {
		half[k%2] = append(half[k%2], c)
	}
	locks, top := 0, 0.0
	for i := range pairs {
		a := syncNoise(r, syncConvolve(syncTalk(r, half[0], 8000, 60), syncRoom(r, 8000, 0.3, 0)), 30)
		b := syncNoise(r, syncTalk(r, half[1], 8000, 1.5+5*r.Float64())[4000:], 30)
		s := synchronise(t, syncFrom(8000, a), syncFrom(8000, b), SyncOptions{})
		for _, w := range s.Windows {
			top = max(top, w.Peak)
		}
		if s.Found {
			locks++
			t.Errorf("pair %d, %.1f s: offset %s, confidence %.2f, want not found", i, float64(len(b))/8000, s.Offset, s.Confidence)
		}
	}
	t.Logf("%d false locks in %d pairs, highest peak %.1f", locks, pairs, top)
}

// Nine excerpts of real meetings (corpora/meetings), each with each: 36 pairs
// of strangers in real rooms. Normally the first four with each.
func TestSynchroniseMeetings(t *testing.T) {
	files, _ := filepath.Glob(filepath.Join(corpora(t), "meetings", "*.wav"))
	if len(files) == 0 {
		t.Skip("corpora/meetings not found: set RUSHLIGHT_CORPORA")
	}
	if !syncSlow {
		files = files[:min(4, len(files))]
	}
	var rooms []SyncSource
	for _, f := range files {
		x, rate, err := readWAV(f)
		if err != nil {
			t.Fatal(err)
		}
		rooms = append(rooms, syncFrom(rate, x))
	}
	pairs, locks, top := 0, 0, 0.0
	for i, a := range rooms {
		for j, b := range rooms[:i] {
			s := synchronise(t, a, b, SyncOptions{})
			pairs++
			for _, w := range s.Windows {
				top = max(top, w.Peak)
			}
			if s.Found {
				locks++
				t.Errorf("%s and %s: offset %s, confidence %.2f, want not found", files[i], files[j], s.Offset, s.Confidence)
			}
		}
	}
	t.Logf("%d false locks in %d pairs, highest peak %.1f", locks, pairs, top)
}
