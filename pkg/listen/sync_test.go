package listen

import (
	"context"
	"errors"
	"math"
	"math/big"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/sound"
	"rushlight/pkg/timecode"
)

func syncFile(path string) SyncSource {
	return func() (SyncReader, error) { return sound.Open(path) }
}

// The demo's camera track: starts 7.4 s before the recorder, its clock 40 ppm
// fast, 8 bit, 75 s (samples/README.md; rendered with SoX's speed and rate).
func TestSynchroniseSamples(t *testing.T) {
	day2 := filepath.Join("..", "..", "samples", "day2")
	s := synchronise(t, syncFile(filepath.Join(day2, "D2-INT2.wav")), syncFile(filepath.Join(day2, "D2-CAM.wav")), SyncOptions{})
	t.Logf("offset %.6f s, %.3f ppm, confidence %.2f, overlap %s", s.Offset.Seconds(), s.DriftPPM, s.Confidence, s.Overlap)
	if off := math.Abs(s.Offset.Seconds() + 7.4); !s.Found || off > 0.001 || math.Abs(s.DriftPPM-40) > 1 || s.Confidence < 0.9 {
		t.Errorf("got %v %.6f s %.3f ppm confidence %.2f, want -7.4 s, 40 ppm", s.Found, s.Offset.Seconds(), s.DriftPPM, s.Confidence)
	}
	if got, want := s.Overlap.Out.Seconds(), 75/(1+40e-6)-7.4; s.Overlap.In != 0 || math.Abs(got-want) > 0.001 {
		t.Errorf("overlap %s, want 0 to %.3f s", s.Overlap, want)
	}
	s = synchronise(t, syncFile(filepath.Join(day2, "D2-INT2.wav")), syncFile(filepath.Join(day2, "D2-WALK.wav")), SyncOptions{})
	if s.Found {
		t.Errorf("D2-WALK is another talk: got %s, confidence %.2f", s.Offset, s.Confidence)
	}
}

// talkPair is ten dB worth of a talk heard twice.
func talkPair(t *testing.T, seed uint64, seconds, offset, ppm float64) (p syncPair, a, b []float64) {
	r := rand.New(rand.NewPCG(5, seed))
	p = makeSyncPair(r, syncVoices(t, "en"), seconds, offset, ppm)
	return p, syncNoise(r, p.a, 10), syncNoise(r, p.b, 10)
}

func wantSync(t *testing.T, p syncPair, s Sync, worstMs, worstPPM float64) {
	t.Helper()
	ms, ppm := p.errors(s)
	t.Logf("found %v, offset %.5f s, error %.4f ms, %+.3f ppm, confidence %.2f, %d windows", s.Found, s.Offset.Seconds(), ms, ppm, s.Confidence, len(s.Windows))
	if !s.Found || ms > worstMs || math.Abs(ppm) > worstPPM {
		t.Errorf("found %v, error %.3f ms, %+.2f ppm, want at most %.2f and %.2f", s.Found, ms, ppm, worstMs, worstPPM)
	}
}

// Pieces must hold talk: of ten of 6 s, 4 s, 3 s and 2.5 s, taken blindly at
// 10 dB, ten, nine, nine and five were found, none in a wrong place.
func TestSynchroniseLengths(t *testing.T) {
	tests := []struct {
		name            string
		seconds, offset float64 // of a; b goes on to the end of the talk
		cut             float64 // what is kept of b, 0 all
		ppm, worst      float64
	}{
		{"b is 20 s of 90", 90, 50, 20, 0, 5},
		{"b is 4 s of a minute", 60, 33.1, 4, 0, 30},
		{"b is 3 s of a minute", 60, 20.3, 3, 0, 200},
		{"both 4 s", 4, 0.4, 3, 0, 30},
		{"a begins late in b", 20, -60, 0, 50, 5},
		{"ten seconds in common", 60, 50, 0, -50, 30},
	}
	for i, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			p, a, b := talkPair(t, uint64(i), c.seconds, c.offset, c.ppm)
			if c.cut > 0 {
				b = b[:int(c.cut*float64(p.rate))]
			}
			wantSync(t, p, synchronise(t, syncFrom(p.rate, a), syncFrom(p.rate, b), SyncOptions{}), 3, c.worst)
			// And the other way round: the same moments.
			s := synchronise(t, syncFrom(p.rate, b), syncFrom(p.rate, a), SyncOptions{})
			if got := s.ToA(timecode.FromSeconds(c.offset + 0.5)).Seconds(); !s.Found || math.Abs(got-0.5) > 0.003 {
				t.Errorf("turned round: found %v, %.4f s, want 0.5", s.Found, got)
			}
		})
	}
}

