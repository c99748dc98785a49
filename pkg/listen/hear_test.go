package listen

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"slices"
	"testing"

	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Levels known by calculation: a full-scale sine has RMS −3.01 dBFS, a square
// wave 0, and two channels of which one is silent 3.01 dB less.
func TestEnvelope(t *testing.T) {
	const rate = 48000
	sine, square, silent := tone(rate, part{1, 0}), make([]float64, rate), make([]float64, rate)
	for i := range square {
		square[i] = 1 - 2*float64(i/24%2)
	}
	for _, c := range []struct {
		name      string
		x         [][]float64
		rms, peak int16
	}{
		{"sine", [][]float64{sine}, -301, 0},
		{"square", [][]float64{square}, 0, 0},
		{"square beside silence", [][]float64{square, silent}, -301, 0},
		{"silence", [][]float64{silent}, story.EnvelopeSilent, story.EnvelopeSilent},
	} {
		h := hear(t, newScene(rate, c.x...), Options{})
		if len(h.Envelope.RMS) != 100 || len(h.Envelope.Peak) != 100 {
			t.Fatalf("%s: %d and %d values, want 100", c.name, len(h.Envelope.RMS), len(h.Envelope.Peak))
		}
		for i, v := range h.Envelope.RMS {
			if v < c.rms-1 || v > c.rms+1 || h.Envelope.Peak[i] < c.peak-1 || h.Envelope.Peak[i] > c.peak {
				t.Fatalf("%s: step %d: RMS %d, peak %d, want %d, %d", c.name, i, v, h.Envelope.Peak[i], c.rms, c.peak)
			}
		}
	}
	h := hear(t, newScene(rate, tone(rate, part{0.5, -6.0206}, part{0.5, -40})), Options{})
	if math.Abs(h.PeakDBFS+6.0206) > 0.01 || h.Envelope.RMS[20] != -903 || h.Envelope.RMS[80] != -4301 {
		t.Errorf("peak %.2f, RMS %d and %d, want -6.02, -903, -4301", h.PeakDBFS, h.Envelope.RMS[20], h.Envelope.RMS[80])
	}
}

func TestClipping(t *testing.T) {
	x, y := make([]float64, 4800), make([]float64, 4800)
	const top = 1 - 1.0/8388608 // the highest 24-bit sample
	set := func(z []float64, at int, v ...float64) { copy(z[at:], v) }
	set(x, 100, top, top, 0, top)                 // two and one: none
	set(x, 478, top, top, top, top, top)          // over the 10 ms step
	set(x, 4094, -1, -1, -1, -1)                  // over the block of 4096
	set(y, 4797, top, top, top)                   // at the very end
	set(y, 1000, 0.99999, 0.99999, 0.99999, 0.99) // loud, not at full scale
	s := newScene(48000, x, y)
	s.info.Float, s.info.Bits, s.info.ValidBits = false, 24, 24
	h := hear(t, s, Options{})
	want := []story.Clip{
		{Span: spanSamples(478, 483, 48000), Channel: 0, Samples: 5},
		{Span: spanSamples(4094, 4098, 48000), Channel: 0, Samples: 4},
		{Span: spanSamples(4797, 4800, 48000), Channel: 1, Samples: 3},
	}
	if !reflect.DeepEqual(h.Clipped, want) {
		t.Errorf("got %+v, want %+v", h.Clipped, want)
	}
	// A float file's samples over full scale are whole; where they stand still
	// they were cut before. A camera's 16 bits come as floats.
	over := make([]float64, 4800)
	set(over, 100, 0.9, 1.2, 1.9, 2.4, 2.2, 1.6, 0.8)
	set(over, 1000, 0.9, 1, 1, 1, 1, 0.8)
	h = hear(t, newScene(48000, over), Options{})
	if want = []story.Clip{{Span: spanSamples(1001, 1005, 48000), Samples: 4}}; !reflect.DeepEqual(h.Clipped, want) {
		t.Errorf("floats: got %+v, want %+v", h.Clipped, want)
	}
	const top16 = 1 - 1.0/32768
	decoded := make([]float64, 4800)
	set(decoded, 500, 0.9, top16, top16, top16, 0.9)
	s = newScene(48000, decoded)
	s.info.Float, s.info.Bits, s.info.ValidBits = true, 32, 16
	h = hear(t, s, Options{})
	if want = []story.Clip{{Span: spanSamples(501, 504, 48000), Samples: 3}}; !reflect.DeepEqual(h.Clipped, want) {
		t.Errorf("decoded: got %+v, want %+v", h.Clipped, want)
	}
	square := make([]float64, 400_000)
	for i := range square {
		if i%8 < 4 {
			square[i] = 1
		}
	}
	h = hear(t, newScene(8000, square), Options{})
	if n := len(h.Clipped); n > manyClips+1 {
		t.Errorf("a ruined recording: %d stretches, want at most %d", n, manyClips+1)
	}
	total := 0
	for _, c := range h.Clipped {
		total += c.Samples
	}
	if total != 200_000 {
		t.Errorf("%d clipped samples, want 200000", total)
	}
}

