package sound

import (
	"context"
	"errors"
	"io"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// noise is a 24-bit WAV of n frames, different in every channel.
func noise(t *testing.T, channels, n int) string {
	random := rand.New(rand.NewPCG(7, uint64(channels)))
	return source(t, WriterOptions{48000, 24, channels, nil}, n, func(int, int) float64 {
		return float64(random.IntN(1<<23)-1<<22) / (1 << 23)
	})
}

// encoded has ffmpeg make a file; the last of args is its name.
func encoded(t testing.TB, args ...string) string {
	t.Helper()
	need(t, "ffmpeg")
	need(t, "ffprobe")
	path := filepath.Join(t.TempDir(), args[len(args)-1])
	args[len(args)-1] = "file:" + path
	run(t, "ffmpeg", append([]string{"-nostdin", "-v", "error"}, args...)...)
	return path
}

// encodedAll has ffmpeg make several files of one WAV in one go, each with
// args whose last is the name; "-c:v" among them asks for a picture.
func encodedAll(t testing.TB, wav string, each [][]string) []string {
	t.Helper()
	need(t, "ffmpeg")
	need(t, "ffprobe")
	dir := t.TempDir()
	args := append([]string{"-nostdin", "-v", "error", "-i", wav}, picture("25")...)
	var paths []string
	for _, a := range each {
		if slices.Contains(a, "-c:v") {
			args = append(args, "-map", "1") // MXF wants its picture first
		}
		args = append(args, "-map", "0")
		path := filepath.Join(dir, a[len(a)-1])
		args = append(append(args, a[:len(a)-1]...), path)
		paths = append(paths, path)
	}
	run(t, "ffmpeg", args...)
	return paths
}

// picture is three seconds of moving picture as ffmpeg's input.
func picture(rate string) []string {
	return []string{"-f", "lavfi", "-i", "testsrc=s=64x64:d=3:r=" + rate}
}

func openedMedia(t testing.TB, path string) Stream {
	t.Helper()
	s, err := OpenMedia(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	return s
}

// drainMedia holds a Stream to its contract; the length may turn out
// different from what Info said first.
func drainMedia(t testing.TB, s Stream) [][]float64 {
	t.Helper()
	out := make([][]float64, s.Info().Channels)
	for next := int64(0); ; {
		b, err := s.Next()
		if errors.Is(err, io.EOF) {
			if got := s.Info().Frames; got != next {
				t.Fatalf("read %d frames, Info says %d", next, got)
			}
			if _, err := s.Next(); !errors.Is(err, io.EOF) {
				t.Fatalf("after the end: got %v, want io.EOF", err)
			}
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		if b.Start != next || len(b.Samples) != len(out) || len(b.Samples[0]) == 0 {
			t.Fatalf("got block at %d with %d channels, want %d with %d", b.Start, len(b.Samples), next, len(out))
		}
		for c, v := range b.Samples {
			if len(v) != len(b.Samples[0]) {
				t.Fatalf("channel %d has %d samples, channel 0 %d", c, len(v), len(b.Samples[0]))
			}
			out[c] = append(out[c], v...)
		}
		next += int64(len(b.Samples[0]))
	}
}

const mediaFrames = 3 * 48000

// Lossless files give the samples of the WAV that ffmpeg made them from,
// from the start and from any frame.
func TestMediaLossless(t *testing.T) {
	t.Parallel()
	wav := noise(t, 2, mediaFrames)
	want, _ := readAll(t, wav)
	tests := []struct {
		name, container, codec string
		args                   []string
	}{
		{"PCM in MOV", "MOV", "pcm_s24le", []string{"-c:a", "pcm_s24le", "a.mov"}},
		{"ALAC in MP4", "M4A", "alac", []string{"-c:a", "alac", "-sample_fmt", "s32p", "a.m4a"}},
		{"FLAC", "FLAC", "flac", []string{"-c:a", "flac", "-sample_fmt", "s32", "a.flac"}},
		{"AIFF", "AIFF", "pcm_s24be", []string{"-c:a", "pcm_s24be", "a.aif"}},
		{"Matroska", "MATROSKA", "pcm_s24le", []string{"-c:a", "pcm_s24le", "a.mkv"}},
		{"MXF", "MXF", "pcm_s24le", []string{"-c:v", "mpeg2video", "-c:a", "pcm_s24le", "a.mxf"}},
	}
	var each [][]string
	for _, tt := range tests {
		each = append(each, tt.args)
	}
	paths := encodedAll(t, wav, each)
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := openedMedia(t, paths[i])
			got := drainMedia(t, s)
			info := s.Info()
			if info.Container != tt.container || info.Codec != tt.codec || !info.Float || info.Bits != 32 || info.ValidBits != 24 || info.SampleRate != 48000 || info.Unfinished || len(info.Notes) > 0 {
				t.Errorf("got %+v, want %s, %s, float 32 with 24 valid bits, 48000 Hz, no notes", info, tt.container, tt.codec)
			}
			sameAs(t, "the WAV has", got, want, 0)
			seeks(t, s, want, 0)
		})
	}
}

// seeks goes to frames before and behind where the Stream stands.
func seeks(t *testing.T, s Stream, want [][]float64, tolerance float64) {
	t.Helper()
	for _, at := range []int64{60_001, 61_000, int64(len(want[0])) - 1} {
		if err := s.SeekFrame(at); err != nil {
			t.Fatal(err)
		}
		b, err := s.Next()
		if err != nil || b.Start != at {
			t.Fatalf("seek to %d: got block at %d, %v", at, b.Start, err)
		}
		for c := range b.Samples {
			for i, v := range b.Samples[c][:min(500, len(b.Samples[c]))] {
				if d := math.Abs(v - want[c][at+int64(i)]); d > tolerance {
					t.Fatalf("seek to %d: sample %d of channel %d is off by %v", at, i, c, d)
				}
			}
		}
	}
	if err := s.SeekFrame(s.Info().Frames); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Next(); !errors.Is(err, io.EOF) {
		t.Errorf("at the end: got %v, want io.EOF", err)
	}
	for _, at := range []int64{-1, s.Info().Frames + 1} {
		if err := s.SeekFrame(at); err == nil {
			t.Errorf("seek to %d: got no error", at)
		}
	}
}

