package listen

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"testing"

	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// toneScene is a scene that can be read from any frame.
type toneScene struct {
	*scene
	closed bool
}

func (s *toneScene) SeekFrame(f int64) error { s.at = int(f); return nil }
func (s *toneScene) Close() error            { s.closed = true; return nil }

func makeTone(t testing.TB, s *scene, spans []timecode.Span, length timecode.Ticks) ([][]float64, *Tone) {
	t.Helper()
	src := &toneScene{scene: s}
	tone, err := MakeTone(context.Background(), func() (ToneSource, error) { return src, nil }, spans, length)
	if err != nil {
		t.Fatal(err)
	}
	x := make([][]float64, tone.Info().Channels)
	for {
		b, err := tone.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			t.Fatal(err)
		}
		if b.Start != int64(len(x[0])) || len(b.Samples) != len(x) || len(b.Samples[0]) == 0 {
			t.Fatalf("got a block of %d at %d, want one at %d", len(b.Samples[0]), b.Start, len(x[0]))
		}
		for c := range x {
			x[c] = append(x[c], b.Samples[c]...)
		}
	}
	if err := tone.Close(); err != nil || !src.closed {
		t.Errorf("close: got %v, closed %v", err, src.closed)
	}
	return x, tone
}

// toneRoom is a talk of real voices in a room with hum, with its truth.
func toneRoom(t testing.TB, language string, seed uint64) (x []float64, speech []timecode.Span) {
	r := rand.New(rand.NewPCG(seed, 9))
	clips := level(voices(t, language, 1, 40), -26)
	x, speech = placed(clips, 8000, func(int) float64 { return 0.8 + 1.6*r.Float64() })
	noise := pinkNoise(len(x), r)
	for i := range x {
		x[i] += db(-58)*noise[i] + db(-64)*math.Sin(2*math.Pi*100*float64(i)/8000)
	}
	return x, speech
}

func TestRoomTone(t *testing.T) {
	for _, language := range []string{"en", "es"} {
		x, speech := toneRoom(t, language, 1)
		// A knock in one of the pauses.
		knock := int(speech[3].Out.Samples(8000, timecode.Nearest)) + 3200
		for i := range 200 {
			x[knock+i] += 0.02 * math.Exp(-float64(i)/40) * math.Sin(float64(i))
		}
		h := hear(t, newScene(8000, x), Options{})
		got := RoomTone(h, 300*timecode.Millisecond)
		var all timecode.Ticks
		for i, s := range got {
			all += s.Length()
			if s.Length() < 300*timecode.Millisecond || s.In < 0 || s.Out > h.Duration {
				t.Errorf("%s: got %s", language, s)
			}
			for _, sp := range speech {
				// The truth is that of the clean voice, down to −45 dB of its
				// peak: its first and last 50 ms may lie under the noise.
				sp.In, sp.Out = sp.In+50*timecode.Millisecond, sp.Out-50*timecode.Millisecond
				if sp.Overlaps(s) {
					t.Errorf("%s: %s lies in speech %s", language, s, sp)
				}
			}
			if s.Contains(timecode.FromSamples(int64(knock), 8000)) {
				t.Errorf("%s: %s has the knock in it", language, s)
			}
			if i > 0 && s.Length() > 2*got[0].Length() {
				t.Errorf("%s: %s comes after %s", language, s, got[0])
			}
		}
		t.Logf("%s: %d stretches, %s of room tone in %s", language, len(got), all, h.Duration)
		if all < 8*timecode.Second {
			t.Errorf("%s: got %s of room tone, want 8 s or more", language, all)
		}
		toneLikeRoom(t, language, x, got)
	}
}

