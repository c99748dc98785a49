package sound

import (
	"bytes"
	"encoding/binary"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// need skips a test whose outside program is missing.
func need(t testing.TB, program string) {
	t.Helper()
	if _, err := exec.LookPath(program); err != nil {
		t.Skipf("%s not found: apt-get install %s", program, program)
	}
}

func run(t testing.TB, name string, args ...string) []byte {
	t.Helper()
	cmd := exec.Command(name, args...)
	var out, errs bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &errs
	if err := cmd.Run(); err != nil {
		t.Fatalf("%s %v: %v\n%s", name, args, err, errs.String())
	}
	return out.Bytes()
}

// readAll reads a file to its end: samples[channel][i].
func readAll(t testing.TB, path string) ([][]float64, Info) {
	t.Helper()
	r, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	return drain(t, r), r.Info()
}

// interleavedF64 splits a raw little-endian stream into channels.
func interleavedF64(b []byte, channels int) [][]float64 {
	out := make([][]float64, channels)
	for i := 0; i+8 <= len(b); i += 8 {
		c := i / 8 % channels
		out[c] = append(out[c], math.Float64frombits(binary.LittleEndian.Uint64(b[i:])))
	}
	return out
}

// The layouts that sox 14.4.2 can write: each is read by us and by the two
// programs.
var soxLayouts = []struct {
	name     string
	args     []string
	bits     int
	float    bool
	channels int
}{
	{"8 bit unsigned mono", []string{"-e", "unsigned-integer", "-b", "8", "-c", "1"}, 8, false, 1},
	{"16 bit stereo", []string{"-e", "signed-integer", "-b", "16", "-c", "2"}, 16, false, 2},
	{"24 bit mono", []string{"-e", "signed-integer", "-b", "24", "-c", "1"}, 24, false, 1},
	{"24 bit, 3 channels, extensible", []string{"-e", "signed-integer", "-b", "24", "-c", "3"}, 24, false, 3},
	{"24 bit, 16 channels, extensible", []string{"-e", "signed-integer", "-b", "24", "-c", "16"}, 24, false, 16},
	{"32 bit stereo", []string{"-e", "signed-integer", "-b", "32", "-c", "2"}, 32, false, 2},
	{"float 32", []string{"-e", "floating-point", "-b", "32", "-c", "2"}, 32, true, 2},
	{"float 64", []string{"-e", "floating-point", "-b", "64", "-c", "1"}, 64, true, 1},
}

func TestSoxFiles(t *testing.T) {
	need(t, "sox")
	dir := t.TempDir()
	for i, tt := range soxLayouts {
		t.Run(tt.name, func(t *testing.T) {
			path := filepath.Join(dir, string(rune('a'+i))+".wav")
			args := append([]string{"-D", "-R", "-n", "-r", "48000"}, tt.args...)
			run(t, "sox", append(args, path, "synth", "0.7313", "pinknoise", "gain", "-3")...)
			got, info := readAll(t, path)
			if info.Bits != tt.bits || info.Float != tt.float || info.Channels != tt.channels || len(info.Notes) > 0 {
				t.Errorf("got %+v, want %d bits, float %v, %d channels, no notes", info, tt.bits, tt.float, tt.channels)
			}
			sameAs(t, "ffmpeg", got, ffmpegSamples(t, path, tt.channels), 0)
			// sox computes in 32-bit integers: floats come back rounded.
			tolerance := 0.0
			if tt.float {
				tolerance = 1.0 / (1 << 31)
			}
			sameAs(t, "sox", got, interleavedF64(run(t, "sox", "-D", path, "-e", "floating-point", "-b", "64", "-t", "raw", "-L", "-"), tt.channels), tolerance)
		})
	}
}

func haveFFmpeg() bool {
	_, err := exec.LookPath("ffmpeg")
	return err == nil
}

func ffmpegSamples(t testing.TB, path string, channels int) [][]float64 {
	t.Helper()
	need(t, "ffmpeg")
	return interleavedF64(run(t, "ffmpeg", "-v", "error", "-i", path, "-f", "f64le", "-"), channels)
}

func sameAs(t *testing.T, by string, got, want [][]float64, tolerance float64) {
	t.Helper()
	for c := range got {
		if len(got[c]) != len(want[c]) {
			t.Fatalf("channel %d: got %d samples, %s %d", c, len(got[c]), by, len(want[c]))
		}
		for i := range got[c] {
			if d := math.Abs(got[c][i] - want[c][i]); d > tolerance {
				t.Fatalf("channel %d, sample %d: got %v, %s %v", c, i, got[c][i], by, want[c][i])
			}
		}
	}
}

// The layouts that ffmpeg can write.
func TestFFmpegFiles(t *testing.T) {
	need(t, "ffmpeg")
	dir := t.TempDir()
	tests := []struct {
		name      string
		codec     string
		channels  string
		extra     []string
		container string
		bits      int
		float     bool
	}{
		{"8 bit", "pcm_u8", "1", nil, "RIFF", 8, false},
		{"16 bit", "pcm_s16le", "1", nil, "RIFF", 16, false},
		{"24 bit, 6 channels", "pcm_s24le", "6", nil, "RIFF", 24, false},
		{"32 bit", "pcm_s32le", "2", nil, "RIFF", 32, false},
		{"float 32", "pcm_f32le", "2", nil, "RIFF", 32, true},
		{"float 64, 8 channels", "pcm_f64le", "8", nil, "RIFF", 64, true},
		{"RF64", "pcm_s24le", "2", []string{"-rf64", "always"}, "RF64", 24, false},
		{"RF64 float, 4 channels", "pcm_f32le", "4", []string{"-rf64", "always"}, "RF64", 32, true},
	}
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			path := filepath.Join(dir, string(rune('a'+i))+".wav")
			args := []string{"-v", "error", "-f", "lavfi", "-i", "anoisesrc=r=44100:d=0.9173:seed=7:a=0.7", "-ac", tt.channels, "-c:a", tt.codec}
			run(t, "ffmpeg", append(append(args, tt.extra...), path)...)
			got, info := readAll(t, path)
			if info.Container != tt.container || info.Bits != tt.bits || info.Float != tt.float || info.Unfinished || len(info.Notes) > 0 {
				t.Errorf("got %+v, want %s, %d bits, float %v, no notes", info, tt.container, tt.bits, tt.float)
			}
			sameAs(t, "ffmpeg", got, ffmpegSamples(t, path, info.Channels), 0)
		})
	}
}

