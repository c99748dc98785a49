package sound

import (
	"bytes"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// written writes samples in one go and returns the file.
func written(t testing.TB, opt WriterOptions, samples [][]float64) []byte {
	t.Helper()
	m := &memory{}
	w, err := NewWriter(m, opt)
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Write(samples); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return m.b
}

// Whatever integers go in come out, in any run lengths, at every depth.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bits := rapid.SampledFrom([]int{8, 16, 24, 32}).Draw(t, "bits")
		channels := rapid.IntRange(1, 9).Draw(t, "channels")
		rate := rapid.SampledFrom([]int{8000, 11025, 44100, 48000, 96000, 192000}).Draw(t, "rate")
		full := int64(1) << (bits - 1)
		m := &memory{}
		opt := WriterOptions{SampleRate: rate, Bits: bits, Channels: channels}
		if rapid.Bool().Draw(t, "bext") {
			opt.Broadcast = &Broadcast{Description: "ferry", TimeReference: rapid.Uint64Max(uint64(longestStamp*24*3600*rate)).Draw(t, "time"), Version: 1, CodingHistory: rapid.StringMatching(`[a-z]{0,9}`).Draw(t, "history")}
		}
		w, err := NewWriter(m, opt)
		if err != nil {
			t.Fatal(err)
		}
		want := make([][]float64, channels)
		for range rapid.IntRange(1, 4).Draw(t, "writes") {
			n := rapid.IntRange(1, 40).Draw(t, "frames")
			run := make([][]float64, channels)
			for c := range run {
				for range n {
					run[c] = append(run[c], float64(rapid.Int64Range(-full, full-1).Draw(t, "sample"))/float64(full))
				}
				want[c] = append(want[c], run[c]...)
			}
			if err := w.Write(run); err != nil {
				t.Fatal(err)
			}
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		r, err := NewReader(bytes.NewReader(m.b), int64(len(m.b)), "w.wav")
		if err != nil {
			t.Fatal(err)
		}
		info := r.Info()
		if info.Bits != bits || info.Channels != channels || info.SampleRate != rate || len(info.Notes) > 0 || w.Clipped() > 0 {
			t.Fatalf("got %+v, %d clipped", info, w.Clipped())
		}
		if opt.Broadcast != nil && *info.Broadcast != *opt.Broadcast {
			t.Fatalf("got %+v, want %+v", *info.Broadcast, *opt.Broadcast)
		}
		got := make([][]float64, channels)
		for b, err := r.Next(); err == nil; b, err = r.Next() {
			for c := range got {
				got[c] = append(got[c], b.Samples[c]...)
			}
		}
		for c := range got {
			if !slices.Equal(got[c], want[c]) {
				t.Fatalf("channel %d: got %v, want %v", c, got[c], want[c])
			}
		}
	})
}

