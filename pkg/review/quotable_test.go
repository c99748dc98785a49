package review

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// say makes a quote of Ines that lasts so many seconds.
func say(text string, seconds float64) story.Quote {
	in := 60 * timecode.Second
	return story.Quote{Reel: "D2-INT2", Speaker: "Ines", Text: text, Language: "en", Span: timecode.Span{In: in, Out: in + timecode.FromSeconds(seconds)}}
}

// inTongue is a saying of 7 s in a language.
func inTongue(language, text string) story.Quote {
	q := say(text, 7)
	q.Language = language
	return q
}

// Orderings that an editor would give, worked out by hand: common practice,
// no source. In each the first differs from the second in one respect.
func TestQuotabilityOrders(t *testing.T) {
	joss := say("I could tell you everyone who has stopped ringing the bell.", 7)
	joss.Speaker = "Joss"
	tests := []struct {
		name, part   string
		better, less story.Quote
		ctx          Context
	}{
		{"no pointing word", PartComplete, say("The ferry was late on every morning of that winter.", 7), say("It was late on every morning of that winter.", 7), Context{}},
		{"an article, not a pronoun (German)", PartComplete, inTongue("de", "Die alte Brücke ist eine Brücke."), inTongue("de", "Die war eine Brücke und blieb eine."), Context{}},
		{"there is, not he is (French)", PartComplete, inTongue("fr", "Il y avait une cloche sur la rive."), inTongue("fr", "Il avait une cloche sur la rive."), Context{}},
		{"whole sentence", PartComplete, say("I rang the bell and my mother came.", 7), say("I rang the bell and my", 7), Context{Before: []story.Quote{say("One.", 1)}}},
		{"not broken off", PartComplete, say("I rang the bell until my mother came.", 7), say("I rang the bell until my mother came –", 7), Context{}},
		{"more than a reply", PartComplete, say("I rang the bell twice that morning.", 7), say("No.", 7), Context{}},
		{"not half a sentence", PartComplete, say("I ring if you want the ferry.", 7), say("If you want the ferry.", 7), Context{}},
		{"usable length", PartLength, say("I rang the bell and my mother came.", 8), say("I rang the bell and my mother came.", 2), Context{}},
		{"not too long", PartLength, say("I rang the bell and my mother came.", 20), say("I rang the bell and my mother came.", 60), Context{}},
		{"not a question", PartAnswer, say("The winch stops at night in the winter.", 7), say("Does the winch stop at night in the winter?", 7), Context{}},
		{"not who asks", PartAnswer, say("I could tell you everyone who has stopped ringing the bell.", 7), joss, Context{Asker: "Joss"}},
		{"fluent", PartFluent, say("The school rang the bell at ten to eight.", 7), say("The, um, the school rang the, uh, bell at ten to eight.", 7), Context{}},
		{"no start given up", PartFluent, say("The school rang, yeah, we heard the bell.", 7), say("The school rang Yeah we heard the bell.", 7), Context{}},
		{"no two words twice", PartFluent, say("The school rang the bell at ten to eight.", 7), say("The school the school rang the bell at ten.", 7), Context{}},
		{"nothing that only fills", PartFluent, say("You know who rang the bell at ten to eight.", 7), say("The school rang the bell, you know, at ten.", 7), Context{}},
		{"nothing to cut off", PartComplete, say("You know the bell of the school.", 7), say("You know, the bell of the school.", 7), Context{}},
		{"strong word", PartEmphasis, say("Nobody rings the bell in winter.", 7), say("Somebody rings the bell in winter.", 7), Context{}},
		{"about oneself", PartSelf, say("My hands were on the cable.", 7), say("Two hands were on the cable.", 7), Context{}},
		{"concrete", PartConcrete, say("My mother rang from her chair with a stick.", 7), say("My situation was basically a kind of process.", 7), Context{}},
		{"a name", PartConcrete, say("We went on the Sunday to see Ines there.", 7), say("We went on the Sunday to see So there.", 7), Context{}},
	}
	for _, tt := range tests {
		a, b := Quotability(tt.better, tt.ctx), Quotability(tt.less, tt.ctx)
		if a.Total <= b.Total || a.Part(tt.part).Value <= b.Part(tt.part).Value {
			t.Errorf("%s: got %.3f (%s %+v) and %.3f (%+v), want the first larger", tt.name, a.Total, tt.part, a.Part(tt.part), b.Total, b.Part(tt.part))
		}
	}
}

// heardReel is 100 s of talk at −30 dBFS over noise at −60, with the middle
// of quote 2 louder, one clip, and somebody talking over.
func heardReel() *story.Heard {
	h := &story.Heard{Duration: 100 * timecode.Second, FloorDBFS: -60, ThresholdDBFS: -50}
	for i := range 10_000 {
		level := int16(-3000)
		if i >= 2000 && i < 3000 {
			level = -2400
		}
		if i >= 5000 && i < 6000 {
			level = -5500
		}
		h.Envelope.RMS = append(h.Envelope.RMS, level)
		h.Envelope.Peak = append(h.Envelope.Peak, level+1000)
	}
	h.Turns = []story.Turn{
		{Speaker: "A", Span: timecode.Span{In: 0, Out: 100 * timecode.Second}},
		{Speaker: "B", Span: timecode.Span{In: 31 * timecode.Second, Out: 33 * timecode.Second}},
		{Speaker: "A", Span: timecode.Span{In: 32 * timecode.Second, Out: 33 * timecode.Second}},
	}
	h.Clipped = []story.Clip{{Span: timecode.Span{In: 41 * timecode.Second, Out: 41*timecode.Second + timecode.Millisecond}, Samples: 8}}
	return h
}

