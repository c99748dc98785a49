package quotes

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// randomSource draws a document with what could be heard.
func randomSource(t *rapid.T) Source {
	speakers := rapid.SampledFrom([][]string{{""}, {"INES"}, {"INES", "JOSS"}, {"INES", "JOSS", ""}}).Draw(t, "speakers")
	words := []string{"bell", "Ring.", "the", "Ferry?", "um...", "I", "and", "Dr.", "river,", "nobody", "Yes!", "…", "go"}
	doc := &timedtext.Document{Format: rapid.SampledFrom([]timedtext.Format{timedtext.SRT, timedtext.WebVTT, timedtext.PlainText}).Draw(t, "format")}
	doc.Coarse = rapid.Bool().Draw(t, "coarse")
	at, n := int64(0), 0
	overlap := rapid.Bool().Draw(t, "overlap")
	for i := rapid.IntRange(0, 12).Draw(t, "cues"); i > 0; i-- {
		at += rapid.Int64Range(0, 4000).Draw(t, "gap")
		length := rapid.Int64Range(0, 6000).Draw(t, "length")
		c := timedtext.Cue{Span: span(at, at+length), Line: 1 + i}
		if !overlap {
			at += length
		}
		for range rapid.IntRange(1, 2).Draw(t, "lines") {
			var text []string
			for range rapid.IntRange(0, 12).Draw(t, "words") {
				n++
				text = append(text, rapid.SampledFrom(words).Draw(t, "word"))
			}
			run := timedtext.Run{Text: strings.Join(text, " "), Speaker: rapid.SampledFrom(speakers).Draw(t, "speaker")}
			if rapid.Bool().Draw(t, "timed") {
				for j, w := range text {
					in := c.In + timecode.Ticks(j)*c.Length()/timecode.Ticks(len(text))
					run.Words = append(run.Words, timedtext.Word{Text: w, Span: timecode.Span{In: in, Out: in + c.Length()/timecode.Ticks(len(text))}})
				}
			}
			c.Lines = append(c.Lines, timedtext.Line{run})
		}
		doc.Cues = append(doc.Cues, c)
	}
	src := Source{Recording: reel(at + rapid.Int64Range(0, 9000).Draw(t, "rest")), Document: doc}
	if rapid.Bool().Draw(t, "unknown length") {
		src.Recording.Duration = 0
	}
	if rapid.Bool().Draw(t, "heard") {
		var speech []timecode.Span
		for p := int64(0); p < at; {
			in := p + rapid.Int64Range(50, 2000).Draw(t, "silence")
			p = in + rapid.Int64Range(50, 3000).Draw(t, "speech")
			speech = append(speech, span(in, p))
			src.Heard = heard(p+100, speech...)
		}
		if src.Heard != nil {
			for i, s := range speech {
				src.Heard.Turns = append(src.Heard.Turns, story.Turn{Speaker: rapid.SampledFrom([]string{"A", "B"}).Draw(t, "turn"), Span: s.Shift(timecode.Ticks(i%3) * 100 * ms)})
			}
		}
	}
	return src
}

// overlaps tells whether cues of a document overlap or share their In, or
// have two lines with words at the same times.
func overlaps(doc *timedtext.Document) bool {
	for _, c := range doc.Cues {
		if len(c.Lines) == 2 && len(c.Lines[0][0].Words) > 0 && len(c.Lines[1][0].Words) > 0 {
			return true
		}
	}
	for i := 1; i < len(doc.Cues); i++ {
		if p := doc.Cues[i-1]; doc.Cues[i].In < p.Out || doc.Cues[i].In == p.In {
			return true
		}
	}
	return false
}

// letters are the words of a text without signs, with their count.
func letters(s string) []string {
	return strings.FieldsFunc(s, func(r rune) bool {
		return !strings.ContainsRune("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ", r)
	})
}

