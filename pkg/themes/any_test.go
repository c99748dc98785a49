package themes

import (
	"context"
	"encoding/json"
	"testing"

	"pgregory.net/rapid"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Whatever quotes come, nothing panics, everything can be written as JSON (no
// infinities), and every figure keeps to its bounds.
func TestAnyTalk(t *testing.T) {
	words := []string{"bell", "Bells", "ring", "ringer", "far", "the", "?", ",", "l'eau", "\xff", "колокол", "42", "ff", "Glocke"}
	rapid.Check(t, func(t *rapid.T) {
		var qs []story.Quote
		for range rapid.IntRange(0, 40).Draw(t, "quotes") {
			q := story.Quote{
				Code:     story.Code(rapid.StringN(0, 3, 5).Draw(t, "code")),
				Reel:     rapid.SampledFrom([]string{"", "A", "B", "C"}).Draw(t, "reel"),
				Day:      rapid.SampledFrom([]string{"", "D1", "D2"}).Draw(t, "day"),
				Speaker:  rapid.SampledFrom([]string{"", "I", "J"}).Draw(t, "speaker"),
				Language: rapid.SampledFrom([]string{"", "fr", "xx", "de-AT"}).Draw(t, "language"),
				Order:    rapid.IntRange(-3, 9).Draw(t, "order"),
				Themes:   rapid.SliceOfN(rapid.SampledFrom([]string{"x", "X", "strong", "y"}), 0, 3).Draw(t, "themes"),
				Rating:   rapid.IntRange(0, 5).Draw(t, "rating"),
			}
			q.In = timecode.Ticks(rapid.Int64().Draw(t, "in") / 4)
			q.Out = timecode.Ticks(rapid.Int64().Draw(t, "out") / 4)
			for range rapid.IntRange(0, 8).Draw(t, "length") {
				q.Text += rapid.SampledFrom(words).Draw(t, "word") + " "
			}
			qs = append(qs, q)
		}
		stream := func(yield func(story.Quote, error) bool) {
			for _, q := range qs {
				if !yield(q, nil) {
					return
				}
			}
		}
		opt := Options{
			Limit: rapid.IntRange(-1, 3).Draw(t, "limit"),
			By:    rapid.SampledFrom([]string{"", BySpeaker, ByReel, ByDay}).Draw(t, "by"),
			Late:  rapid.Bool().Draw(t, "late"),
			Reel:  rapid.SampledFrom([]string{"", "A", "Z"}).Draw(t, "only"),
		}
		got, err := Find(context.Background(), stream, opt)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(got); err != nil {
			t.Fatal(err)
		}
		lists := [][]Candidate{got.Recurring}
		for _, l := range got.Lists {
			lists = append(lists, l.Recurring)
		}
		for _, list := range lists {
			for i, c := range list {
				keepsBounds(t, c, i)
			}
		}
		m, err := Map(context.Background(), stream, MapOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := json.Marshal(m); err != nil {
			t.Fatal(err)
		}
	})
}

func keepsBounds(t *rapid.T, c Candidate, i int) {
	count := 0
	for _, r := range c.PerReel {
		count += r.Count
	}
	switch {
	case c.Place != i+1:
		t.Fatalf("%s: place %d, want %d", c.Term, c.Place, i+1)
	case c.Count < minCount || count != c.Count || c.Asked+c.Answered != c.Count:
		t.Fatalf("%s: %d times, %d in reels, %d asked and %d answered", c.Term, c.Count, count, c.Asked, c.Answered)
	case c.Here < 1 || c.Here > c.Count || c.Sayings < 1 || c.Sayings > c.Count || c.Score < 0:
		t.Fatalf("%s: here %d, sayings %d of %d, score %g", c.Term, c.Here, c.Sayings, c.Count, c.Score)
	case c.Dispersion < 0 || c.Dispersion > 1+1e-9 || c.Burst.Share < 0 || c.Burst.Share > 1 || c.Burst.Levels >= burstStates:
		t.Fatalf("%s: dispersion %g, burst %+v", c.Term, c.Dispersion, c.Burst)
	case len(c.Quotes) == 0 || len(c.Quotes) > quotesMost || len(c.Reels) == 0 || c.Term == "":
		t.Fatalf("%q: quotes %v, reels %v", c.Term, c.Quotes, c.Reels)
	}
}
