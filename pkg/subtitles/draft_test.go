package subtitles

import (
	"errors"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func TestTimesFollowTheSpeech(t *testing.T) {
	lim := DefaultLimits("en")
	p := piece(10, 16, "Ines", "I'd start with the bell on the far bank, and then I would say who used to ring it.")
	p.Speech = []timecode.Span{span(10.5, 12.6), span(13.4, 15.2)}
	doc, _ := mustDraft(t, []Piece{p}, lim)
	if len(doc.Cues) != 2 {
		t.Fatalf("got %s want 2 cues", show(doc, nil))
	}
	// Ins on the frame at or before the speech; outs by 200 words a minute:
	// 9 words take 2.7 s, 10 take 3 s.
	for i, want := range []timecode.Span{span(10.48, 13.2), span(13.4, 16.4)} {
		if got := doc.Cues[i].Span; got != want {
			t.Errorf("cue %d at %s, want %s", i+1, got, want)
		}
	}
}

func TestWordTimesAreUsed(t *testing.T) {
	p := piece(0, 9, "Ines", "Nobody rings a bridge, you see, – and with a bell somebody has got to come over here.")
	at := 0.0
	for _, w := range strings.Fields("nobody rings a bridge you see and with a bell somebody has got to come over here") {
		if w == "and" {
			at = 5
		}
		p.Quote.Words = append(p.Quote.Words, story.Word{Text: w, Span: span(at, at+0.2)})
		at += 0.25
	}
	doc, _ := mustDraft(t, []Piece{p}, DefaultLimits("en"))
	if len(doc.Cues) != 2 {
		t.Fatalf("got %s want 2 cues", show(doc, nil))
	}
	if got, want := doc.Cues[1].In, secs(5); got != want {
		t.Errorf("second cue in at %s, want %s", got, want)
	}
	if got := doc.Cues[0].Out; got > secs(2.5) {
		t.Errorf("first cue out at %s, want soon after the word at 1.45", got)
	}
}

func TestTrimLeavesOutUnheardWords(t *testing.T) {
	p := piece(0, 4, "Ines", "Well, nobody rings a bridge.")
	for i, w := range strings.Fields("Well, nobody rings a bridge.") {
		p.Quote.Words = append(p.Quote.Words, story.Word{Text: w, Span: span(float64(i)*0.8, float64(i)*0.8+0.7)})
	}
	p.Span, p.At = span(0.75, 4), secs(100)
	doc, _ := mustDraft(t, []Piece{p}, DefaultLimits("en"))
	if got, want := said(doc), "nobody rings a bridge."; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got, want := doc.Cues[0].In, secs(100.04); got != want {
		t.Errorf("in at %s, want %s", got, want)
	}
	p.Quote.Words = nil
	doc, _ = mustDraft(t, []Piece{p}, DefaultLimits("en"))
	if got, want := said(doc), "nobody rings a bridge."; got != want {
		t.Errorf("without word times got %q, want %q", got, want)
	}
}

// Half of a long saying in the cut must not be shown with all its words: a
// trim takes the words with it, also where only the speech was heard.
func TestTrimWithoutWordTimes(t *testing.T) {
	const text = "You ring, and somebody comes. You ring it once for a walker. Nobody rings a bridge."
	heard := []timecode.Span{span(10, 12), span(13, 15.2), span(17, 18.8)}
	for _, c := range []struct {
		name string
		used timecode.Span
		want string
	}{
		{"whole", span(10, 19), text},
		{"a frame more", span(9.96, 19.04), text},
		{"longer", span(8, 21), text},
		{"the first saying", span(10, 12.6), "You ring, and somebody comes."},
		{"the second", span(12.5, 16), "You ring it once for a walker."},
		{"from the second on", span(12.5, 19), "You ring it once for a walker. Nobody rings a bridge."},
		{"none of it", span(25, 26), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := piece(10, 19, "Ines", text)
			p.Speech, p.Span, p.At = heard, c.used, secs(100)
			doc, _ := mustDraft(t, []Piece{p}, DefaultLimits("en"))
			if got := said(doc); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
			for i, cue := range doc.Cues {
				if cue.In < secs(100) || i > 0 && cue.In < doc.Cues[i-1].Out {
					t.Errorf("cue %d in at %s", i+1, cue.In)
				}
			}
		})
	}
}

