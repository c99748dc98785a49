package listen

import (
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Stretches of real meetings that the reference has no speech in must rank
// below those it has: the share of pairs in the right order (area under the
// curve), 0.5 by chance.
func TestConfidence(t *testing.T) {
	dir := filepath.Join(corpora(t), "meetings")
	ref := readRTTM(t, filepath.Join(dir, "debug.train.rttm"))
	var right, wrong []float64
	for n, turns := range ref {
		x, rate, err := readWAV(filepath.Join(dir, n+".wav"))
		if err != nil {
			continue
		}
		h := hear(t, newScene(rate, x), Options{})
		conf := Confidence(h)
		truth := raster(spansOf(turns), len(x)*100/rate)
		for i, s := range h.Speech {
			said, all := 0, 0
			for k := s.In.Millis(timecode.Nearest) / 10; k < min(int64(len(truth)), s.Out.Millis(timecode.Nearest)/10); k++ {
				all++
				if truth[k] {
					said++
				}
			}
			if conf[i] < 0 || conf[i] > 1 {
				t.Fatalf("%s: confidence %v of %v", n, conf[i], s)
			}
			if 2*said > all {
				right = append(right, conf[i])
			} else {
				wrong = append(wrong, conf[i])
			}
		}
	}
	if len(right) == 0 {
		t.Skip("meetings not found: set RUSHLIGHT_CORPORA")
	}
	var order float64
	for _, r := range right {
		for _, w := range wrong {
			if r > w {
				order++
			}
		}
	}
	order /= float64(len(right) * max(1, len(wrong)))
	below := func(v []float64) int {
		n := 0
		for _, x := range v {
			if x < 0.5 {
				n++
			}
		}
		return n
	}
	t.Logf("%d stretches with speech, %d below 0.5; %d without, %d below 0.5; %.2f of pairs in order", len(right), below(right), len(wrong), below(wrong), order)
	if order < 0.74 || below(right)*8 > len(right) || below(wrong)*5 < len(wrong) {
		t.Errorf("%.2f of pairs in order, want 0.74 (measured: 0.78); below 0.5 are %d of %d with speech (measured: 4 of 50), %d of %d without (2 of 8)",
			order, below(right), len(right), below(wrong), len(wrong))
	}
}

// What is loud, moves and lasts is surer; nothing heard, nothing said.
func TestConfidenceOrder(t *testing.T) {
	if got := Confidence(story.Heard{}); got != nil {
		t.Errorf("no speech: %v", got)
	}
	clips := level(voices(t, "en", 1.5, 12), -26)
	r := rand.New(rand.NewPCG(3, 3))
	var low []float64
	for _, snr := range []float64{40, 20, 5} {
		x, _ := placed(clips, 8000, func(int) float64 { return 1 })
		mix(x, pinkNoise(len(x), r), 0, db(-26-snr))
		conf := Confidence(hear(t, newScene(8000, x), Options{}))
		if len(conf) == 0 {
			t.Fatalf("%.0f dB: nothing heard", snr)
		}
		slices.Sort(conf)
		low = append(low, conf[len(conf)/2])
	}
	t.Logf("middle confidence at 40, 20, 5 dB: %.2f", low)
	if low[0] < 0.8 || low[0] <= low[1] || low[1] <= low[2] {
		t.Errorf("middle confidence at 40, 20, 5 dB: %.2f", low)
	}
}

// Silences of a built dialogue by microphone, judged by who speaks on both
// sides in truth.
func TestSilences(t *testing.T) {
	en, es := level(voices(t, "en", 1, 30), -26), level(voices(t, "es", 1, 30), -26)
	r := rand.New(rand.NewPCG(8, 8))
	d := makeDialogue(r, 8000, [][]clip{en, es}, []string{"a", "b"}, 60, []float64{0.5, 0.5}, 0)
	var x [][]float64
	for c := range 2 {
		ch := make([]float64, len(d.people[0]))
		mix(ch, d.people[c], 0, 1)
		mix(ch, d.people[1-c], 11, db(-12))
		mix(ch, pinkNoise(len(ch), r), 0, db(-66))
		x = append(x, ch)
	}
	h := hear(t, newScene(8000, x...), Options{})
	got := Silences(h)
	right, all := 0, 0
	at := timecode.Ticks(0)
	for i, s := range got {
		switch {
		case s.In < at || s.Empty():
			t.Fatalf("silence %d: %v after %v", i, s.Span, at)
		case i == 0 && s.Kind != Lead, i == len(got)-1 && s.Kind != Tail:
			t.Errorf("silence %d of %d is %v", i, len(got), s.Kind)
		}
		at = s.Out
		if i == 0 || i == len(got)-1 {
			continue
		}
		mid, want := s.In+s.Length()/2, Gap
		var before, after string
		for _, u := range d.truth {
			if u.In <= mid {
				before = u.Speaker
			}
			if u.Out > mid && after == "" {
				after = u.Speaker
			}
		}
		if before == after {
			want = Pause
		}
		all++
		if s.Kind == want {
			right++
		}
	}
	t.Logf("%d of %d silences told right", right, all)
	if right*100 < all*97 {
		t.Errorf("%d of %d silences told right, want 97 %%", right, all)
	}
}

func TestSilencesTable(t *testing.T) {
	sec := func(a, b float64) timecode.Span {
		return timecode.Span{In: timecode.FromSeconds(a), Out: timecode.FromSeconds(b)}
	}
	turn := func(who string, a, b float64) story.Turn { return story.Turn{Speaker: who, Span: sec(a, b)} }
	h := story.Heard{
		Duration: timecode.FromSeconds(10),
		Speech:   []timecode.Span{sec(1, 2), sec(2.3, 3), sec(4, 5), sec(6, 7), sec(8, 9)},
		Turns:    []story.Turn{turn("a", 1, 3), turn("b", 4, 5), turn("a", 6, 7), turn("b", 6.5, 9)},
	}
	want := []Silence{
		{sec(0, 1), Lead, "", "a"},
		{sec(2, 2.3), Pause, "a", "a"},
		{sec(3, 4), Gap, "a", "b"},
		{sec(5, 6), Gap, "b", "a"},
		{sec(7, 8), Pause, "b", "b"},
		{sec(9, 10), Tail, "b", ""},
	}
	if got := Silences(h); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	h.Turns = h.Turns[:1]
	for i, s := range Silences(h) {
		if i > 1 && i < 5 && s.Kind != Unknown {
			t.Errorf("without turns: %v is %v", s.Span, s.Kind)
		}
	}
	if got := Silences(story.Heard{Duration: 5}); len(got) != 1 || got[0].Kind != Lead {
		t.Errorf("nothing said: %v", got)
	}
	if got := Silences(story.Heard{}); got != nil {
		t.Errorf("nothing at all: %v", got)
	}
}