// Lossy files lie where the WAV lies, to the sample (found by correlation
// within 3000 samples each way), and give the same from any frame as from the
// start.
func TestMediaLossy(t *testing.T) {
	t.Parallel()
	wav := noise(t, 1, mediaFrames)
	want, _ := readAll(t, wav)
	tests := []struct {
		name string
		args []string
	}{
		{"AAC in MP4", []string{"-c:a", "aac", "-b:a", "192k", "a.mp4"}},
		{"MP3", []string{"-c:a", "libmp3lame", "-b:a", "192k", "a.mp3"}},
		{"MP3 without a length", []string{"-c:a", "libmp3lame", "-write_xing", "0", "-q:a", "3", "b.mp3"}},
		{"Opus", []string{"-c:a", "libopus", "-b:a", "192k", "a.opus"}},
		{"AAC without a container", []string{"-c:a", "aac", "-b:a", "192k", "a.aac"}},
	}
	var each [][]string
	for _, tt := range tests {
		each = append(each, tt.args)
	}
	paths := encodedAll(t, wav, each)
	for i, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			s := openedMedia(t, paths[i])
			claimed := s.Info().Frames
			got := drainMedia(t, s)
			lag, likeness := offset(got[0], want[0])
			t.Logf("lies %+d samples from the WAV (correlation %.3f); claims %d frames, has %d", lag, likeness, claimed, len(got[0]))
			// A bare stream or an MP3 without a header for it carries the
			// encoder's delay; nothing in the file says how long that is.
			bare := tt.args[len(tt.args)-1] == "a.aac" || slices.Contains(tt.args, "-write_xing")
			if likeness < 0.3 || !bare && lag != 0 {
				t.Errorf("got %+d samples with correlation %.3f, want 0", lag, likeness)
			}
			if n := int64(len(got[0])); !bare && (n < mediaFrames || n > mediaFrames+2048) {
				t.Errorf("got %d frames, want %d and at most two packets more", n, mediaFrames)
			}
			if info := s.Info(); info.Unfinished || info.ValidBits != 32 {
				t.Errorf("got %+v, want 32 valid bits, not unfinished", info)
			}
			seeks(t, s, got, 1e-4)
		})
	}
}

// offset finds how many samples a lies behind b, and their correlation there.
func offset(a, b []float64) (lag int, likeness float64) {
	const from, n, reach = 50_000, 2000, 3000
	for d := -reach; d <= reach; d++ {
		var ab, aa, bb float64
		for i := from; i < from+n; i++ {
			x, y := a[i+d], b[i]
			ab, aa, bb = ab+x*y, aa+x*x, bb+y*y
		}
		if r := ab / math.Sqrt(aa*bb); r > likeness {
			lag, likeness = d, r
		}
	}
	return lag, likeness
}

// Several streams become one recording, in the order in which they lie.
// Mono before stereo is the order that amerge by itself would change.
func TestMediaJoinsStreams(t *testing.T) {
	t.Parallel()
	wav := noise(t, 8, mediaFrames)
	want, _ := readAll(t, wav)
	mono := func(c string) string { return "[0:a]pan=mono|c0=c" + c + "[o" + c + "];" }
	tests := []struct {
		name     string
		graph    string
		maps     string
		channels []int
		args     []string
	}{
		{"eight mono in MXF", "0 1 2 3 4 5 6 7", "o0 o1 o2 o3 o4 o5 o6 o7", []int{0, 1, 2, 3, 4, 5, 6, 7}, append(picture("25"), "-c:v", "mpeg2video", "-c:a", "pcm_s24le", "a.mxf")},
		{"mono and stereo", "4", "o4 o56", []int{4, 5, 6}, []string{"-c:a", "pcm_s24le", "a.mov"}},
		{"one of eight channels", "", "all", []int{0, 1, 2, 3, 4, 5, 6, 7}, []string{"-c:a", "flac", "-sample_fmt", "s32", "a.flac"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			t.Parallel()
			graph := ""
			for _, c := range strings.Fields(tt.graph) {
				graph += mono(c)
			}
			if strings.Contains(tt.maps, "o56") {
				graph += "[0:a]pan=stereo|c0=c5|c1=c6[o56];"
			}
			if tt.maps == "all" {
				graph = "[0:a]anull[all];"
			}
			args := []string{"-i", wav}
			last := tt.args
			if len(last) > 4 && last[0] == "-f" {
				args, last = append(args, last[:4]...), last[4:]
			}
			args = append(args, "-filter_complex", strings.TrimSuffix(graph, ";"))
			if len(args) > 6 {
				args = append(args, "-map", "1:v")
			}
			for _, m := range strings.Fields(tt.maps) {
				args = append(args, "-map", "["+m+"]")
			}
			s := openedMedia(t, encoded(t, append(args, last...)...))
			got := drainMedia(t, s)
			var expect [][]float64
			for _, c := range tt.channels {
				expect = append(expect, want[c])
			}
			if len(got) != len(expect) {
				t.Fatalf("got %d channels, want %d", len(got), len(expect))
			}
			sameAs(t, "the WAV has", got, expect, 0)
			seeks(t, s, expect, 0)
		})
	}
}
