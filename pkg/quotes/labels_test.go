package quotes

import (
	"slices"
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
	if got := Labels(doc, rec); !slices.Equal(got, want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
	if got := Labels(document(said(0, 1000, "No names.")), rec); len(got) != 0 {
		t.Errorf("no labels: got %v", got)
	}
	if got := Labels(nil, rec); got != nil {
		t.Errorf("no document: got %v", got)
	}
	far := document(said(900_000, 901_000, "INES: Far."))
	if got := Labels(far, rec); len(got) != 0 {
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