func TestTwoPeopleAtOnce(t *testing.T) {
	lim := DefaultLimits("en")
	t.Run("both fit", func(t *testing.T) {
		doc, _ := mustDraft(t, []Piece{piece(0, 1.2, "Ines", "I go across."), piece(1, 2.5, "Joss", "You go across for nobody?")}, lim)
		if len(doc.Cues) != 1 {
			t.Fatalf("got %s want one cue", show(doc, nil))
		}
		if got, want := doc.Cues[0].Plain(), "I go across.\nYou go across for nobody?"; got != want {
			t.Errorf("got %q, want %q", got, want)
		}
		for i, l := range doc.Cues[0].Lines {
			if !l[0].Dash {
				t.Errorf("line %d has no dash, want one", i+1)
			}
		}
	})
	t.Run("too long for a line each", func(t *testing.T) {
		doc, found := mustDraft(t, []Piece{
			piece(0, 5, "Ines", "I'm not going to stand here and work out whether they mean it."),
			piece(0.5, 2.5, "Joss", "You go across, every single time, for nobody?"),
		}, lim)
		if len(doc.Cues) != 2 || doc.Cues[1].In < doc.Cues[0].Out {
			t.Errorf("got %s want two cues after each other", show(doc, found))
		}
	})
}

func TestShortSayingsStandLongEnough(t *testing.T) {
	doc, found := mustDraft(t, []Piece{
		piece(1, 1.2, "Joss", "Do you hate it?"), piece(1.2, 1.4, "Ines", "No."), piece(1.4, 1.6, "Joss", "Right."),
	}, DefaultLimits("en"))
	for _, c := range doc.Cues {
		if c.Length() < timecode.Second {
			t.Errorf("cue %q stands %s, want a second", c.Plain(), c.Length())
		}
	}
	if got := said(doc); got != "Do you hate it? No. Right." {
		t.Errorf("got %q (%v)", got, found)
	}
}

func TestCutsBetweenPiecesAreKept(t *testing.T) {
	a, b := piece(10, 11, "Ines", "I asked."), piece(11.2, 12.4, "Ines", "It's a bell.")
	doc, _ := mustDraft(t, []Piece{a, b}, DefaultLimits("en"))
	if len(doc.Cues) != 1 {
		t.Errorf("in one recording: got %s want one cue", show(doc, nil))
	}
	a.At, b.At = secs(0), secs(1.4) // a cut of the silence
	doc, _ = mustDraft(t, []Piece{a, b}, DefaultLimits("en"))
	if len(doc.Cues) != 2 {
		t.Errorf("over a cut: got %s want two cues", show(doc, nil))
	}
}

func TestDraftErrors(t *testing.T) {
	lim := DefaultLimits("en")
	lim.MinDuration = 8 * timecode.Second
	if _, _, err := Draft(nil, lim); !errors.Is(err, ErrLimits) {
		t.Errorf("least above most: got %v, want ErrLimits", err)
	}
	lim = DefaultLimits("en")
	lim.LineLength = -1
	if _, _, err := Draft(nil, lim); !errors.Is(err, ErrLimits) {
		t.Errorf("line length -1: got %v, want ErrLimits", err)
	}
	if _, _, err := Draft([]Piece{piece(2, 1, "Ines", "No.")}, DefaultLimits("en")); !errors.Is(err, story.ErrInvalid) {
		t.Errorf("out before in: got %v, want story.ErrInvalid", err)
	}
	doc, found, err := Draft([]Piece{piece(1, 2, "Ines", " ")}, DefaultLimits("en"))
	if err != nil || len(doc.Cues) != 0 || len(found) != 0 {
		t.Errorf("no words: got %d cues, %v, %v; want nothing", len(doc.Cues), found, err)
	}
}

func TestFastSpeechTakesSilenceAroundIt(t *testing.T) {
	lim := DefaultLimits("en")
	lim.WordsPerMinute = 0
	// 34 characters need 2 s and are said in 1: the second after them is
	// free in the first case, half a second before in the second, nothing in
	// the third.
	text := "Dr. Hale rang twice, always twice."
	for _, c := range []struct {
		name   string
		pieces []Piece
		cue    int
		want   timecode.Span
		fast   bool
	}{
		{"after", []Piece{piece(1, 2, "Ines", text), piece(6, 8, "Joss", "And you could tell?")}, 0, span(1, 3), false},
		{"before", []Piece{piece(2, 3, "Ines", text), piece(3.6, 5, "Joss", "And you could tell?")}, 0, span(1.52, 3.52), false},
		{"nowhere", []Piece{piece(0, 2, "Joss", "And you could tell?"), piece(2, 3, "Ines", text), piece(3, 5, "Joss", "Could you?")}, 1, span(2, 2.92), true},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.fast {
				lim.MinDuration = 0
			}
			doc, found := mustDraft(t, c.pieces, lim)
			if got := doc.Cues[c.cue].Span; got != c.want {
				t.Errorf("stands %s, want %s", got, c.want)
			}
			if got := has(found, RuleSpeed); got != c.fast {
				t.Errorf("finding of reading speed: %v, want %v: %v", got, c.fast, found)
			}
		})
	}
}

