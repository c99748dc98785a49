package sound

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/timecode"
)

// drain reads a Reader to its end and holds it to the contract of Next:
// blocks follow each other without a gap, channels are equally long and not
// empty, io.EOF stays io.EOF, and Info's frame count is kept.
func drain(t testing.TB, r *Reader) [][]float64 {
	t.Helper()
	info := r.Info()
	out := make([][]float64, info.Channels)
	for next := int64(0); ; {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			if next != info.Frames {
				t.Fatalf("read %d frames, Info says %d", next, info.Frames)
			}
			if _, err := r.Next(); !errors.Is(err, io.EOF) {
				t.Fatalf("after the end: got %v, want io.EOF", err)
			}
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		if b.Start != next || len(b.Samples) != info.Channels || len(b.Samples[0]) == 0 {
			t.Fatalf("got block at %d with %d channels, want %d with %d", b.Start, len(b.Samples), next, info.Channels)
		}
		for c, s := range b.Samples {
			if len(s) != len(b.Samples[0]) {
				t.Fatalf("channel %d has %d samples, channel 0 %d", c, len(s), len(b.Samples[0]))
			}
			out[c] = append(out[c], s...)
		}
		next += int64(len(b.Samples[0]))
	}
}

// monoFile is a 24-bit file of n frames, sample i = (i+1) mod 32768 / 32768.
func monoFile(n int) []byte {
	b := make([]byte, 0, 3*n)
	for i := range n {
		v := ((i + 1) % 32768) << 8
		b = append(b, byte(v), byte(v>>8), byte(v>>16))
	}
	return newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 24)).chunk("data", b).finish()
}

func TestLengthsAroundTheBlock(t *testing.T) {
	block := blockBytes / 3
	for _, n := range []int{1, 2, block - 1, block, block + 1, 2*block - 1, 2 * block, 2*block + 1, 5*block + 7, aheadBytes/3 - 1, aheadBytes / 3, aheadBytes/3 + 1, 2*(aheadBytes/3) + 1} {
		file := monoFile(n)
		r, err := open(file)
		if err != nil {
			t.Fatal(err)
		}
		got := drain(t, r)
		for i, v := range got[0] {
			if want := float64((i+1)%32768) / 32768; v != want {
				t.Fatalf("%d frames: sample %d: got %v, want %v", n, i, v, want)
			}
		}
		hash, err := r.Essence()
		sum := sha256.Sum256(file[44 : 44+3*n])
		if want := hex.EncodeToString(sum[:]); err != nil || hash != want {
			t.Errorf("%d frames: got %s, %v, want %s", n, hash, err, want)
		}
	}
}

func TestSeek(t *testing.T) {
	block := blockBytes / 3
	frames := int64(9 * block)
	r, err := open(monoFile(int(frames)))
	if err != nil {
		t.Fatal(err)
	}
	for _, at := range []int64{0, 1, int64(block) - 1, int64(block), 2*int64(block) + 5, 3*int64(block) - 1, 17, 6*int64(block) + 3} {
		if err := r.SeekFrame(at); err != nil {
			t.Fatal(err)
		}
		b, err := r.Next()
		if err != nil {
			t.Fatal(err)
		}
		if want := float64((at+1)%32768) / 32768; b.Start != at || b.Samples[0][0] != want {
			t.Errorf("seek to %d: got %v at %d, want %v", at, b.Samples[0][0], b.Start, want)
		}
	}
	if err := r.SeekFrame(frames); err != nil {
		t.Fatal(err)
	}
	if _, err := r.Next(); !errors.Is(err, io.EOF) {
		t.Errorf("at the end: got %v, want io.EOF", err)
	}
	for _, at := range []int64{-1, frames + 1} {
		if err := r.SeekFrame(at); err == nil {
			t.Errorf("seek to %d: got no error", at)
		}
	}
}

// Asking too early does no harm, also where a buffer is being read ahead.
func TestEssenceAskedOften(t *testing.T) {
	r, err := open(monoFile(5 * aheadBytes / 3))
	if err != nil {
		t.Fatal(err)
	}
	for err == nil {
		if _, err := r.Essence(); !errors.Is(err, ErrNotSequential) {
			t.Fatalf("before the end: got %v, want %v", err, ErrNotSequential)
		}
		_, err = r.Next()
		if r.pos == r.Info().Frames {
			break
		}
	}
	if _, err := r.Essence(); err != nil {
		t.Error(err)
	}
}