// ffmpeg -write_bext writes Tech 3285 metadata that we didn't make.
func TestFFmpegBroadcast(t *testing.T) {
	need(t, "ffmpeg")
	path := filepath.Join(t.TempDir(), "b.wav")
	run(t, "ffmpeg", "-v", "error", "-f", "lavfi", "-i", "sine=d=0.1:r=48000", "-c:a", "pcm_s24le", "-write_bext", "1",
		"-metadata", "description=Ferry, landing", "-metadata", "originator=Recorder 2", "-metadata", "originator_reference=D2INT2",
		"-metadata", "origination_date=2031-09-14", "-metadata", "origination_time=10:00:12",
		"-metadata", "time_reference=1728576000", "-metadata", "coding_history=A=PCM,F=48000,W=24,M=mono", path)
	_, info := readAll(t, path)
	want := Broadcast{
		Description: "Ferry, landing", Originator: "Recorder 2", OriginatorReference: "D2INT2",
		Date: "2031-09-14", Time: "10:00:12", TimeReference: 1728576000, Version: 1, CodingHistory: "A=PCM,F=48000,W=24,M=mono",
	}
	if info.Broadcast == nil {
		t.Fatal("got no bext")
	}
	if got := *info.Broadcast; got != want {
		t.Errorf("got  %+v\nwant %+v", got, want)
	}
}

// A pipe can't be rewound, so both programs leave their sizes open.
func TestPipedFilesAreUnfinished(t *testing.T) {
	need(t, "ffmpeg")
	need(t, "sox")
	dir := t.TempDir()
	for name, b := range map[string][]byte{
		"ffmpeg": run(t, "ffmpeg", "-v", "error", "-f", "lavfi", "-i", "sine=d=0.5:r=48000", "-c:a", "pcm_s16le", "-f", "wav", "-"),
		"sox":    run(t, "sh", "-c", "sox -n -r 48000 -b 16 -c 1 -t wav - synth 0.5 sine 440 2>/dev/null | cat"),
	} {
		t.Run(name, func(t *testing.T) {
			path := filepath.Join(dir, name+".wav")
			if err := os.WriteFile(path, b, 0o600); err != nil {
				t.Fatal(err)
			}
			got, info := readAll(t, path)
			if info.Frames != 24000 || len(got[0]) != 24000 || !info.Unfinished || len(info.Notes) != 1 {
				t.Errorf("got %d frames (%d read), unfinished %v, notes %q; want 24000, true, one note", info.Frames, len(got[0]), info.Unfinished, info.Notes)
			}
		})
	}
}
