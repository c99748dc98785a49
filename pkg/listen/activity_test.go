package listen

import (
	"math"
	"math/rand/v2"
	"testing"

	"rushlight/pkg/timecode"
)

// cleanTalk is the truth of a dialogue, from the clean clips: for each saying
// the 10 ms in which a sample comes within 45 dB of its peak, with holes under
// 200 ms closed.
func cleanTalk(d dialogue, names []string, steps int) []bool {
	out := make([]bool, steps)
	for _, u := range d.truth {
		for p, n := range names {
			if n != u.Speaker {
				continue
			}
			x, at := d.people[p], int(u.In.Samples(d.rate, timecode.Nearest))
			x = x[at:u.Out.Samples(d.rate, timecode.Nearest)]
			top := 0.0
			for _, v := range x {
				top = math.Max(top, math.Abs(v))
			}
			one := make([]bool, steps)
			for i, v := range x {
				if k := (at + i) * 100 / d.rate; math.Abs(v) >= top*db(-45) && k < steps {
					one[k] = true
				}
			}
			for i, v := range fill(one, 20) {
				out[i] = out[i] || v
			}
		}
	}
	return out
}

// Built dialogues of real voices (Debian's asterisk-core-sounds-en-wav and
// -es-wav) in pink noise, dry and in made rooms; the truth is the clean sound's,
// so that what a room adds counts as false alarm. Parameters were chosen on
// English. The bounds are this project's aims (docs/figures.md), for both
// languages together; for the last room, which the aims do not ask for, they
// are what was measured, with room.
func TestActivityCorpus(t *testing.T) {
	for _, room := range []struct {
		name       string
		rt, direct float64
		want       [3]float64
	}{
		{"dry", 0, 0, [3]float64{3, 4, 8}},
		{"0.4 s, direct sound 3 dB over the rest", 0.4, 3, [3]float64{8, 10, 15}},
		{"0.8 s, direct sound as loud as the rest", 0.8, 0, [3]float64{8, 10, 15}},
		{"0.8 s, direct sound 5 dB under the rest", 0.8, -5, [3]float64{8, 8, 8}},
	} {
		for i, snr := range []float64{30, 20, 10} {
			if wideSeeds() == 1 && (i != 1 || room.rt == 0.4) {
				continue
			}
			wrong, all := 0, 0
			for _, language := range []string{"en", "es"} {
				miss, fa, speech := activity(t, language, room.rt, room.direct, snr)
				t.Logf("%s, %.0f dB, %s: detection error %.1f %% (miss %.1f, false alarm %.1f)", room.name, snr, language, pct(miss+fa, speech), pct(miss, speech), pct(fa, speech))
				wrong, all = wrong+miss+fa, all+speech
			}
			t.Logf("FIGURE | Listening | speech found in built dialogues, %s, %.0f dB | detection error %.1f %% | %.0f %%", room.name, snr, pct(wrong, all), room.want[i])
			if got := pct(wrong, all); got > room.want[i] {
				t.Errorf("%s, %.0f dB: detection error %.1f %%, want at most %.0f", room.name, snr, got, room.want[i])
			}
		}
	}
}

// The tail of a long room isn't speech: English at 30 dB, in which it drowned
// many silences (9.5 % before it was taken off, 8 wanted), and at 10 dB, where
// the room's fades were taken for the voice's and waited for (5.6 %).
func TestActivityInLongRoom(t *testing.T) {
	for _, c := range []struct{ snr, want float64 }{{30, 6}, {10, 5.1}} {
		miss, fa, speech := activity(t, "en", 0.8, 0, c.snr)
		t.Logf("%.0f dB: detection error %.1f %% (miss %.1f, false alarm %.1f)", c.snr, pct(miss+fa, speech), pct(miss, speech), pct(fa, speech))
		if got := pct(miss+fa, speech); got > c.want {
			t.Errorf("%.0f dB: detection error %.1f %%, want at most %.1f", c.snr, got, c.want)
		}
	}
}

func activity(t *testing.T, language string, rt, direct, snr float64) (miss, fa, speech int) {
	t.Helper()
	clips, names := level(voices(t, language, 1, 60), -26), []string{"a", "b"}
	for seed := range wideSeeds() {
		r := rand.New(rand.NewPCG(uint64(seed+200), uint64(snr)))
		d := makeDialogue(r, 8000, [][]clip{clips[:len(clips)/2], clips[len(clips)/2:]}, names, 40, []float64{0.5, 0.5}, 0.1)
		x := make([]float64, len(d.people[0]))
		for _, p := range d.people {
			mix(x, p, 0, 1)
		}
		if rt > 0 {
			x = inRoom(x, roomOf(8000, rt, direct, r))
		}
		mix(x, pinkNoise(len(x), r), 0, db(-26-snr))
		truth := cleanTalk(d, names, len(x)*100/8000)
		m, f, s := detection(truth, raster(hear(t, newScene(8000, x), Options{}).Speech, len(truth)))
		miss, fa, speech = miss+m, fa+f, speech+s
	}
	return miss, fa, speech
}

// Questions asked off-mic, 18 dB under the answers, are speech too, though
// what is much fainter than the talk must show its voice more clearly. Own
// bound: what was measured, with room.
func TestOffMic(t *testing.T) {
	near, far := level(voices(t, "en", 1, 30), -26), level(voices(t, "es", 1, 30), -44)
	r := rand.New(rand.NewPCG(6, 6))
	d := makeDialogue(r, 8000, [][]clip{near, far}, []string{"a", "b"}, 60, []float64{0.6, 0.4}, 0)
	x := make([]float64, len(d.people[0]))
	for _, p := range d.people {
		mix(x, p, 0, 1)
	}
	mix(x, pinkNoise(len(x), r), 0, db(-66))
	h := hear(t, newScene(8000, x), Options{})
	got := raster(h.Speech, len(x)/80)
	for _, who := range []string{"a", "b"} {
		one := dialogue{rate: d.rate, people: d.people}
		for _, u := range d.truth {
			if u.Speaker == who {
				one.truth = append(one.truth, u)
			}
		}
		miss, _, speech := detection(cleanTalk(one, []string{"a", "b"}, len(got)), got)
		t.Logf("%s: %.1f %% of the speech missed", who, pct(miss, speech))
		if 100*miss > 5*speech {
			t.Errorf("%s: %.1f %% of the speech missed, want at most 5", who, pct(miss, speech))
		}
	}
}