// A jump to where reading would have come anyway is still a jump.
func TestEssenceAfterAJump(t *testing.T) {
	ahead := int64(aheadBytes / 3)
	r, err := open(monoFile(int(3 * ahead)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := r.Next(); err != nil {
		t.Fatal(err)
	}
	if err := r.SeekFrame(ahead); err != nil {
		t.Fatal(err)
	}
	for err == nil {
		_, err = r.Next()
	}
	if _, err := r.Essence(); !errors.Is(err, ErrNotSequential) {
		t.Errorf("got %v, want %v", err, ErrNotSequential)
	}
}

func TestEssenceNeedsOrder(t *testing.T) {
	block := int64(blockBytes / 3)
	next := func(r *Reader) {
		if _, err := r.Next(); err != nil {
			t.Fatal(err)
		}
	}
	r, err := open(monoFile(int(2 * block)))
	if err != nil {
		t.Fatal(err)
	}
	expect := func(when string, want error) {
		t.Helper()
		if _, err := r.Essence(); !errors.Is(err, want) {
			t.Errorf("%s: got %v, want %v", when, err, want)
		}
	}
	expect("before reading", ErrNotSequential)
	next(r)
	expect("half read", ErrNotSequential)
	next(r)
	expect("all read", nil)
	first, _ := r.Essence()
	if err := r.SeekFrame(block); err != nil {
		t.Fatal(err)
	}
	next(r)
	expect("read out of order", ErrNotSequential)
	if err := r.SeekFrame(0); err != nil {
		t.Fatal(err)
	}
	next(r)
	next(r)
	expect("read again", nil)
	if again, _ := r.Essence(); again != first {
		t.Errorf("read again: got %s, want %s", again, first)
	}
}

// The essence is that of sha256sum over the raw samples that sox extracts,
// whatever stands around them in the file.
func TestEssenceOfFiles(t *testing.T) {
	need(t, "sox")
	dir := t.TempDir()
	plain, raw := filepath.Join(dir, "a.wav"), filepath.Join(dir, "a.raw")
	run(t, "sox", "-D", "-R", "-n", "-r", "48000", "-b", "24", "-c", "2", plain, "synth", "1.1", "pinknoise")
	run(t, "sox", "-D", plain, "-t", "raw", "-L", raw)
	want := strings.Fields(string(run(t, "sha256sum", raw)))[0]
	hash, info, err := Essence(plain)
	if err != nil || hash != want || info.Frames != 52800 {
		t.Errorf("got %s, %d frames, %v; want %s, 52800", hash, info.Frames, err, want)
	}
	b, err := os.ReadFile(raw)
	if err != nil {
		t.Fatal(err)
	}
	r, err := open(newWave("RIFF").chunk("bext", bextBytes(1, 0)).chunk("fmt ", fmtExtensible(1, guidTail, 2, 48000, 24, 24, 3)).chunk("data", b).chunk("LIST", []byte("INFO")).finish())
	if err != nil {
		t.Fatal(err)
	}
	drain(t, r)
	if hash, err := r.Essence(); err != nil || hash != want {
		t.Errorf("other chunks around it: got %s, %v, want %s", hash, err, want)
	}
}

// failing gives an error from byte at on.
type failing struct {
	io.ReaderAt
	at  int64
	err error
}

func (f failing) ReadAt(p []byte, off int64) (int, error) {
	if off+int64(len(p)) <= f.at {
		return f.ReaderAt.ReadAt(p, off)
	}
	n, _ := f.ReaderAt.ReadAt(p[:max(0, f.at-off)], off)
	return n, f.err
}

func TestReadErrors(t *testing.T) {
	file := monoFile(100_000)
	broken := errors.New("medium error")
	for _, tt := range []struct {
		name      string
		err, want error
	}{{"disk", broken, broken}, {"file became shorter", io.EOF, ErrTruncated}} {
		t.Run(tt.name, func(t *testing.T) {
			for _, at := range []int64{0, 10, 40, 44, 45, 200_000} {
				frames := int64(0)
				r, err := NewReader(failing{bytes.NewReader(file), at, tt.err}, int64(len(file)), "test.wav")
				for err == nil {
					var b Block
					if b, err = r.Next(); err == nil {
						frames += int64(len(b.Samples[0]))
					}
				}
				var fe *FileError
				if !errors.Is(err, tt.want) || !errors.As(err, &fe) || frames*3 > max(0, at-44) {
					t.Errorf("broken from byte %d: got %d frames and %v, want no more than there are and %v", at, frames, err, tt.want)
				}
				if r != nil {
					if _, err := r.Essence(); err == nil {
						t.Errorf("broken from byte %d: got an essence", at)
					}
				}
			}
		})
	}
}

// Ten hours and more: sizes beyond 32 bits in a file that is mostly a hole.
func TestHugeFiles(t *testing.T) {
	const frames = 3 << 30 // 9 GiB of 24-bit mono, 18.6 h
	tests := []struct {
		name  string
		head  []byte
		note  string
		unfin bool
	}{
		{"RF64", newWave("RF64").chunk("ds64", ds64Chunk(3*frames+72, 3*frames, frames)).chunk("fmt ", fmtChunk(1, 1, 48000, 24)).claim("data", unknownSize, nil).finish(), "", false},
		{"BW64", newWave("BW64").chunk("ds64", ds64Chunk(3*frames+72, 3*frames, frames)).chunk("fmt ", fmtChunk(1, 1, 48000, 24)).claim("data", unknownSize, nil).finish(), "", false},
		{"RIFF whose size began again", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 24)).claim("data", (3*frames)&0xFFFFFFFF, nil).finish(), "longer than 4 GiB", false},
		{"RIFF never closed", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 24)).claim("data", unknownSize, nil).finish(), "never closed", true},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			start := int64(len(tt.head))
			tail := []byte{}
			if !tt.unfin {
				tail = appendChunk(nil, "cue ", cueChunk(1, cuePoint(1, 77)))
			}
			src := sparse{start + 3*frames + int64(len(tail)), map[int64][]byte{0: tt.head, start + 3*(frames-1): {0, 0, 0x40}, start + 3*frames: tail}}
			r, err := NewReader(src, src.size, "huge.wav")
			if err != nil {
				t.Fatal(err)
			}
			info := r.Info()
			if info.Frames != frames || info.Unfinished != tt.unfin || !strings.Contains(strings.Join(info.Notes, "\n"), tt.note) || tt.note == "" && len(info.Notes) > 0 {
				t.Errorf("got %d frames, unfinished %v, notes %q; want %d, %v, %q", info.Frames, info.Unfinished, info.Notes, int64(frames), tt.unfin, tt.note)
			}
			if want := timecode.FromSamples(frames, 48000); info.Duration() != want {
				t.Errorf("got %v, want %v", info.Duration(), want)
			}
			if !tt.unfin && len(info.Markers) != 1 {
				t.Errorf("got markers %v, want the one behind the data", info.Markers)
			}
			if err := r.SeekFrame(frames - 2); err != nil {
				t.Fatal(err)
			}
			b, err := r.Next()
			if err != nil || !slices.Equal(b.Samples[0], []float64{0, 0.5}) {
				t.Errorf("last two samples: got %v, %v, want 0, 0.5", b.Samples, err)
			}
		})
	}
}

