package listen

import (
	"math/rand/v2"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Two real voices on one boom: Debian's asterisk-core-sounds-en-wav, -es-wav
// (one woman), -it-wav (a man), -ru-wav and -fr-wav (women). What voices.go
// takes for one voice was chosen on dialogues of these voices, so that they are
// no held-out check of it. The bounds are this project's aims
// (docs/figures.md): DER with a collar of 0.25 s at most 15 %, with a transcript's labels 8 %; 25 dB of pink noise.
func TestVoicesCorpus(t *testing.T) {
	pairs := []string{"en+it", "es+it", "en+fr", "es+ru", "en+ru", "fr+ru"}
	if wideSeeds() == 1 {
		pairs = pairs[1:2]
	}
	for _, pair := range pairs {
		for _, rt := range []float64{0, 0.4} {
			var wrong, all, bare, bareAll, known, labelled float64
			heard := 0
			for seed := range wideSeeds() {
				d, x := twoVoices(t, pair, rt, uint64(seed))
				h := hear(t, newScene(8000, x), Options{})
				w, a := der(d.truth, h.Turns, h.Duration, 250*timecode.Millisecond)
				wrong, all = wrong+w, all+a
				w, a = der(d.truth, h.Turns, h.Duration, 0)
				bare, bareAll = bare+w, bareAll+a
				heard += speakers(h.Turns)
				h = hear(t, newScene(8000, x), Options{Voices: 2})
				w, _ = der(d.truth, h.Turns, h.Duration, 250*timecode.Millisecond)
				known += w
				labels := someLabels(d.truth, rand.New(rand.NewPCG(5, uint64(seed))))
				w, _ = der(d.truth, Relabel(h, labels), h.Duration, 250*timecode.Millisecond)
				labelled += w
			}
			t.Logf("FIGURE | Listening | turns of two voices on a boom, %s, room %.1f s | DER %.1f %% (no collar %.1f), %.1f voices; number known %.1f %%, with labels %.1f %% | 15 %%, with labels 8 %%",
				pair, rt, 100*wrong/all, 100*bare/bareAll, float64(heard)/float64(wideSeeds()), 100*known/all, 100*labelled/all)
			if wrong > 0.15*all || known > 0.15*all || labelled > 0.08*all {
				t.Errorf("%s, room %.1f s: DER %.3f, number known %.3f, with labels %.3f, want at most 0.15, 0.15, 0.08", pair, rt, wrong/all, known/all, labelled/all)
			}
		}
	}
}

// twoVoices is a dialogue of two voices on one microphone.
func twoVoices(t *testing.T, pair string, rt float64, seed uint64) (dialogue, []float64) {
	t.Helper()
	r := rand.New(rand.NewPCG(seed+300, uint64(rt*10)))
	names := strings.Split(pair, "+")
	var sayings [][]clip
	for _, n := range names {
		sayings = append(sayings, level(voices(t, n, 1, 40), -26))
	}
	d := makeDialogue(r, 8000, sayings, names, 40, []float64{0.5, 0.5}, 0.1)
	x := make([]float64, len(d.people[0]))
	for _, p := range d.people {
		mix(x, p, 0, 1)
	}
	if rt > 0 {
		x = inRoom(x, roomOf(8000, rt, 3, r))
	}
	mix(x, pinkNoise(len(x), r), 0, db(-26-25))
	return d, x
}

// someLabels are a transcript's: two turns in three, with edges up to half a
// second off.
func someLabels(truth []story.Turn, r *rand.Rand) []story.Turn {
	var out []story.Turn
	for _, u := range truth {
		if r.Float64() < 1.0/3 {
			continue
		}
		u.In = max(0, u.In+timecode.FromSeconds(r.Float64()-0.5))
		u.Out = max(u.In+1, u.Out+timecode.FromSeconds(r.Float64()-0.5))
		out = append(out, u)
	}
	return out
}

// One real voice stays one, also in a room; the Spanish one, which is recorded
// in more than one sitting, is not asked.
func TestOneVoiceCorpus(t *testing.T) {
	for _, language := range []string{"en", "it", "ru", "fr"} {
		for k, rt := range []float64{0, 0.4} {
			if quick := language == "it" && k == 0 || language == "en" && k == 1; wideSeeds() == 1 && !quick {
				continue
			}
			_, x := twoVoices(t, language+"+"+language, rt, 1)
			if got := speakers(hear(t, newScene(8000, x), Options{}).Turns); got != 1 {
				t.Errorf("%s, room %.1f s: %d voices, want 1", language, rt, got)
			}
		}
	}
}
