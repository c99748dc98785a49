package listen

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"rushlight/pkg/sound"
	"rushlight/pkg/timecode"
)

func faultsOf(t testing.TB, src Source) []Fault {
	t.Helper()
	f, err := Faults(context.Background(), src, FaultOptions{})
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// The demo shoot has hum in the winch shed and none on the landing
// (samples/README.md).
func TestFaultsOfSamples(t *testing.T) {
	for _, tt := range []struct {
		file string
		hum  bool
	}{{"D1-INT1", true}, {"D1-WILF", false}} {
		r, err := sound.Open("../../samples/day1/" + tt.file + ".wav")
		if err != nil {
			t.Fatal(err)
		}
		hum := 0
		for _, f := range faultsOf(t, r) {
			if f.Kind != FaultHum {
				continue
			}
			hum++
			if !strings.Contains(f.What, "50.0 Hz") || f.Length() < r.Info().Duration()*9/10 {
				t.Errorf("%s: got %s, want 50 Hz nearly all the time", tt.file, f)
			}
		}
		if (hum == 1) != tt.hum || hum > 1 {
			t.Errorf("%s: got %d times hum, want %v", tt.file, hum, tt.hum)
		}
		r.Close()
	}
}

// turned is a source with one channel upside down.
type turned struct {
	Source
	channel int
}

func (s turned) Next() (sound.Block, error) {
	b, err := s.Source.Next()
	if err == nil {
		for i, v := range b.Samples[s.channel] {
			b.Samples[s.channel][i] = -v
		}
	}
	return b, err
}

// The demo's boom and lavaliers (milliseconds apart, with bleed, wind and
// engine) are wired alike; one turned over is found against each other.
func TestFaultsPolarityOfSamples(t *testing.T) {
	for _, tt := range []struct {
		file string
		turn int
		want string
	}{
		{"day1/D1-WILF", -1, "[]"},
		{"day1/D1-WILF", 1, "[[0 1]]"},
		{"day2/D2-INT2", -1, "[]"},
		{"day2/D2-INT2", 1, "[[0 1] [1 2]]"},
		{"day2/D2-INT2", 0, "[[0 1] [0 2]]"},
	} {
		r, err := sound.Open("../../samples/" + tt.file + ".wav")
		if err != nil {
			t.Fatal(err)
		}
		var src Source = r
		if tt.turn >= 0 {
			src = turned{r, tt.turn}
		}
		pairs := [][2]int{}
		for _, f := range faultsOf(t, src) {
			if f.Kind == FaultPolarity {
				pairs = append(pairs, [2]int{f.Channel, f.Other})
			}
		}
		if got := fmt.Sprint(pairs); got != tt.want {
			t.Errorf("%s, channel %d turned: got %s, want %s", tt.file, tt.turn, got, tt.want)
		}
		r.Close()
	}
}

// Signals whose answers are known by calculation.
func TestFaultsMade(t *testing.T) {
	const rate = 48000
	r := rand.New(rand.NewPCG(1, 1))
	noise := func(level float64) []float64 {
		x := make([]float64, 20*rate)
		for i := range x {
			x[i] = db(level) * r.NormFloat64()
		}
		return x
	}
	add := func(x []float64, f func(i int) float64) []float64 {
		for i := range x {
			x[i] += f(i)
		}
		return x
	}
	sine := func(hz, level float64) func(i int) float64 {
		return func(i int) float64 { return db(level) * math.Sin(2*math.Pi*hz*float64(i)/rate) }
	}
	// Three poles at 200 Hz: even below 100 Hz, as wind is after a low cut. Of
	// its power, 39/117.8 lie between 6 and 45 Hz: −4.8 dB; the loudest of 70
	// seconds is about 2 dB over their mean.
	wind := func(level float64) func(i int) float64 {
		x := noise(0)
		a := 1 - math.Exp(-2*math.Pi*200/rate)
		var low [3]float64
		for i, v := range x {
			for j := range low {
				low[j] += a * (v - low[j])
				v = low[j]
			}
			x[i] = v
		}
		g := db(level) / rms(x)
		return func(i int) float64 { return g * x[i] }
	}
	clipped := add(noise(-50), sine(440, 0))
	for i, v := range clipped {
		clipped[i] = math.Max(-0.5, math.Min(0.5, v))
	}
	both := noise(-26)
	upside := make([]float64, len(both))
	for i := range both {
		upside[i] = -both[i]
	}
	for _, tt := range []struct {
		name  string
		x     [][]float64
		want  []FaultKind
		value float64 // of the first
	}{
		{"noise", [][]float64{noise(-26)}, nil, 0},
		{"a tone that isn't the mains'", [][]float64{add(noise(-40), sine(217, -40))}, nil, 0},
		{"a low tone between both mains", [][]float64{add(noise(-40), sine(55, -40))}, nil, 0},
		{"a pure tone at full level", [][]float64{add(noise(-70), sine(100.9, -1))}, nil, 0},
		{"50 Hz alone", [][]float64{add(noise(-34), sine(50, -37))}, []FaultKind{FaultHum}, -40},
		{"60 Hz and 180 Hz", [][]float64{add(add(noise(-30), sine(60, -47)), sine(180, -47))}, []FaultKind{FaultHum}, -47},
		{"cut at half scale", [][]float64{clipped}, []FaultKind{FaultClipping}, -6},
		{"12 Hz", [][]float64{add(noise(-26), sine(12, -27))}, []FaultKind{FaultRumble}, -30},
		{"wind after a low cut", [][]float64{add(noise(-50), wind(-22))}, []FaultKind{FaultRumble}, -25},
		{"as even, far under the sound", [][]float64{add(noise(-26), wind(-41))}, nil, 0},
		{"zero line", [][]float64{add(noise(-26), func(int) float64 { return -0.1 })}, []FaultKind{FaultOffset}, -10},
		{"quiet", [][]float64{noise(-70)}, []FaultKind{FaultLow}, -69},
		{"silence", [][]float64{make([]float64, 3*rate)}, []FaultKind{FaultDead}, 3},
		{"one turned over", [][]float64{both, upside}, []FaultKind{FaultPolarity}, 100},
		{"both the same", [][]float64{both, both}, nil, 0},
		{"nothing in common", [][]float64{noise(-26), noise(-26)}, nil, 0},
	} {
		got := faultsOf(t, newScene(rate, tt.x...))
		if len(got) != len(tt.want) {
			t.Errorf("%s: got %v, want %v", tt.name, got, tt.want)
			continue
		}
		for i, f := range got {
			if f.Kind != tt.want[i] || i == 0 && math.Abs(f.Value-tt.value) > 2 {
				t.Errorf("%s: got %s (%g), want %s (%g)", tt.name, f, f.Value, tt.want[i], tt.value)
			}
			if strings.Contains(f.What, " -") {
				t.Errorf("%s: got %q, want a minus sign", tt.name, f.What)
			}
			if f.What == "" || f.Do == "" || f.Severity == "" {
				t.Errorf("%s: got %+v, want words", tt.name, f)
			}
		}
	}
}

// A recording ruined from end to end gives a few lines, not thousands.
func TestFaultsAreMerged(t *testing.T) {
	const rate = 8000
	r := rand.New(rand.NewPCG(2, 2))
	x := make([]float64, 600*rate)
	for i := range x {
		x[i] = 0.02 * r.NormFloat64()
	}
	for at := 0; at < len(x); at += 300 + r.IntN(9*rate) {
		clear(x[at:min(len(x), at+40)])
	}
	got := faultsOf(t, newScene(rate, x))
	if len(got) == 0 || len(got) > faultMost {
		t.Errorf("got %d findings, want 1 to %d", len(got), faultMost)
	}
	for i, f := range got {
		if f.Kind != FaultDropout || i > 0 && f.In < got[i-1].Out {
			t.Errorf("got %s after %s", f, got[max(0, i-1)])
		}
	}
}

// The result does not depend on how the sound is cut into blocks.
func TestFaultsBlocks(t *testing.T) {
	s := newFaultScene(t, "en", 8000, 5)
	injectClipping(s, 2)
	injectHum(s, 2)
	var want []Fault
	for i, n := range []int{4096, 1, 7, 79, 80, 81, 160, 100000} {
		src := s.source()
		src.block = n
		got := faultsOf(t, src)
		if i == 0 {
			want = got
		}
		same := len(got) == len(want) && len(got) > 0
		for k := range got {
			same = same && got[k] == want[k]
		}
		if !same {
			t.Errorf("blocks of %d: got %v, want %v", n, got, want)
		}
	}
}

func TestFaultsOdd(t *testing.T) {
	noise := pinkNoise(192000, rand.New(rand.NewPCG(3, 3)))
	for _, rate := range []int{1, 7, 99, 1000, 3000, 8000, 44100, 192000} {
		for _, n := range []int{1, 2, 3, 100, 4001, len(noise)} {
			for _, channels := range []int{1, 2, 64} {
				if channels == 64 && n > 4001 {
					continue
				}
				x := make([][]float64, channels)
				for c := range x {
					x[c] = noise[:n]
				}
				for _, f := range faultsOf(t, newScene(rate, x...)) {
					if f.Empty() || math.IsNaN(f.Value) || math.IsInf(f.Value, 0) || f.Out > timecode.FromSamples(int64(n), rate) {
						t.Errorf("%d Hz, %d samples, %d channels: got %+v", rate, n, channels, f)
					}
				}
			}
		}
	}
	bad := []float64{math.NaN(), math.Inf(1), math.Inf(-1), 1e300, -1e300}
	x := append(append([]float64{}, bad...), noise[:48000]...)
	for _, f := range faultsOf(t, newScene(48000, append(x, bad...))) {
		if math.IsNaN(f.Value) || math.IsInf(f.Value, 0) {
			t.Errorf("no numbers: got %+v", f)
		}
	}
	if _, err := Faults(context.Background(), newScene(0), FaultOptions{}); !errors.Is(err, ErrSource) {
		t.Errorf("no channels: got %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	stop()
	if _, err := Faults(ctx, newScene(8000, noise), FaultOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: got %v", err)
	}
}

// One minute at 48 kHz; MB/s are millions of samples.
func BenchmarkFaults(b *testing.B) {
	r := rand.New(rand.NewPCG(4, 4))
	x := pinkNoise(60*48000, r)
	for i := range x {
		x[i] *= 0.05 * (1 + math.Sin(float64(i)/9000))
	}
	b.SetBytes(int64(len(x)))
	for b.Loop() {
		src := newScene(48000, x)
		src.block = 43690
		if _, err := Faults(context.Background(), src, FaultOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}