// toneLikeRoom holds a made tone against the stretches it was made of: level
// within 1 dB, third octaves within 2 dB, no step.
func toneLikeRoom(t *testing.T, name string, x []float64, spans []timecode.Span) {
	t.Helper()
	var room []float64
	step := 0.0
	for _, s := range spans {
		part := x[s.In.Samples(8000, timecode.Ceil):s.Out.Samples(8000, timecode.Floor)]
		room = append(room, part...)
		step = math.Max(step, highestStep(part))
	}
	made, _ := makeTone(t, newScene(8000, x), spans, 60*timecode.Second)
	got := made[0]
	if len(got) != 60*8000 {
		t.Errorf("%s: got %d samples, want %d", name, len(got), 60*8000)
	}
	if d := dbOf(rms(got)) - dbOf(rms(room)); math.Abs(d) > 1 {
		t.Errorf("%s: level differs by %.2f dB", name, d)
	}
	// The highest step of noise is a matter of chance, and this is longer.
	if s := highestStep(append(got, got[0])); s > 1.05*step {
		t.Errorf("%s: got a step of %g, the room has %g", name, s, step)
	}
	low, high := 0.0, math.Inf(1)
	for i := 0; i+4000 <= len(got); i += 4000 {
		l := rms(got[i : i+4000])
		low, high = math.Max(low, l), math.Min(high, l)
	}
	a, b := thirdOctaves(got, 8000), thirdOctaves(room, 8000)
	worst := 0.0
	for i := range a {
		worst = math.Max(worst, math.Abs(a[i]-b[i]))
	}
	if worst > 2 {
		t.Errorf("%s: third octaves differ by up to %.2f dB: got %.1f, want %.1f", name, worst, a, b)
	}
	t.Logf("%s: level %+.2f dB, third octaves within %.2f dB, half seconds within %.1f dB, highest step %.4f of %.4f",
		name, dbOf(rms(got))-dbOf(rms(room)), worst, dbOf(low)-dbOf(high), highestStep(got), step)
}

func highestStep(x []float64) float64 {
	top := 0.0
	for i := 1; i < len(x); i++ {
		top = math.Max(top, math.Abs(x[i]-x[i-1]))
	}
	return top
}

// thirdOctaves are the levels in dB of the bands from 63 Hz to 3.15 kHz (base
// ten, IEC 61260-1, recalled).
func thirdOctaves(x []float64, rate float64) []float64 {
	const n = 4096
	s, p, w := newSpectrum(n), make([]float64, n/2+1), make([]float64, n)
	sum := make([]float64, n/2+1)
	for at := 0; at+n <= len(x); at += n / 2 {
		for i := range w {
			w[i] = x[at+i] * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/n))
		}
		s.power(w, p)
		for k, v := range p {
			sum[k] += v
		}
	}
	var out []float64
	for band := 18; band <= 35; band++ {
		mid := math.Pow(10, float64(band)/10)
		var v float64
		for k := int(math.Ceil(mid * math.Pow(10, -0.05) * n / rate)); float64(k) < mid*math.Pow(10, 0.05)*n/rate; k++ {
			v += sum[k]
		}
		out = append(out, v)
	}
	for i, v := range out {
		out[i] = 10 * math.Log10(v/float64(len(x)))
	}
	return out
}

// The end of a tone goes over into its beginning.
func TestToneLoops(t *testing.T) {
	const rate = 8000
	noise := pinkNoise(5*rate, rand.New(rand.NewPCG(1, 1)))
	got, _ := makeTone(t, newScene(rate, noise), []timecode.Span{{Out: 5 * timecode.Second}}, 3*timecode.Second)
	x := got[0]
	// The first sample follows the last: what was there before the first
	// piece is what the end fades into.
	if s, most := math.Abs(x[0]-x[len(x)-1]), highestStep(noise); s > most {
		t.Errorf("got a step of %g at the seam, the source has %g at most", s, most)
	}
	again, _ := makeTone(t, newScene(rate, noise), []timecode.Span{{Out: 5 * timecode.Second}}, 3*timecode.Second)
	for i, v := range again[0] {
		if v != x[i] {
			t.Fatalf("sample %d: got %g and %g of the same", i, v, x[i])
		}
	}
	// The first piece comes as it is in the source.
	if !toneContains(noise, x[:rate/10]) {
		t.Error("the beginning isn't in the source")
	}
}

