package review

import (
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func TestPassages(t *testing.T) {
	s := timecode.Second
	mk := func(who, text string, in, out timecode.Ticks) story.Quote {
		return story.Quote{Reel: "D2-INT2", Speaker: who, Text: text, Language: "en", Span: timecode.Span{In: in * s, Out: out * s}}
	}
	quotes := []story.Quote{
		mk("Ines", "I go across.", 0, 2),
		mk("Joss", "You go across for nobody?", 2, 4),
		mk("Ines", "Somebody rings and I go.", 5, 10),
		mk("Ines", "Wilf rings twice.", 11, 13),
		mk("Ines", "My mother rang from her chair.", 20, 26),
		mk("Ines", "It was a good stick.", 27, 29),
	}
	var got []string
	for _, p := range Passages(quotes, PassageOptions{}) {
		got = append(got, p.Quote().Text)
	}
	want := []string{
		"I go across.", "You go across for nobody?", "Somebody rings and I go. Wilf rings twice.",
		"My mother rang from her chair. It was a good stick.",
	}
	if len(got) != len(want) {
		t.Fatalf("got %q, want %q", got, want)
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("got %q, want %q", got[i], want[i])
		}
	}
	// A long stretch is divided where a saying can stand by itself.
	quotes = quotes[:0]
	for i := range timecode.Ticks(4) {
		quotes = append(quotes, mk("Ines", "The winch turns the drum.", 20*i, 20*i+9), mk("Ines", "It pulls the cable.", 20*i+10, 20*i+19))
	}
	for _, p := range Passages(quotes, PassageOptions{}) {
		if len(p.Quotes) != 2 || p.Quotes[0].Text != "The winch turns the drum." {
			t.Errorf("got %q", p.Quote().Text)
		}
	}
	if got := Passages(nil, PassageOptions{}); len(got) != 0 {
		t.Errorf("got %v", got)
	}
}

func TestPassageQuote(t *testing.T) {
	a := say("One.", 2)
	b := say("Two.", 2)
	b.Span = b.Shift(3 * timecode.Second)
	a.Themes, b.Themes = []string{"bell"}, []string{"Bell", "ferry"}
	a.Code, b.Rating, b.OutBy = "KRTWHC", 4, story.FromPause
	p := Passages([]story.Quote{a, b}, PassageOptions{})
	if len(p) != 1 {
		t.Fatalf("got %d passages", len(p))
	}
	q := p[0].Quote()
	if q.Text != "One. Two." || q.In != a.In || q.Out != b.Out || len(q.Themes) != 2 || q.Rating != 4 || q.Code != "KRTWHC" || q.OutBy != story.FromPause {
		t.Errorf("got %+v", q)
	}
	if len(a.Themes) != 1 || a.Text != "One." {
		t.Error("what was given has changed")
	}
}

// Every quote is in exactly one passage, in order; no passage mixes people or
// reels, holds a longer silence than Gap or is longer than Max unless it is
// one quote.
func TestPassagesProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var quotes []story.Quote
		at := timecode.Ticks(0)
		for i := range rapid.IntRange(0, 40).Draw(t, "quotes") {
			at += timecode.FromMillis(rapid.Int64Range(-300, 4000).Draw(t, "gap"))
			length := timecode.FromMillis(rapid.Int64Range(0, 30_000).Draw(t, "length"))
			quotes = append(quotes, story.Quote{
				Reel: rapid.SampledFrom([]string{"D1", "D2"}).Draw(t, "reel"), Speaker: rapid.SampledFrom([]string{"Ines", "Ines", "Joss"}).Draw(t, "who"),
				Text: rapid.SampledFrom([]string{"It rang.", "The bell rang.", "And so", ""}).Draw(t, "text"), Language: "en", Order: i,
				Span: timecode.Span{In: at, Out: at + length},
			})
			at += length
		}
		opt := PassageOptions{}.withDefaults()
		n := 0
		for _, p := range Passages(quotes, PassageOptions{}) {
			for k, q := range p.Quotes {
				if q.Order != quotes[n].Order || q.Speaker != p.Speaker || q.Reel != p.Reel || q.In < p.In || q.Out > p.Out {
					t.Fatalf("passage %+v holds %+v", p, q)
				}
				if k > 0 && q.In-p.Quotes[k-1].Out > opt.Gap {
					t.Fatalf("a silence of %s in %+v", q.In-p.Quotes[k-1].Out, p)
				}
				n++
			}
			if len(p.Quotes) > 1 && p.Length() > opt.Max {
				t.Fatalf("a passage of %s", p.Length())
			}
		}
		if n != len(quotes) {
			t.Fatalf("got %d quotes of %d", n, len(quotes))
		}
	})
}
