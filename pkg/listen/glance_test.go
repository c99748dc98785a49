package listen

import (
	"context"
	"math"
	"math/rand/v2"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Glance measures the same envelope as Hear, and finds bursts of known place
// over noise 40 dB below them.
func TestGlance(t *testing.T) {
	for _, rate := range []int{8000, 44100, 48000} {
		x := make([]float64, 20*rate)
		random := rand.New(rand.NewPCG(1, uint64(rate)))
		for i := range x {
			x[i] = 0.002 * (2*random.Float64() - 1)
		}
		// Bursts of sound, in hundredths of a second; the last two are closer
		// than the shortest gap, the third is shorter than the shortest burst.
		for _, b := range [][2]int{{200, 450}, {600, 900}, {1000, 1003}, {1200, 1500}, {1510, 1700}} {
			for i := b[0] * rate / 100; i < b[1]*rate/100; i++ {
				x[i] += 0.2 * math.Sin(2*math.Pi*300*float64(i)/float64(rate))
			}
		}
		quick, err := Glance(context.Background(), newScene(rate, x), Options{})
		if err != nil {
			t.Fatal(err)
		}
		whole := hear(t, newScene(rate, x), Options{})
		if !slices.Equal(quick.Envelope.RMS, whole.Envelope.RMS) || !slices.Equal(quick.Envelope.Peak, whole.Envelope.Peak) {
			t.Errorf("%d Hz: the envelope differs from that of Hear", rate)
		}
		if quick.Duration != whole.Duration || math.Abs(quick.PeakDBFS-whole.PeakDBFS) > 1e-9 {
			t.Errorf("%d Hz: duration %s, peak %.3f, want %s, %.3f", rate, quick.Duration, quick.PeakDBFS, whole.Duration, whole.PeakDBFS)
		}
		want := [][2]timecode.Ticks{{200, 450}, {600, 900}, {1200, 1700}}
		if len(quick.Speech) != len(want) || len(quick.Pauses) != len(want)-1 {
			t.Fatalf("%d Hz: %v, want %d stretches", rate, quick.Speech, len(want))
		}
		for i, s := range quick.Speech {
			for _, off := range []timecode.Ticks{s.In - want[i][0]*story.EnvelopeStep, s.Out - want[i][1]*story.EnvelopeStep} {
				if max(off, -off) > story.EnvelopeStep {
					t.Errorf("%d Hz: stretch %d is %s, want %d to %d hundredths", rate, i, s, want[i][0], want[i][1])
				}
			}
		}
	}
}

func TestGlanceOfNothing(t *testing.T) {
	for name, x := range map[string][]float64{"one sample": {0.5}, "silence": make([]float64, 48000), "half a step": make([]float64, 240)} {
		h, err := Glance(context.Background(), newScene(48000, x), Options{})
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if name == "silence" && (len(h.Speech) > 0 || !math.IsInf(h.PeakDBFS, -1)) {
			t.Errorf("silence: speech %v, peak %v", h.Speech, h.PeakDBFS)
		}
		if want := timecode.FromSamples(int64(len(x)), 48000); h.Duration != want {
			t.Errorf("%s: duration %s, want %s", name, h.Duration, want)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Glance(ctx, newScene(48000, make([]float64, 4800)), Options{}); err == nil {
		t.Error("a stopped context is no error")
	}
}

// plainSource hides what a reader can do more than Source.
type plainSource struct{ Source }

// What a file measures by itself is what its blocks say.
func TestGlanceAtOnce(t *testing.T) {
	for _, name := range []string{"day1/D1-WILF.wav", "day2/D2-INT2.wav", "day2/D2-WALK.wav", "day2/D2-CAM.wav"} {
		var got [2]story.Heard
		for i := range got {
			r, err := sound.Open(filepath.Join("..", "..", "samples", name))
			if err != nil {
				t.Fatal(err)
			}
			src := Source(r)
			if i == 1 {
				src = plainSource{r}
			}
			told := timecode.Ticks(0)
			got[i], err = Glance(context.Background(), src, Options{Progress: func(done timecode.Ticks) {
				if done < told {
					t.Errorf("%s: progress went back from %s to %s", name, told, done)
				}
				told = done
			}})
			if err != nil || told == 0 {
				t.Fatalf("%s: %v, %s told", name, err, told)
			}
			r.Close()
		}
		if !reflect.DeepEqual(got[0], got[1]) {
			t.Errorf("%s: at once %s %.3f dBFS, %d stretches, by blocks %s %.3f dBFS, %d", name,
				got[0].Duration, got[0].PeakDBFS, len(got[0].Speech), got[1].Duration, got[1].PeakDBFS, len(got[1].Speech))
		}
	}
}