func TestWriterClamps(t *testing.T) {
	m := &memory{}
	w, err := NewWriter(m, WriterOptions{SampleRate: 48000, Bits: 16, Channels: 1})
	if err != nil {
		t.Fatal(err)
	}
	in := []float64{1, -1, 1.5, -1.5, math.Inf(1), math.NaN(), 0.5 / 32768, 1.5 / 32768}
	if err := w.Write([][]float64{in}); err != nil {
		t.Fatal(err)
	}
	if w.Clipped() != 3 || w.Frames() != 8 {
		t.Errorf("got %d clipped of %d, want 3 of 8", w.Clipped(), w.Frames())
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	r, err := open(m.b)
	if err != nil {
		t.Fatal(err)
	}
	top := 32767.0 / 32768
	if got, want := drain(t, r)[0], []float64{top, -1, top, -1, top, 0, 0, 2.0 / 32768}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestWriterRefuses(t *testing.T) {
	for _, opt := range []WriterOptions{{48000, 12, 1, nil}, {48000, 24, 0, nil}, {48000, 24, 65, nil}, {0, 24, 1, nil}} {
		if _, err := NewWriter(&memory{}, opt); !errors.Is(err, ErrFormat) {
			t.Errorf("%+v: got %v, want %v", opt, err, ErrFormat)
		}
	}
	w, err := NewWriter(&memory{}, WriterOptions{48000, 24, 2, nil})
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range [][][]float64{{{1}}, {{1}, {1, 2}}} {
		if w.Write(s) == nil {
			t.Errorf("%v: got no error", s)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if w.Write([][]float64{{1}, {1}}) == nil {
		t.Error("after close: got no error")
	}
}

// A disk that runs full at any byte gives an error from some call.
func TestWriterOnAFullDisk(t *testing.T) {
	samples := [][]float64{make([]float64, 10_000)}
	for _, full := range []int{1, 30, 60, 80, 90, 5000, 30_079, 30_083} {
		m := &memory{full: full}
		w, err := NewWriter(m, WriterOptions{48000, 24, 1, nil})
		if err == nil {
			err = errors.Join(w.Write(samples), w.Close())
		}
		if !errors.Is(err, errFull) {
			t.Errorf("full after %d bytes: got %v, want %v", full, err, errFull)
		}
	}
}

// What we write is read alike by sox and ffmpeg; beyond 4 GiB (here: beyond
// 1 kB) it becomes RF64, which ffmpeg reads and measures too.
func TestWrittenFilesOutside(t *testing.T) {
	need(t, "sox")
	need(t, "ffmpeg")
	dir := t.TempDir()
	for _, tt := range []struct {
		name           string
		bits, channels int
		limit          int64
		container      string
	}{
		{"8 bit, odd length", 8, 1, maxRIFF, "RIFF"},
		{"16 bit", 16, 2, maxRIFF, "RIFF"},
		{"24 bit, odd length", 24, 1, maxRIFF, "RIFF"},
		{"32 bit", 32, 3, maxRIFF, "RIFF"},
		{"24 bit RF64", 24, 1, 1000, "RF64"},
		{"16 bit RF64", 16, 2, 1000, "RF64"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			path := filepath.Join(dir, tt.name+".wav")
			f, err := os.Create(path)
			if err != nil {
				t.Fatal(err)
			}
			defer f.Close()
			w, err := NewWriter(f, WriterOptions{48000, tt.bits, tt.channels, &Broadcast{Description: "odd", Version: 1}})
			if err != nil {
				t.Fatal(err)
			}
			w.limit = tt.limit
			in := make([][]float64, tt.channels)
			for c := range in {
				for i := range 9001 {
					in[c] = append(in[c], 0.9*math.Sin(float64(i*(c+1))/17))
				}
			}
			if err := errors.Join(w.Write(in), w.Close()); err != nil {
				t.Fatal(err)
			}
			got, info := readAll(t, path)
			if info.Container != tt.container || info.Frames != 9001 || len(info.Notes) > 0 || info.Unfinished {
				t.Errorf("got %+v, want %s, 9001 frames, no notes", info, tt.container)
			}
			sameAs(t, "what went in", got, in, math.Ldexp(0.5000001, 1-tt.bits))
			sameAs(t, "ffmpeg", got, ffmpegSamples(t, path, tt.channels), 0)
			if tt.container == "RIFF" {
				sameAs(t, "sox", got, interleavedF64(run(t, "sox", "-D", path, "-e", "floating-point", "-b", "64", "-t", "raw", "-L", "-"), tt.channels), 0)
			}
		})
	}
}

// Text too long for its field is cut at a character, loudness comes back, and
// the fields lie where EBU Tech 3285 puts them.
func TestWrittenBroadcast(t *testing.T) {
	in := Broadcast{
		Description: strings.Repeat("é", 200), Originator: strings.Repeat("x", 40), OriginatorReference: "D2INT2",
		Date: "2031-09-14", Time: "10:00:12", TimeReference: 1<<33 + 5, Version: 2, LoudnessLUFS: -23.17, CodingHistory: "A=PCM",
	}
	file := written(t, WriterOptions{48000, 24, 1, &in}, [][]float64{{0}})
	at := bytes.Index(file, []byte("bext")) + 8
	if got := string(file[at+288 : at+294]); got != "D2INT2" {
		t.Errorf("originator reference: got %q", got)
	}
	if got := le.Uint64(file[at+338:]); got != 1<<33+5 {
		t.Errorf("time reference: got %d", got)
	}
	if got := int16(le.Uint16(file[at+414:])); got != 0x7FFF {
		t.Errorf("loudness range: got %d, want not set", got)
	}
	r, err := open(file)
	if err != nil {
		t.Fatal(err)
	}
	want := in
	want.Description, want.Originator = strings.Repeat("é", 128), strings.Repeat("x", 32)
	if got := *r.Info().Broadcast; got != want {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
	in.LoudnessLUFS = 0
	r, err = open(written(t, WriterOptions{48000, 24, 1, &in}, [][]float64{{0}}))
	if err != nil || r.Info().Broadcast.LoudnessLUFS != 0 {
		t.Errorf("no loudness: got %+v, %v", r.Info().Broadcast, err)
	}
}

// hole keeps the first kilobyte and the length of what is written.
type hole struct {
	head [1024]byte
	pos  int64
	size int64
}

func (h *hole) Write(b []byte) (int, error) {
	if h.pos < int64(len(h.head)) {
		copy(h.head[h.pos:], b)
	}
	h.pos += int64(len(b))
	h.size = max(h.size, h.pos)
	return len(b), nil
}

func (h *hole) Seek(off int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		off += h.pos
	case io.SeekEnd:
		off += h.size
	}
	h.pos = off
	return off, nil
}

// A file that really grows beyond 4 GiB: half a minute of work.
func TestWriterBeyond4GiB(t *testing.T) {
	if os.Getenv("RUSHLIGHT_SLOW") == "" {
		t.Skip("writes 4.5 GB into nothing: set RUSHLIGHT_SLOW=1")
	}
	h := &hole{}
	w, err := NewWriter(h, WriterOptions{48000, 32, 8, nil})
	if err != nil {
		t.Fatal(err)
	}
	second := planes(8, 48000)
	const seconds = 2930
	for range seconds {
		if err := w.Write(second); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	r, err := NewReader(sparse{h.size, map[int64][]byte{0: h.head[:]}}, h.size, "big.wav")
	if err != nil {
		t.Fatal(err)
	}
	if info := r.Info(); info.Container != "RF64" || info.Frames != seconds*48000 || len(info.Notes) > 0 {
		t.Errorf("got %+v, want RF64 with %d frames", info, seconds*48000)
	}
}

// A time reference that can't be a time of day, as of a recorder that never
// set the field, is told and not believed; three nights after midnight is one.
func TestTimeReferenceOutOfReach(t *testing.T) {
	for ref, want := range map[uint64]uint64{
		1<<64 - 1: 0, 1 << 63: 0, 1 << 53: 0, 8000 * 86400 * 3: 8000 * 86400 * 3, 0: 0,
	} {
		r, err := open(written(t, WriterOptions{8000, 16, 1, &Broadcast{TimeReference: ref}}, [][]float64{{0}}))
		if err != nil {
			t.Fatal(err)
		}
		info := r.Info()
		if got := info.Broadcast.TimeReference; got != want || (len(info.Notes) > 0) != (want != ref) {
			t.Errorf("reference %d: got %d, notes %q, want %d", ref, got, info.Notes, want)
		}
	}
}