// Whatever the shape of the input, there is an answer that keeps the rules.
func TestOddInputs(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 5))
	noise := func(n int, gain float64) []float64 {
		x := pinkNoise(max(n, 1), r)[:n]
		for i := range x {
			x[i] *= gain
		}
		return x
	}
	many := make([][]float64, 64)
	for i := range many {
		many[i] = noise(16000, 0.01)
	}
	tests := []struct {
		name string
		rate int
		x    [][]float64
	}{
		{"no samples", 48000, [][]float64{{}}},
		{"one sample", 48000, [][]float64{{0.5}}},
		{"479 samples", 48000, [][]float64{noise(479, 0.1)}},
		{"480 samples", 48000, [][]float64{noise(480, 0.1)}},
		{"481 samples", 48000, [][]float64{noise(481, 0.1)}},
		{"64 channels", 16000, many},
		{"silence", 48000, [][]float64{make([]float64, 3*48000)}},
		{"no numbers", 16000, [][]float64{{math.NaN(), math.Inf(1), math.Inf(-1), 0.1, math.MaxFloat64}}},
		{"nothing but no numbers", 16000, [][]float64{slices.Repeat([]float64{math.NaN()}, 16000)}},
		{"1 Hz", 1, [][]float64{noise(30, 0.1)}},
		{"50 Hz", 50, [][]float64{noise(500, 0.1)}},
		{"6 kHz", 6000, [][]float64{noise(12000, 0.1)}},
	}
	for _, rate := range []int{8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000, 88200, 96000, 176400, 192000} {
		tests = append(tests, struct {
			name string
			rate int
			x    [][]float64
		}{fmt.Sprint(rate, " Hz"), rate, [][]float64{noise(2*rate+7, 0.03)}})
	}
	for _, c := range tests {
		h := hear(t, newScene(c.rate, c.x...), Options{})
		n := int64(len(c.x[0]))
		if want := timecode.FromSamples(n, c.rate); h.Duration != want {
			t.Errorf("%s: duration %v, want %v", c.name, h.Duration, want)
		}
		if got, want := int64(len(h.Envelope.RMS)), (n*100+int64(c.rate)-1)/int64(c.rate); c.rate >= 100 && got != want {
			t.Errorf("%s: %d steps, want %d", c.name, got, want)
		}
		if len(h.Speech) != 0 {
			t.Errorf("%s: speech in noise: %v", c.name, h.Speech)
		}
		valid(t, c.name, h)
	}
}

