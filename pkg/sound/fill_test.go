package sound

import (
	"context"
	"errors"
	"io"
	"math"
	"path/filepath"
	"strings"
	"testing"
)

// tone is a FillSource of n frames of one value per channel.
type tone struct {
	info   Info
	values []float64
	at     int64
	closed int
	err    error
}

func newTone(rate int, n int64, values ...float64) *tone {
	return &tone{info: Info{SampleRate: rate, Channels: len(values), Frames: n, Bits: 24, ValidBits: 24}, values: values}
}

func (s *tone) Info() Info { return s.info }

func (s *tone) Next() (Block, error) {
	n := min(1000, s.info.Frames-s.at)
	if s.err != nil && s.at > 2000 {
		return Block{}, s.err
	}
	if n <= 0 {
		return Block{}, io.EOF
	}
	b := Block{Start: s.at, Samples: planes(len(s.values), int(n))}
	for c, v := range s.values {
		for i := range b.Samples[c] {
			b.Samples[c][i] = v
		}
	}
	s.at += n
	return b, nil
}

func (s *tone) Close() error { s.closed++; return nil }

// silent is two pieces of silence with handles of 50 ms and a gap of 500 ms:
// what is heard is the filling alone.
func silent(t *testing.T) []Piece {
	path := source(t, WriterOptions{48000, 24, 1, nil}, 2*48000, func(int, int) float64 { return 0 })
	p := Piece{Path: path, In: 500 * ms, Out: 1000 * ms, Lead: 50 * ms, Tail: 50 * ms}
	return []Piece{p, p, p}
}

// The filling is as long as the gap with both fades, its level that of its
// channels' average, at any rate; its fades are the quarter sines that make
// equal power with those of the pieces.
func TestFill(t *testing.T) {
	const first, gap, fade = 28800, 24000, 480
	tests := []struct {
		name     string
		source   *tone
		channels int
		want     []float64
	}{
		{"mono", newTone(48000, 100_000, 0.25), 1, []float64{0.25}},
		{"stereo to mono", newTone(48000, 100_000, 0.5, 0.25), 1, []float64{0.375}},
		{"stereo kept", newTone(48000, 100_000, 0.5, 0.25), 2, []float64{0.5, 0.25}},
		{"mono to stereo", newTone(48000, 100_000, 0.25), 2, []float64{0.25, 0.25}},
		{"another rate", newTone(44100, 100_000, 0.25), 1, []float64{0.25}},
		{"half the rate, just long enough", newTone(24000, 12_480, 0.25), 1, []float64{0.25}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var asked []int
			got, rep := stringout(t, silent(t), StringoutOptions{Gap: 500 * ms, Channels: tt.channels, Fill: func(i int) (FillSource, error) {
				if asked = append(asked, i); i > 0 {
					return nil, nil
				}
				return tt.source, nil
			}})
			if len(asked) != 2 || asked[0] != 0 || asked[1] != 1 || tt.source.closed != 1 || len(rep.Notes) > 0 {
				t.Errorf("asked for gaps %v, closed %d times, notes %q; want 0 and 1, once, none", asked, tt.source.closed, rep.Notes)
			}
			if rep.Frames != 3*first+2*gap {
				t.Errorf("got %d frames, want %d", rep.Frames, 3*first+2*gap)
			}
			for c, level := range tt.want {
				for i, v := range got[c] {
					in := math.Sin(math.Pi / 2 * (float64(i-(first-fade)) + 0.5) / fade)
					out := math.Sin(math.Pi / 2 * (float64(first+gap+fade-1-i) + 0.5) / fade)
					want := level
					switch {
					case i < first-fade || i >= first+gap+fade:
						want = 0
					case i < first:
						want *= in
					case i >= first+gap:
						want *= out
					}
					// Resampling begins and ends against silence, under the fades.
					near := i < first-fade+100 || i >= first+gap+fade-100
					tolerance := 1e-6
					if tt.source.info.SampleRate != 48000 {
						tolerance = 1e-4
						if near {
							tolerance = 0.3 * level
						}
					}
					if math.Abs(v-want) > tolerance {
						t.Fatalf("channel %d, frame %d: got %v, want %v", c, i, v, want)
					}
				}
			}
		})
	}
}

