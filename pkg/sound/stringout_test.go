package sound

import (
	"context"
	"crypto/sha256"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

const ms = timecode.Millisecond

// source writes a recording of n frames; value gives sample i of channel c.
func source(t *testing.T, opt WriterOptions, n int, value func(c, i int) float64) string {
	t.Helper()
	samples := planes(opt.Channels, n)
	for c := range samples {
		for i := range n {
			samples[c][i] = value(c, i)
		}
	}
	path := filepath.Join(t.TempDir(), "source.wav")
	if err := os.WriteFile(path, written(t, opt, samples), 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

// counting is a 48 kHz, 24-bit mono recording whose every sample is different.
func counting(t *testing.T, n int) string {
	return source(t, WriterOptions{48000, 24, 1, nil}, n, func(_, i int) float64 { return float64(i+1) / (1 << 23) })
}

func stringout(t *testing.T, pieces []Piece, opt StringoutOptions) ([][]float64, StringoutReport) {
	t.Helper()
	path := filepath.Join(t.TempDir(), "out.wav")
	rep, err := WriteStringout(context.Background(), path, pieces, opt)
	if err != nil {
		t.Fatal(err)
	}
	got, info := readAll(t, path)
	if info.Frames != rep.Frames || info.SampleRate != rep.SampleRate || info.Bits != rep.Bits || info.Channels != rep.Channels || len(info.Notes) > 0 {
		t.Errorf("file says %+v, report %+v", info, rep)
	}
	return got, rep
}

// Words come through bit for bit, whatever happens in the handles; the frame
// counts are calculated here by hand.
func TestStringoutWordsAreUntouched(t *testing.T) {
	path := counting(t, 4*48000)
	tests := []struct {
		name   string
		pieces []Piece
		opt    StringoutOptions
		placed []Placed
		frames int64
	}{
		{"one piece with handles", []Piece{{Path: path, In: 1000 * ms, Out: 2000 * ms, Lead: 100 * ms, Tail: 50 * ms}}, StringoutOptions{}, []Placed{{4800, 52800, 1000 * ms, 2000 * ms, 100 * ms, 50 * ms}}, 4800 + 48000 + 2400},
		{"handles cut by the ends of the recording", []Piece{{Path: path, In: 50 * ms, Out: 3900 * ms, Lead: 1000 * ms, Tail: 1000 * ms}}, StringoutOptions{}, []Placed{{2400, 187200, 50 * ms, 3900 * ms, 50 * ms, 100 * ms}}, 192000},
		{
			"crossfade between the handles",
			[]Piece{{Path: path, In: 1000 * ms, Out: 1500 * ms, Lead: 100 * ms, Tail: 100 * ms}, {Path: path, In: 3000 * ms, Out: 3500 * ms, Lead: 100 * ms, Tail: 100 * ms}},
			StringoutOptions{Crossfade: 20 * ms},
			[]Placed{{4800, 28800, 1000 * ms, 1500 * ms, 100 * ms, 100 * ms}, {28800 + 4800 + 4800, 28800 + 4800 + 4800 + 24000, 3000 * ms, 3500 * ms, 100 * ms, 100 * ms}},
			2 * 33600,
		},
		{
			"handles shorter than the crossfade",
			[]Piece{{Path: path, In: 1000 * ms, Out: 1500 * ms, Lead: 5 * ms, Tail: 5 * ms}, {Path: path, In: 3000 * ms, Out: 3500 * ms, Lead: 5 * ms, Tail: 5 * ms}},
			StringoutOptions{},
			[]Placed{{240, 24240, 1000 * ms, 1500 * ms, 5 * ms, 5 * ms}, {24720, 48720, 3000 * ms, 3500 * ms, 5 * ms, 5 * ms}},
			48960,
		},
		{
			"gap",
			[]Piece{{Path: path, In: 1000 * ms, Out: 1500 * ms, Lead: 50 * ms, Tail: 50 * ms}, {Path: path, In: 3000 * ms, Out: 3500 * ms, Lead: 50 * ms, Tail: 50 * ms}},
			StringoutOptions{Gap: 500 * ms},
			[]Placed{{2400, 26400, 1000 * ms, 1500 * ms, 50 * ms, 50 * ms}, {26400 + 2400 + 24000 + 2400, 26400 + 2400 + 24000 + 2400 + 24000, 3000 * ms, 3500 * ms, 50 * ms, 50 * ms}},
			2*28800 + 24000,
		},
		{
			"hard cuts, no handles",
			[]Piece{{Path: path, In: 1000 * ms, Out: 1500 * ms}, {Path: path, In: 0, Out: 4000 * ms}},
			StringoutOptions{Crossfade: -1},
			[]Placed{{0, 24000, 1000 * ms, 1500 * ms, 0, 0}, {24000, 216000, 0, 4000 * ms, 0, 0}},
			216000,
		},
		{"end beyond the recording", []Piece{{Path: path, In: 3500 * ms, Out: 5000 * ms, Lead: 10 * ms}}, StringoutOptions{Crossfade: -1}, []Placed{{480, 24480, 3500 * ms, 4000 * ms, 10 * ms, 0}}, 24480},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, rep := stringout(t, tt.pieces, tt.opt)
			if rep.Frames != tt.frames || rep.SampleRate != 48000 || rep.Bits != 24 || rep.Channels != 1 {
				t.Errorf("got %+v, want %d frames at 48000 Hz, 24 bit, mono", rep, tt.frames)
			}
			for i, want := range tt.placed {
				p := rep.Placed[i]
				if p != want {
					t.Errorf("piece %d: got %+v, want %+v", i, p, want)
				}
				in := p.In.Samples(48000, timecode.Nearest)
				for k := p.Start; k < p.End; k++ {
					if v := float64(in+k-p.Start+1) / (1 << 23); got[0][k] != v {
						t.Fatalf("piece %d, frame %d: got %v, want %v", i, k, got[0][k], v)
					}
				}
			}
		})
	}
}

// Without handles only the outermost millisecond may be shaped.
func TestStringoutFadesAreShort(t *testing.T) {
	path := source(t, WriterOptions{48000, 24, 1, nil}, 48000, func(int, int) float64 { return 0.5 })
	got, _ := stringout(t, []Piece{{Path: path, In: 100 * ms, Out: 200 * ms}, {Path: path, In: 300 * ms, Out: 400 * ms, Lead: 3 * ms}}, StringoutOptions{})
	for i, v := range got[0] {
		var want string
		switch {
		case i < 48 || i >= 4752 && i < 4800+144 || i >= len(got[0])-48:
			if v >= 0.5 || v < 0 {
				want = "below 0.5"
			}
		case v != 0.5:
			want = "0.5"
		}
		if want != "" {
			t.Fatalf("frame %d: got %v, want %s", i, v, want)
		}
	}
	if got[0][0] > 0.02 || got[0][len(got[0])-1] > 0.02 {
		t.Errorf("ends: got %v and %v, want near 0", got[0][0], got[0][len(got[0])-1])
	}
}

// Two sources that have nothing in common keep their power through an
// equal-power crossfade (cos² + sin² = 1): two tones, so the sum of squares
// over whole periods is known.
func TestCrossfadeKeepsPower(t *testing.T) {
	tone := func(hz float64) string {
		return source(t, WriterOptions{48000, 24, 1, nil}, 96000, func(_, i int) float64 { return 0.5 * math.Sin(2*math.Pi*hz*float64(i)/48000) })
	}
	a, b := tone(1000), tone(3000)
	got, rep := stringout(t, []Piece{{Path: a, In: 500 * ms, Out: 1000 * ms, Tail: 400 * ms}, {Path: b, In: 800 * ms, Out: 1200 * ms, Lead: 400 * ms}}, StringoutOptions{Crossfade: 300 * ms})
	overlap := rep.Placed[0].End + 19200 - 14400/2
	if rep.Frames != 24000+19200+19200+19200 {
		t.Errorf("got %d frames", rep.Frames)
	}
	for at := overlap; at < overlap+14400; at += 480 {
		sum := 0.0
		for _, v := range got[0][at : at+480] {
			sum += v * v
		}
		if power := sum / 480; math.Abs(power-0.125) > 0.005 {
			t.Errorf("10 ms from frame %d: power %v, want 0.125", at, power)
		}
	}
}

func TestStringoutChannels(t *testing.T) {
	path := source(t, WriterOptions{48000, 24, 3, nil}, 48000, func(c, _ int) float64 { return []float64{0.5, 0.25, -0.125}[c] })
	tests := []struct {
		name string
		sel  []int
		out  int
		gain float64
		want []float64
	}{
		{"all to mono: plain average", nil, 1, 0, []float64{0.625 / 3}},
		{"two to mono", []int{0, 1}, 1, 0, []float64{0.375}},
		{"one to mono", []int{2}, 1, 0, []float64{-0.125}},
		{"kept", nil, 3, 0, []float64{0.5, 0.25, -0.125}},
		{"two of three, turned round", []int{1, 0}, 2, 0, []float64{0.25, 0.5}},
		{"one to two", []int{1}, 2, 0, []float64{0.25, 0.25}},
		{"three to two: average in both", nil, 2, 0, []float64{0.625 / 3, 0.625 / 3}},
		{"gain of -20 dB", []int{0}, 1, -20, []float64{0.05}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, _ := stringout(t, []Piece{{Path: path, In: 100 * ms, Out: 900 * ms, Channels: tt.sel, GainDB: tt.gain}}, StringoutOptions{Channels: tt.out})
			for c, want := range tt.want {
				if v := got[c][20000]; math.Abs(v-want) > 1.0/(1<<23) {
					t.Errorf("channel %d: got %v, want %v", c, v, want)
				}
			}
		})
	}
}