func toneContains(x, part []float64) bool {
	for i := 0; i+len(part) <= len(x); i++ {
		same := true
		for k := range part {
			if x[i+k] != part[k] {
				same = false
				break
			}
		}
		if same {
			return true
		}
	}
	return false
}

// A repetition would be heard: no stretch of 2 s comes again.
func TestToneDoesNotRepeat(t *testing.T) {
	const rate = 8000
	noise := pinkNoise(20*rate, rand.New(rand.NewPCG(2, 2)))
	got, _ := makeTone(t, newScene(rate, noise), []timecode.Span{{Out: 20 * timecode.Second}}, 60*timecode.Second)
	x := got[0]
	worst := 0.0
	for lag := rate / 2; lag < len(x)/2; lag += 1 {
		if lag%97 != 0 { // one lag in a hundred; noise has no memory longer than that of its bass
			continue
		}
		var both, own float64
		for i := 0; i+lag < len(x); i += 8 {
			both += x[i] * x[i+lag]
			own += x[i] * x[i]
		}
		worst = math.Max(worst, math.Abs(both/own))
	}
	if worst > 0.35 {
		t.Errorf("got a correlation of %.2f with itself later, want under 0.35", worst)
	}
}

func TestToneOdd(t *testing.T) {
	noise := pinkNoise(192000, rand.New(rand.NewPCG(3, 3)))
	for _, rate := range []int{1, 100, 8000, 44100, 192000} {
		for _, n := range []int{8, 9, 700, 16000} {
			for _, channels := range []int{1, 3, 64} {
				x := make([][]float64, channels)
				for c := range x {
					x[c] = noise[:n]
				}
				spans := []timecode.Span{{Out: timecode.FromSamples(int64(n), rate)}}
				if n < int(toneShort*float64(rate)) {
					continue
				}
				for _, length := range []int64{1, 2, 3, 100, int64(n) + 7} {
					got, made := makeTone(t, newScene(rate, x...), spans, timecode.FromSamples(length, rate))
					if int64(len(got[0])) != length || made.Info().Frames != length || len(got) != channels {
						t.Fatalf("%d Hz, %d samples, %d channels: got %d, want %d", rate, n, channels, len(got[0]), length)
					}
					for _, v := range got[channels-1] {
						if math.IsNaN(v) || math.IsInf(v, 0) {
							t.Fatalf("%d Hz, %d samples: got %g", rate, n, v)
						}
					}
				}
			}
		}
	}
	silent, _ := makeTone(t, newScene(8000, make([]float64, 8000)), []timecode.Span{{Out: timecode.Second}}, 2*timecode.Second)
	if highestStep(silent[0]) != 0 || silent[0][0] != 0 {
		t.Error("silence: got sound")
	}
}

func TestToneRefuses(t *testing.T) {
	noise := pinkNoise(8000, rand.New(rand.NewPCG(4, 4)))
	all := []timecode.Span{{Out: timecode.Second}}
	gone := errors.New("gone")
	for _, tt := range []struct {
		name   string
		src    *scene
		spans  []timecode.Span
		length timecode.Ticks
		open   error
		want   error
	}{
		{"no spans", newScene(8000, noise), nil, timecode.Second, nil, ErrNoTone},
		{"short spans", newScene(8000, noise), []timecode.Span{{Out: 50 * timecode.Millisecond}}, timecode.Second, nil, ErrNoTone},
		{"beyond the end", newScene(8000, noise), []timecode.Span{{In: 2 * timecode.Second, Out: 9 * timecode.Second}}, timecode.Second, nil, ErrNoTone},
		{"turned span", newScene(8000, noise), []timecode.Span{{In: timecode.Second}}, timecode.Second, nil, ErrNoTone},
		{"no length", newScene(8000, noise), all, 0, nil, ErrNoTone},
		{"no channels", newScene(8000), all, timecode.Second, nil, ErrSource},
		{"not there", newScene(8000, noise), all, timecode.Second, gone, gone},
	} {
		src := &toneScene{scene: tt.src}
		_, err := MakeTone(context.Background(), func() (ToneSource, error) { return src, tt.open }, tt.spans, tt.length)
		if !errors.Is(err, tt.want) {
			t.Errorf("%s: got %v, want %v", tt.name, err, tt.want)
		}
		if tt.open == nil && !src.closed {
			t.Errorf("%s: the source stays open", tt.name)
		}
	}
	ctx, stop := context.WithCancel(context.Background())
	made, err := MakeTone(ctx, func() (ToneSource, error) { return &toneScene{scene: newScene(8000, noise)}, nil }, all, timecode.Minute)
	if err != nil {
		t.Fatal(err)
	}
	stop()
	if _, err := made.Next(); !errors.Is(err, context.Canceled) {
		t.Errorf("stopped: got %v", err)
	}
}

