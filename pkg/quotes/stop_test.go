package quotes

import (
	"context"
	"errors"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// countdown is a context that ends when it has been asked so often.
type countdown struct {
	context.Context
	left *int
}

func (c countdown) Err() error {
	if *c.left--; *c.left < 0 {
		return context.Canceled
	}
	return nil
}

// However early or late the caller stops it, the work ends with the context's
// error or is done.
func TestStops(t *testing.T) {
	doc := document(
		said(1000, 4000, "INES: The bell rang. And nobody"), said(4000, 6000, "came over."),
		said(7000, 9000, "JOSS: Who rang it?"), said(9000, 12000, "INES: My mother. Every night."),
	)
	src := Source{
		Recording: reel(15_000), Document: doc,
		Heard: &story.Heard{
			Duration: 15 * timecode.Second, Speech: []timecode.Span{span(1000, 6000), span(7000, 12_000)},
			Turns: []story.Turn{{Speaker: "Voice A", Span: span(1000, 6000)}, {Speaker: "Voice B", Span: span(7000, 9000)}},
		},
	}
	whole := build(t, src)
	old := bankOf("The bell rang here.", "And nobody came.", "Who rang it then?", "My mother did.")
	for name, work := range map[string]func(context.Context) (bool, error){
		"build": func(ctx context.Context) (bool, error) {
			res, err := Build(ctx, src)
			return len(res.Quotes) == len(whole.Quotes), err
		},
		"carry": func(ctx context.Context) (bool, error) {
			c, err := Carry(ctx, old, whole.Quotes)
			return len(c.Quotes) == len(whole.Quotes), err
		},
	} {
		for after := 0; ; after++ {
			left := after
			done, err := work(countdown{t.Context(), &left})
			if err == nil && done && after > 0 {
				break // asked no more often than this
			}
			if !errors.Is(err, context.Canceled) {
				t.Fatalf("%s, stopped after %d: got %v, done %v", name, after, err, done)
			}
		}
	}
	ended := 0
	if _, ok := ClockDrift(countdown{t.Context(), &ended}, src); ok {
		t.Error("a drift was found though the work was stopped")
	}
	if got := Labels(countdown{t.Context(), &ended}, doc, src.Recording); len(got) > 0 {
		t.Errorf("labels of stopped work: %v", got)
	}
}

// Text of which no cue ends a sentence is joined in pieces: one string put
// together cue by cue takes time with the square of its length.
func TestLongBlocks(t *testing.T) {
	const n = 20_000
	cues := make([]timedtext.Cue, n)
	for i := range cues {
		cues[i] = said(int64(i)*2000, int64(i)*2000+2000, "and then the bell rang over the river")
	}
	f := newFlow(t.Context(), Source{Recording: reel(0), Document: document(cues...)})
	if err := f.takeCues(); err != nil {
		t.Fatal(err)
	}
	f.makeBlocks()
	words := 0
	for _, b := range f.blocks {
		if len(b.text) > longestBlock+100 {
			t.Errorf("a block of %d bytes, want at most %d and a cue", len(b.text), longestBlock)
		}
		words += len(strings.Fields(b.text))
	}
	if words != 8*n {
		t.Errorf("%d words, want %d", words, 8*n)
	}
}
