package themes

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
	"rushlight/pkg/story"
)

// farBank is the shape of the demo: the bridge is in everybody's mouth, above
// all the director's; the bell comes late, from those who answer.
const farBank = `
D1-INT1|Joss Adeyemi|So the bridge opens in the spring, and the bridge will end the ferry, won't it?
D1-INT1|Ines Corrigan|The bridge opens in April.
D1-INT1|Joss Adeyemi|Are you angry about the bridge?
D1-INT1|Ines Corrigan|No. The bridge is a bridge.
D1-INT1|Joss Adeyemi|Do you think people will use the bridge straight away?
D1-INT1|Ines Corrigan|People use what is there. The cable needs greasing every week, bridge or no bridge.
D1-INT1|Joss Adeyemi|And when the bridge is finished, what happens to the winch?
D1-INT1|Ines Corrigan|They have not said. The winch is older than me.
D1-INT1|Ines Corrigan|Somebody rang the bell while you were setting up. I could not go.
D1-INT1|Joss Adeyemi|Is it true that the bridge cost more than the council said?
D1-INT1|Ines Corrigan|I would not know about that.
D1-WILF|Wilf Tranter|I have taken the ferry to the landing every Friday since I was a lad.
D1-WILF|Joss Adeyemi|Will you use the bridge?
D1-WILF|Wilf Tranter|I dare say I shall walk over the bridge once, to see it.
D1-WILF|Joss Adeyemi|What will you miss?
D1-WILF|Wilf Tranter|You ring the bell and she comes. That is the whole of it. You ring and somebody comes.
D1-WILF|Wilf Tranter|The river was higher then, and the landing was timber.
D2-INT2|Joss Adeyemi|Tell me about the other side.
D2-INT2|Ines Corrigan|There is a bell on the far bank, on a post. When someone wants to cross they ring it, and I go over.
D2-INT2|Ines Corrigan|You learn who is ringing. Mrs Hale rings twice, short. The doctor used to ring as if the house were burning.
D2-INT2|Ines Corrigan|The bell carries better before rain.
D2-INT2|Ines Corrigan|Since the bridge went up they have stopped ringing, one after another. I could tell you the day each of them stopped.
D2-INT2|Joss Adeyemi|How do you know it is them?
D2-INT2|Ines Corrigan|By the ring. Nobody rings a bell like another person.
D2-INT2|Ines Corrigan|Last week it was ringing for nobody. The wind had the rope.
D2-INT2|Ines Corrigan|I went over all the same. You go when the bell rings.
D2-INT2|Joss Adeyemi|And after the bridge?
D2-INT2|Ines Corrigan|Nobody rings a bridge.
D2-INT2|Ines Corrigan|I asked them what happens to the bell. They had not thought about the bell.
`

func farBankQuotes(yield func(story.Quote, error) bool) {
	order := map[string]int{}
	for line := range strings.Lines(farBank) {
		parts := strings.SplitN(strings.TrimSpace(line), "|", 3)
		if len(parts) < 3 {
			continue
		}
		reel := parts[0]
		if !yield(story.Quote{
			Code: story.Code(fmt.Sprintf("%s.%d", reel, order[reel])), Reel: reel, Day: reel[:2], Speaker: parts[1],
			Text: parts[2], Language: "en", Order: order[reel],
		}, nil) {
			return
		}
		order[reel]++
	}
}

func TestBellAboveBridge(t *testing.T) {
	got, err := Recurring(context.Background(), farBankQuotes, Options{})
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, r := range got {
		t.Logf("%2d %-14s %2d times, G² %5.1f, %v, %v", i+1, r.Term, r.Count, r.Keyness, r.Reels, r.Forms)
		at[r.Term] = i + 1
	}
	for _, w := range []string{"bell", "ring"} {
		name := w
		if w == "ring" {
			for _, f := range []string{"rings", "ringing"} {
				if at[f] > 0 {
					name = f
				}
			}
		}
		if at[name] == 0 || at[name] > 3 {
			t.Errorf("%s stands at %d, want among the first three", w, at[name])
		}
		if at["bridge"] > 0 && at["bridge"] < at[name] {
			t.Errorf("bridge stands at %d, before %s at %d", at["bridge"], w, at[name])
		}
	}
	bell := got[slices.IndexFunc(got, func(r story.Recurring) bool { return r.Term == "bell" })]
	if bell.Count != 8 || bell.First != "D1-INT1.8" {
		t.Errorf("bell: got %d times, first in %s; want 8, D1-INT1.8", bell.Count, bell.First)
	}
	if want := []string{"D1-INT1", "D1-WILF", "D2-INT2"}; !slices.Equal(bell.Reels, want) {
		t.Errorf("bell: got reels %v, want %v", bell.Reels, want)
	}
	if want := []string{"Ines Corrigan", "Wilf Tranter"}; !slices.Equal(bell.Speakers, want) {
		t.Errorf("bell: got speakers %v, want %v", bell.Speakers, want)
	}
}