// A tone keeps its frequency, level and phase through resampling; what lies
// above half the lower rate is gone by 80 dB.
func TestStringoutResamples(t *testing.T) {
	for _, tt := range []struct {
		from, to int
		hz       float64
		level    float64 // wanted
	}{
		{44100, 48000, 997, 0.5},
		{48000, 44100, 997, 0.5},
		{16000, 48000, 3100, 0.5},
		{96000, 48000, 15000, 0.5},
		{48000, 16000, 997, 0.5},
		{48000, 16000, 9500, 0},
		{96000, 48000, 30000, 0},
		{22050, 48000, 441, 0.5},
	} {
		path := source(t, WriterOptions{tt.from, 24, 1, nil}, 2*tt.from, func(_, i int) float64 {
			return 0.5 * math.Sin(2*math.Pi*tt.hz*float64(i)/float64(tt.from))
		})
		got, rep := stringout(t, []Piece{{Path: path, In: 500 * ms, Out: 1500 * ms, Lead: 250 * ms, Tail: 100 * ms}}, StringoutOptions{SampleRate: tt.to})
		if want := int64(tt.to) * 135 / 100; rep.Frames != want || rep.Placed[0].End-rep.Placed[0].Start != int64(tt.to) {
			t.Errorf("%d to %d Hz: got %+v, want %d frames", tt.from, tt.to, rep, want)
		}
		if len(rep.Notes) != 1 || !strings.Contains(rep.Notes[0], "resampled") {
			t.Errorf("%d to %d Hz: got notes %q", tt.from, tt.to, rep.Notes)
		}
		worst := 0.0
		for k := rep.Placed[0].Start; k < rep.Placed[0].End; k++ {
			at := 0.5 + float64(k-rep.Placed[0].Start)/float64(tt.to)
			worst = max(worst, math.Abs(got[0][k]-tt.level*math.Sin(2*math.Pi*tt.hz*at)))
		}
		if worst > 5e-5 {
			t.Errorf("%d to %d Hz, tone of %v Hz: off by %v (%.1f dB), want below -86 dB", tt.from, tt.to, tt.hz, worst, 20*math.Log10(worst))
		}
	}
}