func TestQuotabilityHears(t *testing.T) {
	h := heardReel()
	var quotes []story.Quote
	for i := range 10 {
		q := say("I rang the bell and my mother came across the river.", 10)
		q.Span = timecode.Span{In: timecode.Ticks(10*i) * timecode.Second, Out: timecode.Ticks(10*i+10) * timecode.Second}
		quotes = append(quotes, q)
	}
	habit := Habits(quotes, h)["Ines"]
	if want := (Habit{Pace: 1.1, LevelDBFS: -30, Heard: true}); abs(habit.Pace-want.Pace) > 1e-9 || abs(habit.LevelDBFS+30) > 1e-6 || !habit.Heard {
		t.Errorf("got habit %+v, want %+v", habit, want)
	}
	at := func(i int) Score { return Quotability(quotes[i], Context{Heard: h, Habit: habit}) }
	tests := []struct {
		part  string
		quote int
		want  float64
		why   string
	}{
		{PartEnergy, 0, 0.5, "+0.0 dB"},
		{PartEnergy, 2, 1, "+6.0 dB"},
		{PartEnergy, 5, 0, "−25.0 dB"},
		// 2 s of 10 lie under another's talk: 1 − 3·0.2.
		{PartAlone, 3, 0.4, "20 %"},
		{PartAlone, 0, 1, "nobody"},
		{PartSound, 4, 0.5, "clipped in 1 place"},
		{PartSound, 0, 1, "no fault"},
		// −55 dBFS lies 5 dB above the noise: 5/15.
		{PartSound, 5, 1.0 / 3, "5 dB above"},
	}
	for _, tt := range tests {
		p := at(tt.quote).Part(tt.part)
		if abs(p.Value-tt.want) > 1e-6 || p.Weight == 0 || !strings.Contains(p.Why, tt.why) {
			t.Errorf("%s of quote %d: got %+v, want %.3f, %q", tt.part, tt.quote, p, tt.want, tt.why)
		}
	}
	if a, b := at(2).Total, at(5).Total; a <= at(0).Total || b >= at(0).Total {
		t.Errorf("got %.3f loud, %.3f usual, %.3f in the noise", a, at(0).Total, b)
	}
	deaf := Quotability(quotes[0], Context{})
	for _, name := range []string{PartEnergy, PartPace, PartSound} {
		if p := deaf.Part(name); p.Weight != 0 || p.Why == "" {
			t.Errorf("without sound: got %+v, want no weight", p)
		}
	}
}

func abs(v float64) float64 { return max(v, -v) }

// What an editor takes from the demo shoot: each reel's best passage, and
// nobody who asks above the answers' best (by hand, no source).
func TestScenarioBest(t *testing.T) {
	quotes := scenario(t)
	of := func(reel string) []Ranked {
		var part []story.Quote
		for _, q := range quotes {
			if q.Reel == reel {
				part = append(part, q)
			}
		}
		return Best(part, nil, PassageOptions{})
	}
	best := of("D2-INT2")
	if len(best) < 10 {
		t.Fatalf("got %d passages", len(best))
	}
	var top []string
	for _, r := range best[:6] {
		if r.Passage.Speaker != "Ines" {
			t.Errorf("got %s among the first six: %q", r.Passage.Speaker, r.Passage.Quote().Text)
		}
		top = append(top, r.Passage.Quote().Text)
	}
	for _, want := range []string{"I'd start with the bell.", "My mother stopped in the spring.", "Nobody rings a bridge."} {
		if !slices.ContainsFunc(top, func(s string) bool { return strings.Contains(s, want) }) {
			t.Errorf("%q is not among the first six: %q", want, top)
		}
	}
	first := of("D1-INT1")
	if best[0].Score.Total <= first[0].Score.Total {
		t.Errorf("got %.2f for the good interview, %.2f for the stiff one", best[0].Score.Total, first[0].Score.Total)
	}
	total := 0
	for _, r := range best {
		total += len(r.Passage.Quotes)
	}
	want := 0
	for _, q := range quotes {
		if q.Reel == "D2-INT2" {
			want++
		}
	}
	if total != want {
		t.Errorf("got %d quotes in the passages, want all %d", total, want)
	}
}

func TestQuotabilityProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := say(rapid.String().Draw(t, "text"), rapid.Float64Range(-5, 100).Draw(t, "seconds"))
		q.Language = rapid.SampledFrom([]string{"", "en", "de-CH", "fr", "pl"}).Draw(t, "language")
		ctx := Context{Language: "en"}
		if rapid.Bool().Draw(t, "heard") {
			ctx.Heard = heardReel()
			ctx.Before = []story.Quote{say("I rang the bell and went home.", 4)}
		}
		s := Quotability(q, ctx)
		if !(s.Total >= 0 && s.Total <= 1) || len(s.Parts) != 11 {
			t.Fatalf("got %+v", s)
		}
		for _, p := range s.Parts {
			if !(p.Value >= 0 && p.Value <= 1) || p.Weight < 0 || p.Why == "" || p.Name == "" {
				t.Fatalf("got part %+v", p)
			}
		}
	})
}