func TestRoomToneOdd(t *testing.T) {
	for _, h := range []story.Heard{
		{},
		{Duration: timecode.Second},
		{Duration: 5, Speech: []timecode.Span{{In: 0, Out: 5}}},
		{Duration: timecode.Hour, Envelope: story.Envelope{RMS: []int16{-100}, Peak: []int16{-90}}},
	} {
		for _, s := range RoomTone(h, 20*timecode.Millisecond) {
			t.Errorf("%+v: got %s, want none", h, s)
		}
	}
	silent := story.Heard{Duration: timecode.Second}
	for range 100 {
		silent.Envelope.RMS = append(silent.Envelope.RMS, story.EnvelopeSilent)
		silent.Envelope.Peak = append(silent.Envelope.Peak, story.EnvelopeSilent)
	}
	if got := fmt.Sprint(RoomTone(silent, timecode.Second)); got != "[00:00:00.000-00:00:01.000]" {
		t.Errorf("silence: got %s, want all of it", got)
	}
}

// The demo's own room tone, by the real reader.
func TestToneOfSamples(t *testing.T) {
	const path = "../../samples/day1/D1-INT1.wav"
	r, err := sound.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	h := hear(t, r, Options{})
	r.Close()
	spans := RoomTone(h, 400*timecode.Millisecond)
	if len(spans) == 0 {
		t.Fatal("got no room tone")
	}
	made, err := MakeTone(context.Background(), func() (ToneSource, error) { return sound.Open(path) }, spans, 20*timecode.Second)
	if err != nil {
		t.Fatal(err)
	}
	defer made.Close()
	m := NewMeter(made.Info().SampleRate, made.Info().Channels, 0)
	heard, err := Hear(context.Background(), toneTee{made, m}, Options{})
	if err != nil {
		t.Fatal(err)
	}
	// Not by the floor: levels of 10 ms depend on where in its period a hum is cut.
	var rooms []int16
	for _, s := range spans {
		rooms = append(rooms, h.Envelope.RMS[s.In/story.EnvelopeStep:s.Out/story.EnvelopeStep]...)
	}
	got, want := meanLevel(heard.Envelope.RMS), meanLevel(rooms)
	if heard.Duration != 20*timecode.Second || math.Abs(got-want) > 0.5 {
		t.Errorf("got %s at %.1f dBFS, want 20 s at %.1f", heard.Duration, got, want)
	}
	t.Logf("%d stretches; %.2f dBFS of %.2f; true peak %.1f", len(spans), got, want, m.Measured().TruePeakDBTP)
}

// meanLevel is the level in dBFS of the mean power of steps.
func meanLevel(steps []int16) float64 {
	var sum float64
	for _, v := range steps {
		sum += math.Pow(10, float64(v)/1000)
	}
	return 10 * math.Log10(sum/float64(len(steps)))
}

// toneTee measures what passes.
type toneTee struct {
	*Tone
	m *Meter
}

func (t toneTee) Next() (sound.Block, error) {
	b, err := t.Tone.Next()
	if err == nil {
		t.m.Write(b.Samples)
	}
	return b, err
}