// The words themselves are not touched where they have handles; where they
// have none, the joint takes the usual millisecond.
func TestFillLeavesWordsAlone(t *testing.T) {
	path := counting(t, 4*48000)
	pieces := []Piece{
		{Path: path, In: 1000 * ms, Out: 1500 * ms, Lead: 50 * ms, Tail: 50 * ms},
		{Path: path, In: 3000 * ms, Out: 3500 * ms, Lead: 50 * ms, Tail: 50 * ms},
		{Path: path, In: 2000 * ms, Out: 2005 * ms},
	}
	fill := func(int) (FillSource, error) { return newTone(48000, 100_000, 0.1), nil }
	plain, want := stringout(t, pieces, StringoutOptions{Gap: 300 * ms})
	got, rep := stringout(t, pieces, StringoutOptions{Gap: 300 * ms, Fill: fill})
	if rep.Frames != want.Frames {
		t.Fatalf("got %d frames, want %d as without filling", rep.Frames, want.Frames)
	}
	for i, p := range rep.Placed {
		edge := int64(0)
		if i == 2 {
			edge = 48
		}
		for k := p.Start + edge; k < p.End-edge; k++ {
			if got[0][k] != plain[0][k] {
				t.Fatalf("piece %d, frame %d: got %v, want %v", i+1, k, got[0][k], plain[0][k])
			}
		}
	}
}

func TestFillThatFails(t *testing.T) {
	broken := errors.New("medium error")
	tests := []struct {
		name string
		fill func() (FillSource, error)
		want error
		note string
	}{
		{"too short", func() (FillSource, error) { return newTone(48000, 4800, 0.25), nil }, nil, "the rest is silence"},
		{"empty", func() (FillSource, error) { return newTone(48000, 0, 0.25), nil }, nil, "the rest is silence"},
		{"ends before it said", func() (FillSource, error) {
			s := newTone(48000, 4800, 0.25)
			return &shortTone{s}, nil
		}, nil, ""},
		{"no source", func() (FillSource, error) { return nil, broken }, broken, ""},
		{"breaks off", func() (FillSource, error) { s := newTone(48000, 100_000, 0.25); s.err = broken; return s, nil }, broken, ""},
		{"no channels", func() (FillSource, error) { return newTone(48000, 100), nil }, ErrFormat, ""},
		{"no rate", func() (FillSource, error) { return newTone(0, 100, 0.25), nil }, ErrFormat, ""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			rep, err := WriteStringout(context.Background(), filepath.Join(dir, "o.wav"), silent(t), StringoutOptions{Gap: 500 * ms, Fill: func(int) (FillSource, error) { return tt.fill() }})
			if !errors.Is(err, tt.want) || err != nil && !strings.Contains(err.Error(), "gap after piece 1") {
				t.Errorf("got %v, want %v", err, tt.want)
			}
			if err != nil {
				empty(t, dir)
			}
			if !strings.Contains(strings.Join(rep.Notes, "\n"), tt.note) {
				t.Errorf("got notes %q, want %q", rep.Notes, tt.note)
			}
		})
	}
	_, err := WriteStringout(context.Background(), filepath.Join(t.TempDir(), "o.wav"), silent(t), StringoutOptions{Fill: func(int) (FillSource, error) { return nil, broken }})
	if err != nil {
		t.Errorf("no gap: got %v, want no question", err)
	}
}

// shortTone claims more than it has.
type shortTone struct{ *tone }

func (s *shortTone) Info() Info {
	info := s.tone.Info()
	info.Frames *= 10
	return info
}