// checkQuotes asserts what Build promises of times, order and codes.
func checkQuotes(t *rapid.T, src Source, quotes []story.Quote) {
	end := src.duration()
	codes := map[story.Code]bool{}
	own := map[string]story.Quote{}
	for i, q := range quotes {
		switch {
		case q.Order != i:
			t.Fatalf("quote %d has order %d", i, q.Order)
		case q.In < 0 || q.In >= q.Out || end > 0 && q.Out > end:
			t.Fatalf("quote %d is at %s in a recording of %s", i, q.Span, end)
		case i > 0 && q.In < quotes[i-1].In:
			t.Fatalf("quote %d at %s follows one at %s", i, q.In, quotes[i-1].In)
		case codes[q.Code]:
			t.Fatalf("code %s twice", q.Code)
		case strings.TrimSpace(q.Text) == "":
			t.Fatalf("quote %d is empty", i)
		}
		if p, ok := own[q.Speaker]; ok && p.Overlaps(q.Span) {
			t.Fatalf("%s talks over themselves: %s and %s", q.Speaker, p.Span, q.Span)
		}
		for _, w := range q.Words {
			if w.In < q.In || w.Out > q.Out || w.Out < w.In {
				t.Fatalf("word %q at %s outside its quote %s", w.Text, w.Span, q.Span)
			}
		}
		if src.Heard != nil {
			for _, s := range src.Heard.Speech {
				if q.InBy == story.FromPause && q.In > s.In && q.In < s.Out || q.OutBy == story.FromPause && q.Out > s.In && q.Out < s.Out {
					t.Fatalf("quote %s (%s, %s) is said to be cut in silence, but %s is speech", q.Span, q.InBy, q.OutBy, s)
				}
			}
		}
		codes[q.Code], own[q.Speaker] = true, q
	}
}

func TestBuildKeepsItsPromises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		src := randomSource(t)
		res, err := Build(t.Context(), src)
		if errors.Is(err, ErrPastEnd) {
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		end := src.duration()
		checkQuotes(t, src, res.Quotes)
		var got []string
		for _, q := range res.Quotes {
			got = append(got, letters(q.Text)...)
		}
		var want []string
		for _, c := range src.Document.Cues {
			if end > 0 && (c.In >= end || c.Out <= 0 && c.In < 0) {
				continue
			}
			want = append(want, letters(c.Plain())...)
		}
		// Overlapping voices may change places; nothing is lost or doubled.
		if overlaps(src.Document) {
			slices.Sort(got)
			slices.Sort(want)
		}
		if !slices.Equal(got, want) {
			t.Fatalf("got words %q, want %q", got, want)
		}
	})
}

// Times no recording has must neither panic nor break a promise.
func TestWildTimes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		wild := rapid.OneOf(
			rapid.SampledFrom([]timecode.Ticks{timedtext.NoTime, 0, -timecode.Hour, 1 << 62, -1 << 62, timecode.Day, timecode.Second}),
			rapid.Custom(func(t *rapid.T) timecode.Ticks { return timecode.Ticks(rapid.Int64().Draw(t, "ticks")) }))
		doc := &timedtext.Document{Labels: rapid.Bool().Draw(t, "labels"), Coarse: rapid.Bool().Draw(t, "coarse"), ProgrammeStart: wild.Draw(t, "programme")}
		for range rapid.IntRange(0, 5).Draw(t, "cues") {
			run := timedtext.Run{Text: "It rings. Nobody comes", Words: []timedtext.Word{{Text: "rings", Span: timecode.Span{In: wild.Draw(t, "word in"), Out: wild.Draw(t, "word out")}}}}
			doc.Cues = append(doc.Cues, timedtext.Cue{Span: timecode.Span{In: wild.Draw(t, "in"), Out: wild.Draw(t, "out")}, Lines: []timedtext.Line{{run}}})
		}
		rec := reel(rapid.Int64Range(0, 100_000).Draw(t, "length"))
		rec.Clock.Start = rapid.SampledFrom([]timecode.Ticks{0, timecode.Hour, 23 * timecode.Hour}).Draw(t, "start")
		src := Source{Recording: rec, Document: doc, Heard: heard(5000, span(100, 1000), span(2000, 3000))}
		res, err := Build(t.Context(), src)
		if err != nil && !errors.Is(err, ErrPastEnd) {
			t.Fatal(err)
		}
		for i, q := range res.Quotes {
			if q.In < 0 || q.In >= q.Out || rec.Duration > 0 && q.Out > rec.Duration || i > 0 && q.In < res.Quotes[i-1].In {
				t.Fatalf("quote %d is at %d to %d in a recording of %d", i, q.In, q.Out, rec.Duration)
			}
		}
		Labels(t.Context(), doc, rec)
	})
}
