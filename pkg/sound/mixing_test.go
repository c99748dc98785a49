package sound

import (
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"rushlight/pkg/timecode"
)

// Talk isn't lost to a channel of opposite polarity, to one on which nothing
// is, or to an offset; microphones that hear it late are averaged as they are.
func TestMixing(t *testing.T) {
	const n = 48000
	talk := func(gain float64, late int, offset float64) []float64 {
		x := make([]float64, n)
		for i := range x {
			at := float64(i - late)
			x[i] = offset + gain*(math.Sin(at*0.02)+math.Sin(at*0.0713+1)+math.Sin(at*0.171+2))
		}
		return x
	}
	for _, tt := range []struct {
		name             string
		channels         [][]float64
		use, turn, leave []int
		level            float64 // of the mix beside the first channel
	}{
		{"alike", [][]float64{talk(0.2, 0, 0), talk(0.2, 0, 0)}, []int{0, 1}, nil, nil, 1},
		{"opposite", [][]float64{talk(0.2, 0, 0), talk(-0.2, 0, 0)}, []int{0, 1}, []int{1}, nil, 1},
		{"opposite, the second louder, with offsets", [][]float64{talk(-0.1, 0, 0.3), talk(0.2, 0, 0.3)}, []int{0, 1}, []int{0}, nil, 1.5},
		{"dead", [][]float64{talk(0.2, 0, 0), make([]float64, n)}, []int{0}, nil, []int{1}, 1},
		{"next to dead, and a constant offset", [][]float64{talk(0.2, 0, 0), talk(0.0001, 0, 0.1)}, []int{0}, nil, []int{1}, 1},
		{"one of three opposite", [][]float64{talk(0.2, 0, 0), talk(-0.2, 0, 0), talk(0.2, 0, 0)}, []int{0, 1, 2}, []int{1}, nil, 1},
		{"one", [][]float64{talk(0.2, 0, 0)}, []int{0}, nil, nil, 1},
		{"silence", [][]float64{make([]float64, n), make([]float64, n)}, []int{0, 1}, nil, nil, 1},
	} {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			path, mixed := filepath.Join(dir, "take.wav"), filepath.Join(dir, "out.wav")
			if err := os.WriteFile(path, written(t, WriterOptions{48000, 24, len(tt.channels), nil}, tt.channels), 0o600); err != nil {
				t.Fatal(err)
			}
			span := timecode.Span{In: timecode.Second / 10, Out: timecode.Second * 9 / 10}
			m, err := MixingOf(t.Context(), path, []timecode.Span{span})
			if err != nil {
				t.Fatal(err)
			}
			if !slices.Equal(m.Use, tt.use) || !slices.Equal(m.Turn, tt.turn) || !slices.Equal(m.Leave, tt.leave) {
				t.Errorf("got %+v, want %v, turned %v, left %v", m, tt.use, tt.turn, tt.leave)
			}
			_, err = WriteStringout(t.Context(), mixed, []Piece{{Path: path, In: span.In, Out: span.Out, Channels: m.Use, Turned: m.Turn}}, StringoutOptions{})
			if err != nil {
				t.Fatal(err)
			}
			r, err := Open(mixed)
			if err != nil {
				t.Fatal(err)
			}
			defer r.Close()
			var got [][]float64
			for {
				b, err := r.Next()
				if err != nil {
					break
				}
				got = [][]float64{append(slices.Concat(got...), b.Samples[0]...)}
			}
			first := tt.channels[0][4800 : 4800+len(got[0])]
			if want := tt.level * spread(first); math.Abs(spread(got[0])-want) > 0.01*want+1e-6 {
				t.Errorf("the mix has level %.4f, want %.4f", spread(got[0]), want)
			}
			// The same by blocks in memory.
			avg := m.Average(tt.channels, nil)[4800 : 4800+len(got[0])]
			for i := 480; i < len(avg)-480; i++ { // beside the fades
				if math.Abs(avg[i]-got[0][i]) > 1e-6 {
					t.Fatalf("sample %d: %.7f in the stringout, %.7f averaged", i, got[0][i], avg[i])
				}
			}
		})
	}
}

// spread is the standard deviation.
func spread(x []float64) float64 {
	var sum, squares float64
	for _, v := range x {
		sum += v
		squares += v * v
	}
	n := float64(len(x))
	return math.Sqrt(max(0, squares/n-sum/n*sum/n))
}
