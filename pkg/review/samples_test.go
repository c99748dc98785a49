package review

import (
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/listen"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// spoken reads one reel of the samples with the true times of its sentences.
func spoken(t *testing.T, reel string) ([]story.Quote, *story.Heard) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join("..", "..", "samples", "truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	var truth map[string]struct {
		File      string
		Sentences []struct {
			Speaker, Text string
			In, Out       float64
		}
	}
	if err := json.Unmarshal(data, &truth); err != nil {
		t.Fatal(err)
	}
	var quotes []story.Quote
	for i, s := range truth[reel].Sentences {
		quotes = append(quotes, story.Quote{
			Reel: reel, Speaker: s.Speaker, Text: s.Text, Language: "en", Order: i,
			Span: timecode.Span{In: timecode.FromSeconds(s.In), Out: timecode.FromSeconds(s.Out)},
		})
	}
	r, err := sound.Open(filepath.Join("..", "..", "samples", truth[reel].File))
	if err != nil {
		t.Fatal(err)
	}
	defer r.Close()
	heard, err := listen.Hear(context.Background(), r, listen.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return quotes, &heard
}

// With the demo's sound every part is known, the level of usual talk stands
// near the middle of the scale, and the sayings that the script lays over
// each other (samples/script.txt, negative gaps) are those that are not alone.
func TestSamplesHeard(t *testing.T) {
	quotes, heard := spoken(t, "D2-INT2")
	habits := Habits(quotes, heard)
	var over []string
	var level float64
	n := 0
	for i, q := range quotes {
		s := Quotability(q, Context{Before: quotes[max(0, i-2):i], After: quotes[i+1 : min(len(quotes), i+3)], Heard: heard, Asker: "Joss Adeyemi", Habit: habits[q.Speaker]})
		for _, name := range []string{PartEnergy, PartPace, PartSound} {
			if p := s.Part(name); p.Weight == 0 && q.Speaker != "Petra Vance" {
				t.Errorf("%q: %s is not known: %+v", q.Text, name, p)
			}
		}
		if s.Part(PartAlone).Value < 1 {
			over = append(over, q.Text+": "+s.Part(PartAlone).Why)
		}
		if q.Speaker == "Ines Corrigan" {
			level += s.Part(PartEnergy).Value
			n++
		}
	}
	for _, want := range []string{"Dr. Hale rang twice", "And you could tell?", "Is that somebody?", "No, leave it.", "I go across."} {
		if !slices.ContainsFunc(over, func(s string) bool { return strings.HasPrefix(s, want) }) {
			t.Errorf("%q is spoken over; got only %q", want, over)
		}
	}
	if len(over) > 6 {
		t.Errorf("got %d sayings that are spoken over, want the six of the script: %q", len(over), over)
	}
	if mean := level / float64(n); math.Abs(mean-0.5) > 0.15 {
		t.Errorf("got a mean energy of %.2f, want about 0.5", mean)
	}
	best := Best(quotes, heard, PassageOptions{})
	for i, r := range best[:7] {
		if r.Passage.Speaker != "Ines Corrigan" {
			t.Errorf("place %d: got %s, who asks or holds the boom: %q", i+1, r.Passage.Speaker, r.Passage.Quote().Text)
		}
	}
}
