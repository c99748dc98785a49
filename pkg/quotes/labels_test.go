package quotes

import (
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

func TestLabels(t *testing.T) {
	rec := reel(60_000)
	rec.Clock.Start = 10 * timecode.Hour
	doc := document(
		said(1000, 3000, "INES: You ring."),
		said(3500, 5000, "INES: And wait."),
		said(5000, 6000, "JOSS: Why?"),
		said(20_000, 22_000, "INES: Because."),
		said(30_000, 31_000, "INES: Yes."),
	)
	for i := range doc.Cues {
		doc.Cues[i].Span = doc.Cues[i].Shift(rec.Clock.Start)
	}
	doc.Labels = true
	want := []story.Turn{
		{Speaker: "INES", Span: span(1000, 5000), Source: story.ByTranscript, Channel: -1},
		{Speaker: "JOSS", Span: span(5000, 6000), Source: story.ByTranscript, Channel: -1},
		{Speaker: "INES", Span: span(20_000, 22_000), Source: story.ByTranscript, Channel: -1},
		{Speaker: "INES", Span: span(30_000, 31_000), Source: story.ByTranscript, Channel: -1},
	}
	if got := Labels(t.Context(), doc, rec); !slices.Equal(got, want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
	if got := Labels(t.Context(), document(said(0, 1000, "No names.")), rec); len(got) != 0 {
		t.Errorf("no labels: got %v", got)
	}
	if got := Labels(t.Context(), nil, rec); got != nil {
		t.Errorf("no document: got %v", got)
	}
	far := document(said(900_000, 901_000, "INES: Far."))
	if got := Labels(t.Context(), far, rec); len(got) != 0 {
		t.Errorf("past the end: got %v", got)
	}
}

// What the transcript doesn't say of speakers, the heard turns do.
func TestSpeakersFromTurns(t *testing.T) {
	h := heard(10_000, span(1000, 3000), span(4000, 6000))
	h.Turns = []story.Turn{{Speaker: "Ines", Span: span(1000, 3000)}, {Speaker: "Joss", Span: span(4000, 6000)}}
	doc := document(said(1000, 3000, "you ring the bell"), said(3000, 6000, "and who comes then"))
	doc.Format = timedtext.SRT
	got := build(t, Source{Recording: reel(10_000), Document: doc, Heard: h})
	same(t, lines(got.Quotes), []string{
		"940-3100 Ines pause/pause you ring the bell",
		"3940-6100 Joss pause/pause and who comes then",
	})
}

// Two microphones tell who speaks where no silence does; a bell that rings
// into one of them is nobody's saying.
func TestTurnsTellEdges(t *testing.T) {
	cue := func(in, out int64, said ...string) timedtext.Cue {
		c := timedtext.Cue{Span: span(in, out), OpenEnd: true}
		for _, s := range said {
			who, text, _ := strings.Cut(s, ": ")
			c.Lines = append(c.Lines, timedtext.Line{{Text: text, Speaker: who}})
		}
		return c
	}
	doc := document(
		cue(1000, 10_000, "JOSS: So where would you start it, the film?"),
		cue(10_000, 28_040, "INES: I'd start with the bell.", "JOSS: Who rings it?"),
		cue(28_040, 32_120, "INES: Dr. Hale rang twice, always twice, so you'd know it was a birth."),
		cue(32_120, 47_600, "JOSS: And you could tell?", "INES: You can tell by the second stroke who's ringing. Wilf rings as if he's sorry to trouble you.", "JOSS: Is that somebody?", "INES: No, leave it."),
		cue(47_600, 50_000, "INES: That's the wind."),
	)
	doc.Coarse, doc.Format = true, timedtext.PlainText
	h := heard(50_000, span(1600, 3400), span(10_400, 12_000), span(18_200, 19_000), span(28_660, 33_010), span(33_390, 35_750), span(36_310, 38_590), span(40_040, 44_060), span(47_670, 48_480))
	for _, turn := range []struct {
		who     string
		in, out int64
	}{
		{"Channel 3", 1600, 3400},
		{"Channel 1", 10_400, 12_000},
		{"Channel 3", 18_200, 19_000},
		{"Channel 1", 28_660, 35_750},
		{"Channel 3", 32_170, 33_010},
		{"Channel 1", 36_310, 38_590},
		{"Channel 1", 40_040, 44_060},
		{"Channel 3", 42_560, 43_360},
		{"Channel 1", 47_670, 48_480},
	} {
		h.Turns = append(h.Turns, story.Turn{Speaker: turn.who, Span: span(turn.in, turn.out), Source: story.ByChannel})
	}
	got := build(t, Source{Recording: reel(50_000), Document: doc, Heard: h})
	same(t, lines(got.Quotes), []string{
		"1540-3500 JOSS pause/pause So where would you start it, the film?",
		"10340-12100 INES pause/pause I'd start with the bell.",
		"18140-19100 JOSS pause/pause Who rings it?",
		"28600-32110 INES pause/guess Dr. Hale rang twice, always twice, so you'd know it was a birth.",
		"32110-33110 JOSS share/pause And you could tell?",
		"33330-35850 INES pause/pause You can tell by the second stroke who's ringing.",
		"36250-38690 INES pause/pause Wilf rings as if he's sorry to trouble you.",
		"42500-43460 JOSS share/share Is that somebody?",
		"43460-44160 INES guess/pause No, leave it.",
		"47610-48580 INES pause/pause That's the wind.",
	})
}

// In text without full stops a heard silence between touching cues is a break.
func TestLooseTextBreaksInSilence(t *testing.T) {
	doc := document(said(0, 3000, "you ring the bell"), said(3000, 6000, "and you wait"), said(6000, 9000, "my mother rang it every night"))
	got := build(t, Source{Recording: reel(9000), Document: doc, Heard: heard(9000, span(100, 2950), span(3100, 5400), span(6500, 8900))})
	same(t, lines(got.Quotes), []string{
		"67-5500  pause/pause you ring the bell and you wait",
		"6440-8933  pause/pause my mother rang it every night",
	})
}