// The highest rate of the sources is the default.
func TestStringoutTakesTheHighestRate(t *testing.T) {
	a := source(t, WriterOptions{44100, 16, 1, nil}, 44100, func(int, int) float64 { return 0.25 })
	b := source(t, WriterOptions{96000, 24, 2, nil}, 96000, func(int, int) float64 { return 0.25 })
	got, rep := stringout(t, []Piece{{Path: a, Out: 1000 * ms}, {Path: b, Out: 500 * ms}, {Path: a, In: 200 * ms, Out: 300 * ms}}, StringoutOptions{})
	if rep.SampleRate != 96000 || rep.Frames != 96000+48000+9600 || len(rep.Notes) != 1 {
		t.Errorf("got %+v, want 153600 frames at 96000 Hz and one note", rep)
	}
	if v := got[0][48000]; math.Abs(v-0.25) > 1e-4 {
		t.Errorf("got %v, want 0.25", v)
	}
}

func TestStringoutClampsAndSays(t *testing.T) {
	path := source(t, WriterOptions{48000, 24, 1, nil}, 48000, func(_, i int) float64 { return 0.5 - float64(i%2) })
	got, rep := stringout(t, []Piece{{Path: path, In: 100 * ms, Out: 200 * ms, GainDB: 12}}, StringoutOptions{})
	if len(rep.Notes) != 1 || !strings.Contains(rep.Notes[0], "clamped") || math.Abs(got[0][2000]) < 0.999 {
		t.Errorf("got %v, notes %q", got[0][2000], rep.Notes)
	}
}