func TestSynchroniseNothing(t *testing.T) {
	p, a, b := talkPair(t, 20, 30, 0, 0)
	noise := pinkNoise(30*p.rate, rand.New(rand.NewPCG(1, 1)))
	tone := make([]float64, 30*p.rate)
	for i := range tone {
		tone[i] = 0.1 * math.Sin(2*math.Pi*1000*float64(i)/float64(p.rate))
	}
	bad := make([]float64, 8000)
	for i := range bad {
		bad[i] = []float64{math.NaN(), math.Inf(1), math.Inf(-1)}[i%3]
	}
	tests := []struct {
		name string
		a, b []float64
	}{
		{"silence", make([]float64, 30*p.rate), b},
		{"silence both", make([]float64, 30*p.rate), make([]float64, 8*p.rate)},
		{"noise", a, noise},
		{"one tone", a, tone},
		{"nothing in common in time", a[:12*p.rate], a[14*p.rate:]},
		{"no samples", nil, b},
		{"one sample", a[9000:9001], b},
		{"a tenth of a second", a[9000:9800], b},
		{"no numbers", bad, b},
		{"no numbers at all", bad, bad},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			wrong := 3 * timecode.Second
			for _, g := range []*timecode.Ticks{nil, &wrong} {
				s := synchronise(t, syncFrom(p.rate, c.a), syncFrom(p.rate, c.b), SyncOptions{Guess: g})
				if s.Found || s.Confidence != 0 || s.GuessError != nil {
					t.Errorf("got offset %s, confidence %.2f, want not found", s.Offset, s.Confidence)
				}
			}
		})
	}
}

func TestSynchroniseSame(t *testing.T) {
	p, a, _ := talkPair(t, 30, 60, 0, 0)
	s := synchronise(t, syncFrom(p.rate, a), syncFrom(p.rate, a), SyncOptions{})
	if d := s.Offset.Seconds(); !s.Found || math.Abs(d) > 1e-6 || math.Abs(s.DriftPPM) > 0.01 || s.Confidence < 0.99 {
		t.Errorf("got %v %g s %g ppm confidence %.3f, want 0", s.Found, d, s.DriftPPM, s.Confidence)
	}
	if want := (timecode.Span{Out: timecode.Minute}); math.Abs((s.Overlap.Out - want.Out).Seconds()) > 1e-6 {
		t.Errorf("overlap %s, want %s", s.Overlap, want)
	}
	// Opposite polarity.
	flipped := make([]float64, len(a))
	mix(flipped, a, 0, -0.5)
	if s = synchronise(t, syncFrom(p.rate, a), syncFrom(p.rate, flipped), SyncOptions{}); !s.Found || math.Abs(s.Offset.Seconds()) > 1e-6 {
		t.Errorf("flipped: found %v, %g s, want 0", s.Found, s.Offset.Seconds())
	}
}

func TestSynchroniseGuess(t *testing.T) {
	p, a, b := talkPair(t, 40, 40, 7, 30)
	for _, c := range []struct {
		name  string
		guess float64
		reads bool // both have to be heard from end to end
	}{{"right", 7, false}, {"two frames off", 7.08, false}, {"far off", 3600, true}, {"before the beginning", -3600, true}, {"eleven seconds off", -4, true}} {
		t.Run(c.name, func(t *testing.T) {
			g := timecode.FromSeconds(c.guess)
			read := 0
			count := func() (SyncReader, error) {
				return counting{syncScene{newScene(p.rate, a)}, &read}, nil
			}
			s := synchronise(t, count, syncFrom(p.rate, b), SyncOptions{Guess: &g})
			wantSync(t, p, s, 1, 5)
			if s.GuessError == nil || math.Abs(s.GuessError.Seconds()-(c.guess-7)) > 0.001 {
				t.Errorf("guess error %v, want %.3f s", s.GuessError, c.guess-7)
			}
			t.Logf("%.0f s of %.0f read", float64(read)/float64(p.rate), float64(len(a))/float64(p.rate))
		})
	}
}

