package sound

import (
	"bytes"
	"context"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// Files by the encoder of go-audio/wav v1.1.0 are read alike by us, by its
// own decoder and by ffmpeg.
func TestGoAudioFiles(t *testing.T) {
	dir := t.TempDir()
	for _, bits := range []int{8, 16, 24, 32} {
		for _, channels := range []int{1, 5} {
			path := filepath.Join(dir, "a.wav")
			ints := make([]int, 3001*channels)
			full := 1 << (bits - 1)
			for i := range ints {
				ints[i] = (i*7919*full/1000)%(2*full) - full
				if bits == 8 {
					ints[i] += full
				}
			}
			f, err := os.Create(path)
			if err != nil {
				t.Fatal(err)
			}
			e := wav.NewEncoder(f, 48000, bits, channels, 1)
			if err := e.Write(&audio.IntBuffer{Format: &audio.Format{NumChannels: channels, SampleRate: 48000}, Data: ints}); err != nil {
				t.Fatal(err)
			}
			if err := e.Close(); err != nil {
				t.Fatal(err)
			}
			f.Close()
			got, _ := readAll(t, path)
			b, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			back, err := wav.NewDecoder(bytes.NewReader(b)).FullPCMBuffer()
			if err != nil || len(back.Data) != len(ints) {
				t.Fatalf("%d bits, %d channels: reference read %d of %d samples, %v", bits, channels, len(back.Data), len(ints), err)
			}
			for i, v := range back.Data {
				if bits == 8 {
					v -= full
				}
				if g := got[i%channels][i/channels]; g != float64(v)/float64(full) {
					t.Fatalf("%d bits, %d channels, sample %d: got %v, reference %v", bits, channels, i, g, float64(v)/float64(full))
				}
			}
			if haveFFmpeg() {
				sameAs(t, "ffmpeg", got, ffmpegSamples(t, path, channels), 0)
			}
		}
	}
}

// What go-audio/wav v1.1.0 gets wrong and we read: why the reader is our own
// (docs/decisions/0003). If a newer version gets one right, this test says so.
func TestGoAudioShortcomings(t *testing.T) {
	plain := fmtChunk(1, 1, 48000, 16)
	tests := []struct {
		name string
		file []byte
		want []float64 // ours
	}{
		{"32-bit float comes as bit patterns", newWave("RIFF").chunk("fmt ", fmtChunk(3, 1, 48000, 32)).chunk("data", float32s(0.5, -0.25)).finish(), []float64{0.5, -0.25}},
		{"RF64 is refused", newWave("RF64").chunk("ds64", ds64Chunk(0, 4, 2)).chunk("fmt ", plain).claim("data", unknownSize, ramp16(2)).finish(), []float64{rampValue(0), rampValue(1)}},
		{"BW64 is refused", newWave("BW64").chunk("ds64", ds64Chunk(0, 4, 2)).chunk("fmt ", plain).claim("data", unknownSize, ramp16(2)).finish(), []float64{rampValue(0), rampValue(1)}},
		{"data size 0 gives nothing", newWave("RIFF").chunk("fmt ", plain).claim("data", 0, ramp16(2)).finish(), []float64{rampValue(0), rampValue(1)}},
		{"data size 0xFFFFFFFF gives nothing", newWave("RIFF").chunk("fmt ", plain).claim("data", unknownSize, ramp16(2)).finish(), []float64{rampValue(0), rampValue(1)}},
		{"odd chunk without pad byte loses the data", newWave("RIFF").claim("JUNK", 3, []byte("odd")).chunk("fmt ", plain).chunk("data", ramp16(2)).finish(), []float64{rampValue(0), rampValue(1)}},
		{"8-bit silence is 128", newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 8)).chunk("data", []byte{128, 192}).finish(), []float64{0, 0.5}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r, err := open(tt.file)
			if err != nil {
				t.Fatal(err)
			}
			got := drain(t, r)[0]
			if len(got) != len(tt.want) || got[0] != tt.want[0] || got[1] != tt.want[1] {
				t.Errorf("got %v, want %v", got, tt.want)
			}
			if reference(tt.file, tt.want) {
				t.Errorf("go-audio/wav reads this now: say so in docs/decisions")
			}
		})
	}
}

// reference tells whether go-audio/wav reads the wanted samples, as integers
// of its bit depth.
func reference(file []byte, want []float64) (ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	d := wav.NewDecoder(bytes.NewReader(file))
	buf, err := d.FullPCMBuffer()
	ok = err == nil && buf != nil && len(buf.Data) == len(want)
	for i := 0; ok && i < len(want); i++ {
		ok = float64(buf.Data[i])/math.Ldexp(1, int(d.BitDepth)-1) == want[i]
	}
	return ok
}

// hangs is a file on which go-audio/wav v1.1.0 doesn't return.
func hangs() []byte {
	return newWave("RIFF").chunk("fmt ", fmtChunk(1, 1, 48000, 16)).claim("LIST", 1<<31-1, []byte("INFO")).chunk("data", ramp16(2)).finish()
}

// A chunk that claims 2 GiB keeps the reference busy; it is tried in a
// process of its own, which can be ended.
func TestGoAudioHangs(t *testing.T) {
	const child = "SOUND_TEST_CHILD"
	if os.Getenv(child) != "" {
		reference(hangs(), nil)
		return
	}
	r, err := open(hangs())
	if err != nil {
		t.Fatal(err)
	}
	if got, want := drain(t, r)[0], []float64{rampValue(0), rampValue(1)}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	cmd := exec.CommandContext(ctx, os.Args[0], "-test.run=^TestGoAudioHangs$")
	cmd.Env = append(os.Environ(), child+"=1")
	if err := cmd.Run(); err == nil && ctx.Err() == nil {
		t.Errorf("go-audio/wav returns now: say so in docs/decisions")
	}
}