// Dither: 16 bits from 24 carry a level below one step on average, and the
// noise is no larger than two steps; the same pieces give the same bytes.
func TestStringoutDithers(t *testing.T) {
	const step = 1.0 / 32768
	path := source(t, WriterOptions{48000, 24, 1, nil}, 2*48000, func(int, int) float64 { return 0.3 * step })
	pieces := []Piece{{Path: path, Out: 2000 * ms}}
	got, _ := stringout(t, pieces, StringoutOptions{Bits: 16})
	again, _ := stringout(t, pieces, StringoutOptions{Bits: 16})
	sum := 0.0
	for i, v := range got[0][100 : len(got[0])-100] {
		sum += v
		if math.Abs(v) > 2*step {
			t.Fatalf("frame %d: got %v steps", i, v/step)
		}
	}
	if mean := sum / float64(len(got[0])-200) / step; math.Abs(mean-0.3) > 0.02 {
		t.Errorf("mean: got %v steps, want 0.3", mean)
	}
	sameAs(t, "second run", got, again, 0)
}

func TestStringoutRefuses(t *testing.T) {
	path := counting(t, 48000)
	tests := []struct {
		name   string
		pieces []Piece
		want   error
		text   string
	}{
		{"none", nil, ErrPiece, "none"},
		{"backwards", []Piece{{Path: path, In: 500 * ms, Out: 400 * ms}}, ErrPiece, "piece 1"},
		{"behind the end", []Piece{{Path: path, Out: 1 * ms}, {Path: path, In: 2000 * ms, Out: 3000 * ms}}, ErrPiece, "piece 2"},
		{"before the start", []Piece{{Path: path, In: -5 * ms, Out: 400 * ms}}, ErrPiece, "no span"},
		{"no such channel", []Piece{{Path: path, Out: 400 * ms, Channels: []int{1}}}, ErrPiece, "channel 1"},
		{"no channels", []Piece{{Path: path, Out: 400 * ms, Channels: []int{}}}, ErrPiece, "no channel"},
		{"missing file", []Piece{{Path: path + "x", Out: 400 * ms}}, os.ErrNotExist, "piece 1"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			dir := t.TempDir()
			_, err := WriteStringout(context.Background(), filepath.Join(dir, "o.wav"), tt.pieces, StringoutOptions{})
			if !errors.Is(err, tt.want) || !strings.Contains(err.Error(), tt.text) {
				t.Errorf("got %v, want %v with %q", err, tt.want, tt.text)
			}
			empty(t, dir)
		})
	}
	if _, err := WriteStringout(context.Background(), path, []Piece{{Path: path, Out: 400 * ms}}, StringoutOptions{}); err == nil {
		t.Error("over its own source: got no error")
	}
}

func empty(t *testing.T, dir string) {
	t.Helper()
	names, err := os.ReadDir(dir)
	if err != nil || len(names) > 0 {
		t.Errorf("left behind: %v, %v", names, err)
	}
}

func digest(t *testing.T, path string) [32]byte {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return sha256.Sum256(b)
}