// counting counts the samples it gives.
type counting struct {
	SyncReader
	n *int
}

func (c counting) Next() (sound.Block, error) {
	b, err := c.SyncReader.Next()
	if err == nil {
		*c.n += len(b.Samples[0])
	}
	return b, err
}

// A recorder stopped and went on: two seconds are missing in b at three
// quarters. The longer part tells; the other's windows are not used.
func TestSynchroniseCut(t *testing.T) {
	p, a, b := talkPair(t, 50, 120, 5, 0)
	at := 80 * p.rate
	b = append(append([]float64(nil), b[:at]...), b[at+2*p.rate:]...)
	s := synchronise(t, syncFrom(p.rate, a), syncFrom(p.rate, b), SyncOptions{})
	wantSync(t, p, s, 1, 3)
	for _, w := range s.Windows {
		if after := w.At.Seconds() > 5+80+8.2; after == w.Used && w.At.Seconds() < 5+80-8.2 {
			t.Errorf("window at %s used: %v", w.At, w.Used)
		}
	}
	if s.Confidence > 0.9 {
		t.Errorf("confidence %.2f, want less where a third doesn't agree", s.Confidence)
	}
}

// A clock that is far out is found only when asked for.
func TestSynchroniseMaxDrift(t *testing.T) {
	p, a, b := talkPair(t, 55, 60, -3, 1000)
	wantSync(t, p, synchronise(t, syncFrom(p.rate, a), syncFrom(p.rate, b), SyncOptions{MaxDrift: 1000}), 1, 3)
	if s := synchronise(t, syncFrom(p.rate, a), syncFrom(p.rate, b), SyncOptions{}); s.Found {
		t.Errorf("without asking: got %.1f ppm, want not found over 200", s.DriftPPM)
	}
}

// Channels that are no help: recorded timecode (a square wave with a changing
// period), a dead one, one of opposite polarity.
func TestSynchroniseChannels(t *testing.T) {
	p, a, b := talkPair(t, 60, 40, 4, -20)
	flipped, square, dead := make([]float64, len(a)), make([]float64, len(a)), make([]float64, len(a))
	mix(flipped, a, 0, -1)
	r := rand.New(rand.NewPCG(6, 6))
	for i, v := 0, 0.5; i < len(a); i++ {
		if i%4 == 0 && (i%8 == 0 || r.IntN(2) == 0) {
			v = -v
		}
		square[i] = v
	}
	for _, c := range []struct {
		name string
		x    [][]float64
	}{
		{"timecode first", [][]float64{square, a}},
		{"dead first", [][]float64{dead, a}},
		{"opposite polarity", [][]float64{a, flipped}},
		{"all", [][]float64{dead, square, a, flipped}},
	} {
		t.Run(c.name, func(t *testing.T) {
			wantSync(t, p, synchronise(t, syncFrom(p.rate, c.x...), syncFrom(p.rate, b), SyncOptions{}), 1, 3)
		})
	}
}

// SoX, another program, changes speed and rates: 48 kHz 24 bit against
// 44.1 kHz 16 bit, and 96 kHz, 22.05 kHz, 32 kHz.
func TestSynchroniseRates(t *testing.T) {
	if _, err := exec.LookPath("sox"); err != nil {
		t.Skip("sox not found: apt-get install sox")
	}
	p, a, _ := talkPair(t, 70, 60, 0, 0)
	dir := t.TempDir()
	in := filepath.Join(dir, "in.wav")
	writeSyncWAV(t, in, p.rate, a)
	run := func(args ...string) {
		if out, err := exec.Command("sox", args...).CombinedOutput(); err != nil {
			t.Skipf("sox %v: %v: %s", args, err, out)
		}
	}
	for _, c := range []struct{ rateA, rateB string }{{"48000", "44100"}, {"96000", "22050"}, {"32000", "8000"}, {"11025", "48000"}} {
		t.Run(c.rateA+" and "+c.rateB, func(t *testing.T) {
			fa, fb := filepath.Join(dir, "a"+c.rateA+".wav"), filepath.Join(dir, "b"+c.rateB+".wav")
			run("-D", in, "-b", "24", "-r", c.rateA, fa)
			// Two and a half seconds later, 60 ppm longer.
			run("-D", in, "-b", "16", "-r", c.rateB, fb, "trim", "2.5", "speed", "0.9999400036")
			s := synchronise(t, syncFile(fa), syncFile(fb), SyncOptions{})
			t.Logf("offset %.6f s, %.3f ppm, confidence %.2f", s.Offset.Seconds(), s.DriftPPM, s.Confidence)
			if !s.Found || math.Abs(s.Offset.Seconds()-2.5) > 0.0002 || math.Abs(s.DriftPPM-60) > 1 {
				t.Errorf("found %v, %.6f s, %.3f ppm, want 2.5 s, 60 ppm", s.Found, s.Offset.Seconds(), s.DriftPPM)
			}
		})
	}
}

