package listen

import (
	"context"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sort"
	"testing"

	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// scene is a made recording: samples per channel, served in blocks.
type scene struct {
	info  sound.Info
	x     [][]float64
	at    int
	block int
}

func newScene(rate int, x ...[]float64) *scene {
	info := sound.Info{Float: true, Bits: 64, Channels: len(x), SampleRate: rate}
	if len(x) > 0 {
		info.Frames = int64(len(x[0]))
	}
	return &scene{info: info, x: x, block: 4096}
}

func (s *scene) Info() sound.Info { return s.info }

func (s *scene) Next() (sound.Block, error) {
	if len(s.x) == 0 || s.at >= len(s.x[0]) {
		return sound.Block{}, io.EOF
	}
	end := min(len(s.x[0]), s.at+s.block)
	b := sound.Block{Start: int64(s.at)}
	for _, c := range s.x {
		b.Samples = append(b.Samples, c[s.at:end])
	}
	s.at = end
	return b, nil
}

func hear(t testing.TB, s Source, opt Options) story.Heard {
	t.Helper()
	h, err := Hear(context.Background(), s, opt)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// clip is one saying of a real voice, trimmed.
type clip struct {
	name string
	x    []float64
}

// readWAV reads the plain 16-bit and 32-bit float mono files of the voice
// packages and of the meetings; tests of this room do not lean on the reader of another.
func readWAV(path string) ([]float64, int, error) {
	b, err := os.ReadFile(path)
	if err != nil {
		return nil, 0, err
	}
	rate, float := 0, false
	for at := 12; at+8 <= len(b); {
		size := int(binary.LittleEndian.Uint32(b[at+4:]))
		body := b[at+8 : min(len(b), at+8+size)]
		switch string(b[at : at+4]) {
		case "fmt ":
			float = binary.LittleEndian.Uint16(body) == 3
			if binary.LittleEndian.Uint16(body[2:]) != 1 {
				return nil, 0, fmt.Errorf("%s: not mono", path)
			}
			rate = int(binary.LittleEndian.Uint32(body[4:]))
		case "data":
			if float {
				x := make([]float64, len(body)/4)
				for i := range x {
					x[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(body[4*i:])))
				}
				return x, rate, nil
			}
			x := make([]float64, len(body)/2)
			for i := range x {
				x[i] = float64(int16(binary.LittleEndian.Uint16(body[2*i:]))) / 32768
			}
			return x, rate, nil
		}
		at += 8 + size + size%2
	}
	return nil, 0, fmt.Errorf("%s: no data", path)
}

// voices loads the sayings of at least minSeconds of one Debian voice package
// (asterisk-core-sounds-en-wav, -es-wav …), trimmed to where the peak of 5 ms
// stands above −45 dB of the saying's own peak.
func voices(t testing.TB, language string, minSeconds float64, most int) []clip {
	t.Helper()
	dir := map[string]string{"en": "en_US_f_Allison", "es": "es_MX_f_Allison", "fr": "fr_CA_f_June", "it": "it_IT_m_Carlo", "ru": "ru_RU_f_IvrvoiceRU"}[language]
	files, _ := filepath.Glob("/usr/share/asterisk/sounds/" + dir + "/*.wav")
	if len(files) == 0 {
		t.Skipf("no real voices: apt-get install asterisk-core-sounds-%s-wav", language)
	}
	sort.Strings(files)
	var out []clip
	for _, f := range files {
		x, rate, err := readWAV(f)
		if err != nil || rate != 8000 {
			continue
		}
		if x = trim(x, 8000); float64(len(x)) >= minSeconds*8000 && !isTone(x) {
			out = append(out, clip{filepath.Base(f), x})
		}
	}
	// Spread the choice over the alphabet of names.
	if len(out) > most {
		pick := make([]clip, most)
		for i := range pick {
			pick[i] = out[i*len(out)/most]
		}
		out = pick
	}
	return out
}

// isTone tells the beeps among the sayings: hardly any change of level.
func isTone(x []float64) bool {
	lo, hi := math.Inf(1), 0.0
	for i := 0; i+800 <= len(x); i += 800 {
		r := rms(x[i : i+800])
		lo, hi = math.Min(lo, r), math.Max(hi, r)
	}
	return hi < 2.5*lo
}

func trim(x []float64, rate int) []float64 {
	n := rate / 200
	var top float64
	for _, v := range x {
		top = math.Max(top, math.Abs(v))
	}
	edge := top * math.Pow(10, -45.0/20)
	from, to := -1, 0
	for i := 0; i+n <= len(x); i += n {
		for _, v := range x[i : i+n] {
			if math.Abs(v) >= edge {
				if from < 0 {
					from = i
				}
				to = i + n
				break
			}
		}
	}
	if from < 0 {
		return nil
	}
	return x[from:to]
}

func rms(x []float64) float64 {
	var s float64
	for _, v := range x {
		s += v * v
	}
	return math.Sqrt(s / float64(max(1, len(x))))
}

// pinkNoise makes noise of −3 dB an octave (sum of seven one-pole filters by
// Paul Kellet's published coefficients, recalled) with RMS 1.
func pinkNoise(n int, r *rand.Rand) []float64 {
	x := make([]float64, n)
	var b [7]float64
	for i := range x {
		w := r.NormFloat64()
		b[0] = 0.99886*b[0] + w*0.0555179
		b[1] = 0.99332*b[1] + w*0.0750759
		b[2] = 0.96900*b[2] + w*0.1538520
		b[3] = 0.86650*b[3] + w*0.3104856
		b[4] = 0.55000*b[4] + w*0.5329522
		b[5] = -0.7616*b[5] - w*0.0168980
		x[i] = b[0] + b[1] + b[2] + b[3] + b[4] + b[5] + b[6] + w*0.5362
		b[6] = w * 0.115926
	}
	g := 1 / rms(x)
	for i := range x {
		x[i] *= g
	}
	return x
}

func mix(dst, x []float64, at int, gain float64) {
	for i, v := range x {
		if at+i < len(dst) {
			dst[at+i] += v * gain
		}
	}
}

func db(v float64) float64 { return math.Pow(10, v/20) }

func spanSamples(from, to, rate int) timecode.Span {
	return timecode.Span{In: timecode.FromSamples(int64(from), rate), Out: timecode.FromSamples(int64(to), rate)}
}