// An end in the middle leaves the old file as it was, nothing beside it, and
// the source untouched.
func TestStringoutLeavesNothing(t *testing.T) {
	src := counting(t, 5*48000)
	before := digest(t, src)
	dir := t.TempDir()
	out := filepath.Join(dir, "o.wav")
	pieces := []Piece{{Path: src, Out: 4000 * ms}}

	ctx, cancel := context.WithCancel(context.Background())
	calls := 0
	_, err := WriteStringout(ctx, out, pieces, StringoutOptions{Progress: func(done, total timecode.Ticks) {
		if calls++; calls == 3 {
			cancel()
		}
		if done > total || total != 4000*ms {
			t.Errorf("progress %v of %v", done, total)
		}
	}})
	if !errors.Is(err, context.Canceled) || calls != 3 {
		t.Errorf("cancelled: got %v after %d blocks", err, calls)
	}
	empty(t, dir)

	p, err := newPlan(context.Background(), pieces, StringoutOptions{})
	if err != nil {
		t.Fatal(err)
	}
	err = replaceFile(out, func(w io.WriteSeeker) error {
		return p.lay(context.Background(), &filling{WriteSeeker: w, left: 100_000})
	})
	if !errors.Is(err, errFull) {
		t.Errorf("disk full: got %v, want %v", err, errFull)
	}
	empty(t, dir)

	if err := os.WriteFile(out, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := WriteStringout(ctx, out, pieces, StringoutOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled before: got %v", err)
	}
	if b, _ := os.ReadFile(out); string(b) != "old" {
		t.Errorf("old file: got %q", b)
	}
	if _, err := WriteStringout(context.Background(), out, pieces, StringoutOptions{}); err != nil {
		t.Error(err)
	}
	if st, err := os.Stat(out); err != nil || st.Size() < 3*192000 {
		t.Errorf("written: got %v, %v", st, err)
	}
	if digest(t, src) != before {
		t.Error("the source was changed")
	}
}

// filling is a disk that runs full.
type filling struct {
	io.WriteSeeker
	left int
}

func (f *filling) Write(b []byte) (int, error) {
	if f.left -= len(b); f.left < 0 {
		return 0, errFull
	}
	return f.WriteSeeker.Write(b)
}

// sox, resampling by itself, hears the same.
func TestStringoutBesideSox(t *testing.T) {
	need(t, "sox")
	dir := t.TempDir()
	src, want := filepath.Join(dir, "s.wav"), filepath.Join(dir, "w.wav")
	run(t, "sox", "-D", "-R", "-n", "-r", "44100", "-b", "24", "-c", "1", src, "synth", "2", "pinknoise", "gain", "-6", "lowpass", "8000", "lowpass", "8000", "lowpass", "8000")
	run(t, "sox", "-D", src, want, "rate", "-v", "48000")
	got, _ := stringout(t, []Piece{{Path: src, Out: 2000 * ms}}, StringoutOptions{SampleRate: 48000, Crossfade: -1})
	ref, _ := readAll(t, want)
	var signal, noise float64
	for i := 4800; i < 91200; i++ {
		signal += ref[0][i] * ref[0][i]
		d := got[0][i] - ref[0][i]
		noise += d * d
	}
	if db := 10 * math.Log10(signal/noise); db < 60 {
		t.Errorf("difference from sox: %.1f dB below the signal, want 60 or more", db)
	} else {
		t.Logf("difference from sox: %.1f dB below the signal", db)
	}
}

// TestReplaceFileThroughLink: a link stays a link, and what it points to is
// replaced.
func TestReplaceFileThroughLink(t *testing.T) {
	dir := t.TempDir()
	file, link := filepath.Join(dir, "real.wav"), filepath.Join(dir, "link.wav")
	if err := os.Symlink(file, link); err != nil {
		t.Skip("no links here:", err)
	}
	if err := os.WriteFile(file, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := replaceFile(link, func(w io.WriteSeeker) error { _, err := w.Write([]byte("new")); return err }); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Lstat(link); err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is gone: %v, %v", info, err)
	}
	if b, _ := os.ReadFile(file); string(b) != "new" {
		t.Errorf("what it points to holds %q, want what was written", b)
	}
}