func writeSyncWAV(t *testing.T, path string, rate int, x []float64) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	w, err := sound.NewWriter(f, sound.WriterOptions{SampleRate: rate, Channels: 1, Bits: 24})
	if err == nil {
		err = errors.Join(w.Write([][]float64{x}), w.Close(), f.Close())
	}
	if err != nil {
		t.Fatal(err)
	}
}

func TestSynchroniseErrors(t *testing.T) {
	ok := syncFrom(8000, make([]float64, 80000))
	broken := errors.New("broken")
	tests := []struct {
		name string
		a, b SyncSource
		want error
	}{
		{"a doesn't open", func() (SyncReader, error) { return nil, broken }, ok, broken},
		{"b doesn't open", ok, func() (SyncReader, error) { return nil, broken }, broken},
		{"no channels", syncFrom(8000), ok, ErrSync},
		{"2 kHz", ok, syncFrom(2000, make([]float64, 8000)), ErrSync},
		{"0 Hz", ok, syncFrom(0, make([]float64, 8000)), ErrSync},
	}
	for _, c := range tests {
		if _, err := Synchronise(context.Background(), c.a, c.b, SyncOptions{}); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, err, c.want)
		}
	}
	p, a, b := talkPair(t, 80, 30, 2, 0)
	ctx, stop := context.WithCancel(context.Background())
	last, calls := 0.0, 0
	_, err := Synchronise(ctx, syncFrom(p.rate, a), syncFrom(p.rate, b), SyncOptions{Progress: func(done float64) {
		if done < last || done > 1 {
			t.Errorf("progress %g after %g", done, last)
		}
		last = done
		if calls++; calls == 3 {
			stop()
		}
	}})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want canceled", err)
	}
}

func TestSyncPlaces(t *testing.T) {
	s := Sync{Offset: -timecode.FromMillis(7400), DriftPPM: 40}
	// (60 + 7.4) s · 1.00004 = 67.402696 s.
	if got, want := s.ToB(timecode.Minute), timecode.FromSeconds(67.402696); got != want {
		t.Errorf("got %d, want %d", got, want)
	}
	rapid.Check(t, func(t *rapid.T) {
		day := int64(10 * timecode.Day)
		s := Sync{Offset: timecode.Ticks(rapid.Int64Range(-day, day).Draw(t, "offset"))}
		s.DriftPPM = float64(rapid.Int64Range(-1e9, 1e9).Draw(t, "drift")) / 1e6
		at := timecode.Ticks(rapid.Int64Range(-day, day).Draw(t, "at"))
		// math/big is the reference.
		v := new(big.Rat).SetFrac64(trillion+s.perTrillion(), trillion)
		v.Mul(v, new(big.Rat).SetInt64(int64(at-s.Offset)))
		off := new(big.Rat).Sub(v, new(big.Rat).SetInt64(int64(s.ToB(at))))
		if off.Abs(off).Cmp(big.NewRat(1, 2)) > 0 {
			t.Fatalf("ToB(%d) = %d, off by %s", at, s.ToB(at), off.FloatString(3))
		}
		if back := s.ToA(s.ToB(at)); back-at > 1 || at-back > 1 {
			t.Fatalf("there and back: got %d, want %d", back, at)
		}
	})
}