// valid checks the rules of story.Heard.
func valid(t *testing.T, name string, h story.Heard) {
	t.Helper()
	last := timecode.Ticks(-1)
	for _, s := range h.Speech {
		if s.In <= last || s.Empty() || s.Out > h.Duration {
			t.Errorf("%s: speech %v after %v, end %v", name, s, last, h.Duration)
		}
		last = s.Out
	}
	if want := max(0, len(h.Speech)-1); len(h.Pauses) != want {
		t.Errorf("%s: %d pauses, want %d", name, len(h.Pauses), want)
	}
	for i, p := range h.Pauses {
		if p.In != h.Speech[i].Out || p.Out != h.Speech[i+1].In {
			t.Errorf("%s: pause %v between %v and %v", name, p, h.Speech[i], h.Speech[i+1])
		}
	}
	end := map[string]timecode.Ticks{}
	for i, u := range h.Turns {
		if u.Empty() || u.In < end[u.Speaker] || u.Out > h.Duration || i > 0 && u.In < h.Turns[i-1].In {
			t.Errorf("%s: turn %+v", name, u)
		}
		end[u.Speaker] = u.Out
	}
	if math.IsNaN(h.FloorDBFS) || math.IsNaN(h.LoudnessLUFS) || math.IsNaN(h.ThresholdDBFS) {
		t.Errorf("%s: floor %v, loudness %v, threshold %v", name, h.FloorDBFS, h.LoudnessLUFS, h.ThresholdDBFS)
	}
}

// Noise alone, of several kinds and long enough for chance to have its say.
func TestNoiseIsNotSpeech(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 6))
	const rate = 16000
	n := 120 * rate
	white := make([]float64, n)
	for i := range white {
		white[i] = 0.01 * r.NormFloat64()
	}
	pink := pinkNoise(n, r)
	hum := make([]float64, n)
	for i := range hum {
		hum[i] = 0.02*math.Sin(2*math.Pi*50*float64(i)/rate) + 0.01*math.Sin(2*math.Pi*150*float64(i)/rate)
	}
	mix(hum, pink, 0, 0.002)
	swell := pinkNoise(n, r)
	for i := range swell {
		swell[i] *= 0.01 * (1 + 0.9*math.Sin(float64(i)/rate))
	}
	horn := make([]float64, n)
	for i := range horn {
		if at := math.Mod(float64(i)/rate, 8); at < 2 {
			for k := 1.0; k < 6; k++ {
				horn[i] += 0.05 / k * math.Sin(2*math.Pi*310*k*at)
			}
		}
	}
	mix(horn, pink, 0, 0.001)
	for _, c := range []struct {
		name  string
		x     []float64
		floor float64
	}{{"horn", horn, -60}, {"white", white, -40}, {"hum", hum, math.NaN()}, {"swelling pink", swell, math.NaN()}} {
		h := hear(t, newScene(rate, c.x), Options{})
		if len(h.Speech) > 0 {
			t.Errorf("%s: speech %v", c.name, h.Speech)
		}
		if math.Abs(h.FloorDBFS-c.floor) > 0.2 {
			t.Errorf("%s: floor %.2f dBFS, want %.2f", c.name, h.FloorDBFS, c.floor)
		}
	}
}

type broken struct{ *scene }

var errBroken = errors.New("card pulled out")

func (b broken) Next() (sound.Block, error) {
	if b.at > 10000 {
		return sound.Block{}, errBroken
	}
	return b.scene.Next()
}

func TestErrors(t *testing.T) {
	x := make([]float64, 100_000)
	if _, err := Hear(context.Background(), broken{newScene(8000, x)}, Options{}); !errors.Is(err, errBroken) {
		t.Errorf("broken source: got %v", err)
	}
	ctx, stop := context.WithCancel(context.Background())
	told := timecode.Ticks(0)
	_, err := Hear(ctx, newScene(8000, x), Options{Progress: func(done timecode.Ticks) {
		told = done
		if done > 3*timecode.Second {
			stop()
		}
	}})
	if !errors.Is(err, context.Canceled) || told > 5*timecode.Second {
		t.Errorf("stopped: got %v at %v", err, told)
	}
	for _, s := range []*scene{newScene(0, x), newScene(48000)} {
		if _, err := Hear(context.Background(), s, Options{}); !errors.Is(err, ErrSource) {
			t.Errorf("%+v: got %v, want %v", s.info, err, ErrSource)
		}
	}
}

// The size of blocks must not show, nor the chance of goroutines.
func TestSameAgain(t *testing.T) {
	clips := voices(t, "en", 1, 8)
	x, _ := placed(clips, 8000, func(int) float64 { return 0.5 })
	var first story.Heard
	for i, block := range []int{4096, 1, 79, 80, 81, 100_000} {
		s := newScene(8000, x)
		s.block = block
		h := hear(t, s, Options{})
		if i == 0 {
			first = h
		} else if !reflect.DeepEqual(h, first) {
			t.Errorf("blocks of %d: another answer", block)
		}
	}
	valid(t, "real voices", first)
}