func TestTrailingCuesAreReported(t *testing.T) {
	lim := DefaultLimits("en")
	lim.Lines = 1 // no dashes
	var all []Piece
	for i, who := range []string{"Ines", "Joss", "Petra", "Wilf"} {
		in := 0.1 * float64(i)
		all = append(all, piece(in, in+0.3, who, "Nobody rings a bridge."))
	}
	doc, found := mustDraft(t, all, lim)
	var late []int
	for _, f := range found {
		if f.Rule == RuleOverlap {
			late = append(late, f.Cue)
		}
	}
	// At least a second each: the third comes in 2.16 s on the timeline and
	// the fourth 3.24 s, 1.96 and 2.94 s after their speech.
	if len(doc.Cues) != 4 || len(late) != 2 || late[0] != 3 || late[1] != 4 {
		t.Errorf("late cues %v, want 3 and 4\n%s", late, show(doc, found))
	}
}

func BenchmarkDraftTwoHours(b *testing.B) {
	var all []Piece
	text := "There's a post on the far bank, with a bell on it, and when you want the ferry, you ring."
	for at := 0.0; at < 7200; at += 6 {
		all = append(all, piece(at, at+5.5, "Ines", text))
	}
	lim := DefaultLimits("en")
	for b.Loop() {
		if _, _, err := Draft(all, lim); err != nil {
			b.Fatal(err)
		}
	}
}

func TestCuesDoNotLingerOverACut(t *testing.T) {
	a, b := piece(10, 13, "Ines", "I asked."), piece(50, 53, "Ines", "It's a working bell.")
	a.At, b.At = 0, secs(3)
	a.Speech, b.Speech = []timecode.Span{span(11, 12.8)}, []timecode.Span{span(51, 52.6)}
	doc, _ := mustDraft(t, []Piece{a, b}, DefaultLimits("en"))
	if got, want := doc.Cues[0].Span, span(1, 3); got != want {
		t.Errorf("cue before the cut at %s, want %s", got, want)
	}
	if got, want := doc.Cues[1].Span, span(4, 6.08); got != want {
		t.Errorf("last cue at %s, want %s", got, want)
	}
}

func TestNeighboursSpeechAtTheEdgeIsNotTaken(t *testing.T) {
	p := piece(10, 14, "Ines", "It's a working bell.")
	p.Speech = []timecode.Span{span(8, 10.04), span(12, 13.2), span(13.96, 16)}
	doc, _ := mustDraft(t, []Piece{p}, DefaultLimits("en"))
	if got, want := doc.Cues[0].In, secs(12); got != want {
		t.Errorf("in at %s, want %s", got, want)
	}
}

func TestLongSilencePartsCues(t *testing.T) {
	for _, c := range []struct {
		silence float64
		want    int
	}{{0.4, 1}, {1.2, 2}} {
		doc, _ := mustDraft(t, []Piece{
			piece(0, 1, "Ines", "I asked."), piece(1+c.silence, 3.6, "Ines", "It's a working bell."),
		}, DefaultLimits("en"))
		if got := len(doc.Cues); got != c.want {
			t.Errorf("%g s of silence: %d cues, want %d", c.silence, got, c.want)
		}
	}
}

// Eighty characters fit two lines only with a break after "the".
func TestAnotherCueRatherThanAWrongLineBreak(t *testing.T) {
	doc, _ := mustDraft(t, []Piece{
		piece(0, 6, "Joss", "Ines, the bridge opens in April, and the whole town is talking about the bridge."),
	}, DefaultLimits("en"))
	if len(doc.Cues) != 2 || doc.Cues[0].Plain() != "Ines, the bridge opens in April," {
		t.Errorf("got %s want a cue up to the second comma", show(doc, nil))
	}
}

// No cue stands longer than the programme, however short its last words are.
func TestDraftEndsWithTheProgramme(t *testing.T) {
	lim := DefaultLimits("en")
	for _, end := range []timecode.Ticks{0, 2400 * timecode.Millisecond} {
		lim.End = end
		doc, _ := mustDraft(t, []Piece{piece(0, 1, "Ines", "Not especially."), piece(2, 2.4, "Ines", "No.")}, lim)
		last := doc.Cues[len(doc.Cues)-1].Out
		if (last > 2400*timecode.Millisecond) != (end == 0) {
			t.Errorf("programme of %s: the last cue goes out at %s", end, last)
		}
	}
}
