package listen

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
)

// part is a stretch of 1 kHz sine at one peak level for all channels.
type part struct {
	seconds, dbfs float64
}

func tone(rate int, parts ...part) []float64 {
	var x []float64
	for _, p := range parts {
		gain := db(p.dbfs)
		for range int(p.seconds * float64(rate)) {
			x = append(x, gain*math.Sin(2*math.Pi*1000*float64(len(x))/float64(rate)))
		}
	}
	return x
}

// EBU Tech 3341 v4, cases 1 to 6 (seen): integrated loudness within 0.1 LU,
// here at every common sample rate.
func TestLoudnessTech3341(t *testing.T) {
	tests := []struct {
		name  string
		parts []part
		want  float64
	}{
		{"1", []part{{20, -23}}, -23},
		{"2", []part{{20, -33}}, -33},
		{"3", []part{{10, -36}, {60, -23}, {10, -36}}, -23},
		{"4", []part{{10, -72}, {10, -36}, {60, -23}, {10, -36}, {10, -72}}, -23},
		{"5", []part{{20, -26}, {20.1, -20}, {20, -26}}, -23},
	}
	for _, c := range tests {
		for _, rate := range []int{8000, 11025, 44100, 48000, 96000, 192000} {
			if rate != 48000 && c.name != "1" {
				continue
			}
			x := tone(rate, c.parts...)
			got := loudness(newScene(rate, x, x))
			if math.Abs(got-c.want) > 0.1 {
				t.Errorf("case %s at %d Hz: got %.3f LUFS, want %.1f", c.name, rate, got, c.want)
			}
		}
	}
	front, centre, back := tone(48000, part{20, -28}), tone(48000, part{20, -24}), tone(48000, part{20, -30})
	silent := make([]float64, len(front))
	six := newScene(48000, front, front, centre, back, back)
	if got := loudness(six); math.Abs(got+23) > 0.1 {
		t.Errorf("case 6 (5.0, no mask): got %.3f LUFS, want -23.0", got)
	}
	masked := newScene(48000, front, front, centre, back, back)
	masked.info.ChannelMask = 0x37 // L R C, back left and right
	if got := loudness(masked); math.Abs(got+23) > 0.1 {
		t.Errorf("case 6 (5.0, mask): got %.3f LUFS, want -23.0", got)
	}
	five1 := newScene(48000, front, front, centre, centre, back, back)
	if got := loudness(five1); math.Abs(got+23) > 0.1 {
		t.Errorf("case 6 as 5.1 with a loud LFE: got %.3f LUFS, want -23.0", got)
	}
	if got := loudness(newScene(48000, silent)); !math.IsInf(got, -1) {
		t.Errorf("silence: got %v LUFS, want -Inf", got)
	}
}

// loudness runs the measuring half alone.
func loudness(s *scene) float64 {
	e := newEar(s.info)
	out := make(parcel, s.info.Channels)
	for {
		b, err := s.Next()
		if err != nil {
			e.finish()
			return e.gate.integrated()
		}
		for c := range out {
			out[c] = out[c][:0]
		}
		e.hear(b.Samples, out)
	}
}

// ITU-R BS.1770-5 annex 1 tables 1 and 2: coefficients at 48 kHz (recalled).
func TestKWeightTable(t *testing.T) {
	k := newKWeight(48000)
	for _, c := range []struct {
		name      string
		got, want float64
	}{
		{"shelf b0", k.b0, 1.53512485958697},
		{"shelf b1", k.b1, -2.69169618940638},
		{"shelf b2", k.b2, 1.19839281085285},
		{"shelf a1", k.a1, -1.69065929318241},
		{"shelf a2", k.a2, 0.73248077421585},
		{"high-pass a1", k.c1, -1.99004745483398},
		{"high-pass a2", k.c2, 0.99007225036621},
	} {
		if math.Abs(c.got-c.want) > 1e-9 {
			t.Errorf("%s: got %.14f, want %.14f", c.name, c.got, c.want)
		}
	}
}