// murmur is an endless talk made cheaply: 2 s of a buzz that rises and falls,
// 1 s of noise, over and over. Of several channels each has the buzz in turn,
// and the others a twentieth of it.
type murmur struct {
	info        sound.Info
	at          int64
	loud, faint []float64 // a cycle
	out         sound.Block
}

func newMurmur(rate, channels int, seconds int64) *murmur {
	m := &murmur{info: sound.Info{Float: true, Bits: 64, Channels: channels, SampleRate: rate, Frames: seconds * int64(rate)}}
	m.faint = pinkNoise(3*rate, rand.New(rand.NewPCG(2, 2)))
	m.loud = make([]float64, len(m.faint))
	for i := range m.faint {
		m.faint[i] *= 0.0005
		m.loud[i] = m.faint[i]
		if i > rate && i < 3*rate-rate/10 {
			for h := 1.0; h < 12 && h*150 < float64(rate)/2; h++ {
				at := float64(i) / float64(rate)
				v := 0.03 / h * math.Sin(2*math.Pi*h*(120*at+2*math.Sin(2*math.Pi*2.5*at)))
				m.loud[i] += v
				m.faint[i] += v / 20
			}
		}
	}
	m.out.Samples = make([][]float64, channels)
	return m
}

func (m *murmur) Info() sound.Info { return m.info }

func (m *murmur) Next() (sound.Block, error) {
	if m.at >= m.info.Frames {
		return sound.Block{}, io.EOF
	}
	cycle := int64(len(m.loud))
	from := int(m.at % cycle)
	to := min(from+4096, len(m.loud), from+int(m.info.Frames-m.at))
	for c := range m.out.Samples {
		m.out.Samples[c] = m.faint[from:to]
	}
	m.out.Start, m.out.Samples[int(m.at/cycle)%len(m.out.Samples)] = m.at, m.loud[from:to]
	m.at += int64(to - from)
	return m.out, nil
}

// All that is allocated for a further hour, kept or not, is a few MiB however
// many channels there are (when the levels of each were kept in memory, 23 for
// eight), so that ten hours of eight channels stay under 64 MiB: this project's
// aim, docs/figures.md, which is for the whole process and measured there.
func TestMemory(t *testing.T) {
	use := func(rate, channels int, minutes int64) (float64, story.Heard) {
		m := newMurmur(rate, channels, 60*minutes)
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		h := hear(t, m, Options{})
		runtime.ReadMemStats(&after)
		return float64(after.TotalAlloc-before.TotalAlloc) / (1 << 20), h
	}
	for _, c := range []struct {
		rate, channels int
		short, long    int64 // minutes
		most           float64
	}{{8000, 1, 10, 60, 9}, {1000, 8, 30, 90, 11}} {
		short, _ := use(c.rate, c.channels, c.short)
		long, h := use(c.rate, c.channels, c.long)
		hourly := (long - short) * 60 / float64(c.long-c.short)
		t.Logf("%d channels: allocated: %.1f MiB for %d min, %.1f MiB for %d min; %.1f MiB for each hour", c.channels, short, c.short, long, c.long, hourly)
		if n, want := len(h.Speech), int(c.long)*20; n < want-5 || n > want+5 {
			t.Errorf("%d channels: %d stretches of speech, want %d", c.channels, n, want)
		}
		if n := speakers(h.Turns); n != c.channels {
			t.Errorf("%d channels: %d speakers", c.channels, n)
		}
		if hourly > c.most {
			t.Errorf("%d channels: %.1f MiB for an hour, want at most %.0f", c.channels, hourly, c.most)
		}
	}
}

// One hour of 48 kHz mono from memory: user time for each hour of sound.
func BenchmarkHear(b *testing.B) {
	for b.Loop() {
		if _, err := Hear(context.Background(), newMurmur(48000, 1, 3600), Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
