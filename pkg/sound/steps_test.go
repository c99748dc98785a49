package sound

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
)

// Steps measures what the samples of Next say, whatever their number and
// layout, and each step once.
func TestSteps(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 7))
	for _, bits := range []int{16, 24} {
		for _, channels := range []int{1, 2, 3} {
			for _, frames := range []int{1, 7, 480, 481, 12_345, 700_001} {
				t.Run(fmt.Sprintf("%d bit, %d channels, %d frames", bits, channels, frames), func(t *testing.T) {
					path := filepath.Join(t.TempDir(), "a.wav")
					writeNoise(t, path, random, bits, channels, frames)
					compareSteps(t, path, 11025)
				})
			}
		}
	}
}

func writeNoise(t *testing.T, path string, random *rand.Rand, bits, channels, frames int) {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := NewWriter(f, WriterOptions{SampleRate: 11025, Bits: bits, Channels: channels})
	if err != nil {
		t.Fatal(err)
	}
	x := planes(channels, frames)
	for c := range x {
		for i := range x[c] {
			x[c][i] = 2*random.Float64() - 1
		}
		x[c][random.IntN(frames)] = []float64{-1, 1}[c%2]
	}
	if err := errors.Join(w.Write(x), w.Close()); err != nil {
		t.Fatal(err)
	}
}

func compareSteps(t *testing.T, path string, rate int64) {
	t.Helper()
	r, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	ends := func(n int64) int64 { return ((n+1)*rate + 99) / 100 }
	var mu sync.Mutex
	got := map[int64]Step{}
	ok, err := r.Steps(context.Background(), ends, func(n int64, s Step) {
		mu.Lock()
		defer mu.Unlock()
		if _, twice := got[n]; twice {
			t.Errorf("step %d told twice", n)
		}
		got[n] = s
	})
	if !ok || err != nil {
		t.Fatalf("got %v, %v", ok, err)
	}
	want := map[int64]*Step{}
	n, frame := int64(0), int64(0)
	for {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		for i := range b.Samples[0] {
			if want[n] == nil {
				want[n] = &Step{First: frame}
			}
			for c := range b.Samples {
				v := b.Samples[c][i] * b.Samples[c][i]
				want[n].Squares += v
				want[n].Top = max(want[n].Top, v)
			}
			want[n].Frames++
			if frame++; frame == ends(n) {
				n++
			}
		}
	}
	if len(got) != len(want) {
		t.Fatalf("%d steps, want %d", len(got), len(want))
	}
	for n, w := range want {
		g := got[n]
		if g.First != w.First || g.Frames != w.Frames || math.Abs(g.Squares-w.Squares) > 1e-9*w.Squares || g.Top != w.Top {
			t.Errorf("step %d: got %+v, want %+v", n, g, *w)
		}
	}
}

// Floats and other widths are left to Next; a file that became shorter and a
// stopped context are told.
func TestStepsRefuse(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a.wav")
	writeNoise(t, path, rand.New(rand.NewPCG(1, 1)), 32, 1, 1000)
	r, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	none := func(n int64, s Step) { t.Errorf("step %d told: %+v", n, s) }
	ends := func(n int64) int64 { return 100 * (n + 1) }
	if ok, err := r.Steps(context.Background(), ends, none); ok || err != nil {
		t.Errorf("32 bit: got %v, %v, want not known", ok, err)
	}
	writeNoise(t, path, rand.New(rand.NewPCG(1, 1)), 16, 1, 1000)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, short := range []bool{false, true} {
		src := &shrinking{bytes.NewReader(data), int64(len(data))}
		r, err := NewReader(src, int64(len(data)), "a.wav")
		if err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithCancel(context.Background())
		if short {
			src.size = 500
		} else {
			cancel()
		}
		ok, err := r.Steps(ctx, ends, none)
		if want := map[bool]error{false: context.Canceled, true: ErrTruncated}[short]; !ok || !errors.Is(err, want) {
			t.Errorf("got %v, %v, want %v", ok, err, want)
		}
		cancel()
	}
}

// shrinking ends at size.
type shrinking struct {
	*bytes.Reader
	size int64
}

func (s *shrinking) ReadAt(b []byte, off int64) (int, error) {
	if off+int64(len(b)) > s.size {
		return 0, io.ErrUnexpectedEOF
	}
	return s.Reader.ReadAt(b, off)
}