func TestAskersAreInferred(t *testing.T) {
	c, err := read(context.Background(), farBankQuotes, "", nil)
	if err != nil {
		t.Fatal(err)
	}
	c.findAskers(nil)
	for _, r := range c.reels {
		if r.asker < 0 || c.speakers.names[r.asker] != "Joss Adeyemi" {
			t.Errorf("reel %s: speaker %d asks, want Joss Adeyemi", r.name, r.asker)
		}
	}
	c.findAskers(func(string) string { return "Ines Corrigan" })
	if c.speakers.names[c.reels[0].asker] != "Ines Corrigan" {
		t.Error("the asker that was told is not taken")
	}
}

func TestNothingToFind(t *testing.T) {
	for name, texts := range map[string][]string{
		"no quotes":  nil,
		"no words":   {"", "— ?", "12 34"},
		"stop words": {"and the of", "and the of", "and the of", "um, uh"},
		"said twice": {"lantern", "lantern"},
	} {
		got, err := Recurring(context.Background(), textQuotes(texts, "en"), Options{})
		if err != nil || len(got) != 0 {
			t.Errorf("%s: got %v, %v; want nothing", name, got, err)
		}
	}
}

func textQuotes(texts []string, language string) func(func(story.Quote, error) bool) {
	return func(yield func(story.Quote, error) bool) {
		for i, text := range texts {
			if !yield(story.Quote{Code: story.Code(fmt.Sprint(i)), Reel: "A", Text: text, Language: language, Order: i}, nil) {
				return
			}
		}
	}
}

func TestOtherLanguages(t *testing.T) {
	for language, c := range map[string]struct {
		texts []string
		want  string
	}{
		"de": {[]string{"Die Glocke läutet.", "Wer läutete die Glocken?", "Eine Glocke und noch eine."}, "glocke"},
		"fr": {[]string{"La cloche de l'église.", "Des cloches partout.", "Une cloche sonne."}, "cloche"},
		"it": {[]string{"La campana suona.", "Le campane del fiume.", "Dell'altra campana."}, "campana"},
		"xx": {[]string{"zvon a zvon", "zvon", "zvon"}, "zvon"},
	} {
		got, err := Recurring(context.Background(), textQuotes(c.texts, language), Options{})
		if err != nil || len(got) == 0 || got[0].Term != c.want {
			t.Errorf("%s: got %v, %v; want %s first", language, got, err, c.want)
		}
	}
}

func TestErrorsPassThrough(t *testing.T) {
	broken := errors.New("the bank is gone")
	_, err := Recurring(context.Background(), func(yield func(story.Quote, error) bool) {
		yield(story.Quote{}, broken)
	}, Options{})
	if !errors.Is(err, broken) {
		t.Errorf("got %v, want %v", err, broken)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Recurring(ctx, farBankQuotes, Options{}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want context.Canceled", err)
	}
}

// Counting against a plain recount: each word that is listed occurs as often
// as it is said to, whatever order the quotes come in.
func TestCountsAreExact(t *testing.T) {
	words := []string{"lantern", "winch", "cable", "timber", "the", "and", "landing"}
	rapid.Check(t, func(t *rapid.T) {
		texts := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) string {
			return strings.Join(rapid.SliceOfN(rapid.SampledFrom(words), 0, 12).Draw(t, "words"), " ")
		}), 1, 20).Draw(t, "texts")
		got, err := Recurring(context.Background(), textQuotes(texts, "en"), Options{Limit: -1})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range got {
			if strings.Contains(r.Term, " ") {
				continue
			}
			want := 0
			for _, text := range texts {
				for _, w := range strings.Fields(text) {
					if w == r.Term {
						want++
					}
				}
			}
			if r.Count != want {
				t.Fatalf("%s: got %d, want %d", r.Term, r.Count, want)
			}
			if r.Dispersion < 0 || r.Dispersion > 1 {
				t.Fatalf("%s: dispersion %g", r.Term, r.Dispersion)
			}
		}
	})
}

// TestTwoWordsBeforeThree: a phrase of three words that is hardly said doesn't
// take the place of the two that are; it stands beside them.
func TestTwoWordsBeforeThree(t *testing.T) {
	var texts []string
	for range 9 {
		texts = append(texts, "The ferry landing was timber then.", "The river rose in the night.")
	}
	for range 3 {
		texts = append(texts, "The ferry landing stage went under.")
	}
	got, err := Recurring(context.Background(), textQuotes(texts, "en"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range got {
		if strings.Contains(r.Term, "landing") && r.Term != "ferry landing" {
			t.Errorf("got %q, said %d times; want \"ferry landing\", said 12 times", r.Term, r.Count)
		}
	}
	if !slices.ContainsFunc(got, func(r story.Recurring) bool { return r.Term == "ferry landing" && r.Count == 12 }) {
		t.Errorf("\"ferry landing\" isn't there: %v", got)
	}
}