// writePCM writes 16-bit WAV for other programs to read, and rounds x to what
// it wrote.
func writePCM(t testing.TB, path string, rate int, x ...[]float64) {
	t.Helper()
	n, ch := len(x[0]), len(x)
	b := make([]byte, 44, 44+2*n*ch)
	copy(b, "RIFF")
	binary.LittleEndian.PutUint32(b[4:], uint32(36+2*n*ch))
	copy(b[8:], "WAVEfmt ")
	binary.LittleEndian.PutUint32(b[16:], 16)
	binary.LittleEndian.PutUint16(b[20:], 1)
	binary.LittleEndian.PutUint16(b[22:], uint16(ch))
	binary.LittleEndian.PutUint32(b[24:], uint32(rate))
	binary.LittleEndian.PutUint32(b[28:], uint32(2*rate*ch))
	binary.LittleEndian.PutUint16(b[32:], uint16(2*ch))
	binary.LittleEndian.PutUint16(b[34:], 16)
	copy(b[36:], "data")
	binary.LittleEndian.PutUint32(b[40:], uint32(2*n*ch))
	for i := range n {
		for c := range x {
			v := int16(max(-32768, min(32767, math.Round(x[c][i]*32768))))
			x[c][i] = float64(v) / 32768
			b = binary.LittleEndian.AppendUint16(b, uint16(v))
		}
	}
	if err := os.WriteFile(path, b, 0o600); err != nil {
		t.Fatal(err)
	}
}

// Beside another program: ffmpeg's ebur128 filter, which prints tenths.
func TestLoudnessBesideFFmpeg(t *testing.T) {
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg not found: apt-get install ffmpeg")
	}
	r := rand.New(rand.NewPCG(3, 3))
	burst := func(n int) []float64 {
		x := pinkNoise(n, r)
		for i := range x {
			x[i] *= 0.05 + 0.1*math.Abs(math.Sin(float64(i)/float64(n)*40))
		}
		return x
	}
	dir := t.TempDir()
	for i, c := range []struct{ rate, channels int }{{48000, 1}, {48000, 2}, {44100, 1}, {16000, 2}, {96000, 1}, {8000, 1}} {
		var x [][]float64
		for range c.channels {
			x = append(x, burst(12*c.rate))
		}
		path := filepath.Join(dir, fmt.Sprintf("%d.wav", i))
		writePCM(t, path, c.rate, x...)
		out, err := exec.Command("ffmpeg", "-nostats", "-nostdin", "-i", path, "-af", "ebur128", "-f", "null", "-").CombinedOutput()
		if err != nil {
			t.Fatalf("ffmpeg: %v: %s", err, out)
		}
		all := regexp.MustCompile(`I:\s+(-?[0-9.]+) LUFS`).FindAllSubmatch(out, -1)
		want, err := strconv.ParseFloat(string(all[len(all)-1][1]), 64)
		if err != nil {
			t.Fatal(err)
		}
		if got := loudness(newScene(c.rate, x...)); math.Abs(got-want) > 0.15 {
			t.Errorf("%d Hz, %d channels: got %.2f LUFS, ffmpeg says %.1f", c.rate, c.channels, got, want)
		}
	}
}

func TestChannelWeights(t *testing.T) {
	for _, c := range []struct {
		name     string
		mask     uint32
		channels int
		want     []float64
	}{
		{"mono", 0, 1, []float64{1}},
		{"four without a mask", 0, 4, []float64{1, 1, 1, 1}},
		{"5.1 side", 0x60F, 6, []float64{1, 1, 1, 0, 1.41, 1.41}},
		{"more channels than the mask names", 0x3, 3, []float64{1, 1, 1}},
		{"mask of everything", 0xFFFFFFFF, 2, []float64{1, 1}},
	} {
		if got := channelWeights(c.mask, c.channels); fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("%s: got %v, want %v", c.name, got, c.want)
		}
	}
}