func TestOpenRefuses(t *testing.T) {
	dir := t.TempDir()
	if _, err := Open(filepath.Join(dir, "none.wav")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("missing file: got %v, want %v", err, fs.ErrNotExist)
	}
	if _, err := Open(dir); !errors.Is(err, ErrNotWave) {
		t.Errorf("folder: got %v, want %v", err, ErrNotWave)
	}
	path := filepath.Join(dir, "a.wav")
	if err := os.WriteFile(path, monoFile(10), 0o400); err != nil {
		t.Fatal(err)
	}
	r, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := r.Close(); err != nil {
			t.Errorf("close: %v", err)
		}
	}
	if _, err := r.Next(); err == nil {
		t.Error("read after close: got no error")
	}
}

// Memory stays the same however long the file is and whatever it claims.
func TestMemoryIsConstant(t *testing.T) {
	const frames = 50_000_000
	head := newWave("RF64").chunk("ds64", ds64Chunk(0, 3*frames, frames)).chunk("fmt ", fmtChunk(1, 1, 48000, 24)).claim("data", unknownSize, nil).finish()
	src := sparse{int64(len(head)) + 3*frames, map[int64][]byte{0: head}}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	r, err := NewReader(src, src.size, "long.wav")
	if err != nil {
		t.Fatal(err)
	}
	for err == nil {
		_, err = r.Next()
	}
	runtime.ReadMemStats(&after)
	if got := after.TotalAlloc - before.TotalAlloc; !errors.Is(err, io.EOF) || got > 2<<20 {
		t.Errorf("150 MB read with %d bytes allocated in all, %v; want below 2 MiB", got, err)
	}
}

// The fast loop for 24-bit mono gives what the plain arithmetic gives.
func TestDecode24Mono(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 50).Draw(t, "samples")
		raw := rapid.SliceOfN(rapid.Byte(), 3*n, 3*n).Draw(t, "bytes")
		got := make([]float64, n)
		format{channels: 1, container: 24}.decode([][]float64{got}, raw)
		for i, v := range got {
			s := int64(raw[3*i]) | int64(raw[3*i+1])<<8 | int64(raw[3*i+2])<<16
			if s >= 1<<23 {
				s -= 1 << 24
			}
			if want := float64(s) / (1 << 23); v != want {
				t.Fatalf("sample %d: got %v, want %v", i, v, want)
			}
		}
	})
}

// TestSkipEssence: a reader that was told not to hash gives no hash, and the
// same samples.
func TestSkipEssence(t *testing.T) {
	path := filepath.Join("..", "..", "samples", "day2", "D2-WALK.wav")
	sum := func(skip bool) (total float64, err error) {
		r, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Close()
		if skip {
			r.SkipEssence()
		}
		for {
			b, err := r.Next()
			if err != nil {
				break
			}
			for _, v := range b.Samples[0] {
				total += v * v
			}
		}
		_, err = r.Essence()
		return total, err
	}
	with, err := sum(false)
	if err != nil {
		t.Fatal(err)
	}
	without, err := sum(true)
	if !errors.Is(err, ErrNotSequential) {
		t.Errorf("essence after SkipEssence: %v, want ErrNotSequential", err)
	}
	if with != without || with == 0 {
		t.Errorf("sum of squares %v with, %v without", with, without)
	}
}
