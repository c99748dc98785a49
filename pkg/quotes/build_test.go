package quotes

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

const ms = timecode.Millisecond

// span is a span in milliseconds.
func span(in, out int64) timecode.Span {
	return timecode.Span{In: timecode.FromMillis(in), Out: timecode.FromMillis(out)}
}

// said makes a cue in milliseconds; "NAME: text" gives it a speaker.
func said(in, out int64, text string) timedtext.Cue {
	who, rest, ok := strings.Cut(text, ": ")
	if !ok || strings.Contains(who, " ") {
		who, rest = "", text
	}
	c := timedtext.Cue{Span: span(in, out)}
	for _, l := range strings.Split(rest, "\n") {
		c.Lines = append(c.Lines, timedtext.Line{{Text: l, Speaker: who}})
	}
	return c
}

func document(cues ...timedtext.Cue) *timedtext.Document {
	for i := range cues {
		cues[i].Line = 4*i + 1
	}
	return &timedtext.Document{Format: timedtext.SRT, Language: "en", Cues: cues}
}

// reel is a recording of a length in milliseconds, at 25 frames/s.
func reel(length int64) story.Recording {
	return story.Recording{
		Reel: "D1-INT1", Day: "D1", Essence: "e1", Duration: timecode.FromMillis(length),
		Clock: timecode.Clock{Base: timecode.Base{Rate: timecode.Rate25}},
	}
}

func build(t testing.TB, src Source) Result {
	t.Helper()
	res, err := Build(t.Context(), src)
	if err != nil {
		t.Fatal(err)
	}
	return res
}

// lines prints quotes as "in-out SPEAKER by/by text" in milliseconds.
func lines(quotes []story.Quote) []string {
	out := make([]string, 0, len(quotes))
	for _, q := range quotes {
		out = append(out, fmt.Sprintf("%d-%d %s %s/%s %s", q.In.Millis(timecode.Nearest), q.Out.Millis(timecode.Nearest), q.Speaker, q.InBy, q.OutBy, q.Text))
	}
	return out
}

func same(t *testing.T, got, want []string) {
	t.Helper()
	if !slices.Equal(got, want) {
		t.Errorf("got\n  %s\nwant\n  %s", strings.Join(got, "\n  "), strings.Join(want, "\n  "))
	}
}

// heard makes what was heard of stretches of speech in milliseconds.
func heard(length int64, speech ...timecode.Span) *story.Heard {
	h := &story.Heard{Duration: timecode.FromMillis(length), Speech: speech}
	for i := 1; i < len(speech); i++ {
		h.Pauses = append(h.Pauses, timecode.Span{In: speech[i-1].Out, Out: speech[i].In})
	}
	return h
}

func TestJoinsCues(t *testing.T) {
	doc := document(
		said(1000, 3000, "INES: You ring the bell\nand then"),
		said(3000, 5000, "INES: you wait. Nobody"),
		said(5000, 6000, "INES: comes."),
		said(6000, 7000, "JOSS: Why?"),
	)
	got := build(t, Source{Recording: reel(10000), Document: doc})
	same(t, lines(got.Quotes), []string{
		"1000-3895 INES share/share You ring the bell and then you wait.",
		"3895-6000 INES share/share Nobody comes.",
		"6000-7000 JOSS share/share Why?",
	})
}

func TestWordTimes(t *testing.T) {
	c := said(0, 5000, "INES: It rings. Then nobody comes.")
	for _, w := range []struct {
		text    string
		in, out int64
	}{{"It", 100, 220}, {"rings.", 250, 700}, {"Then", 1900, 2100}, {"nobody", 2100, 2600}, {"comes.", 2650, 3100}} {
		c.Lines[0][0].Words = append(c.Lines[0][0].Words, timedtext.Word{Text: w.text, Span: span(w.in, w.out)})
	}
	got := build(t, Source{Recording: reel(10000), Document: document(c), Heard: heard(10000, span(0, 1000), span(1500, 5000))})
	same(t, lines(got.Quotes), []string{
		"100-700 INES words/words It rings.",
		"1900-3100 INES words/words Then nobody comes.",
	})
	if n := len(got.Quotes[1].Words); n != 3 {
		t.Fatalf("got %d words, want 3", n)
	}
	if w := got.Quotes[1].Words[1]; w.Text != "nobody" || w.Span != span(2100, 2600) {
		t.Errorf("got %v, want nobody at 2.1 to 2.6 s", w)
	}
}

func TestPauses(t *testing.T) {
	doc := document(said(1000, 7000, "The bell rings twice. Nobody is there. Then I go home."))
	h := heard(9000, span(1200, 2600), span(3000, 4400), span(5000, 6500))
	got := build(t, Source{Recording: reel(9000), Document: doc, Heard: h})
	same(t, lines(got.Quotes), []string{
		"1140-2700  pause/pause The bell rings twice.",
		"2940-4500  pause/pause Nobody is there.",
		"4940-6600  pause/pause Then I go home.",
	})
}

func TestCoarse(t *testing.T) {
	doc := document(said(0, 20000, "JOSS: Do you still ring the bell on the far bank at night?\nI mean, ever?"),
		said(20000, int64(timedtext.NoTime/ms), "INES: No."))
	doc.Coarse, doc.Format = true, timedtext.PlainText
	doc.Cues[1].Out = timedtext.NoTime
	doc.Cues[0].Lines = append(doc.Cues[0].Lines, timedtext.Line{{Text: "Sometimes. When the fog is in, I ring it for nobody.", Speaker: "INES"}})
	h := heard(24000, span(500, 4000), span(4800, 6000), span(8000, 8900), span(12000, 15500), span(21000, 22000))
	h.Turns = []story.Turn{{Speaker: "A", Span: span(500, 6000)}, {Speaker: "B", Span: span(8000, 22000)}}
	got := build(t, Source{Recording: reel(24000), Document: doc, Heard: h})
	same(t, lines(got.Quotes), []string{
		"440-4100 JOSS pause/pause Do you still ring the bell on the far bank at night?",
		"4740-6100 JOSS pause/pause I mean, ever?",
		"7940-9000 INES pause/pause Sometimes.",
		"11940-15600 INES pause/pause When the fog is in, I ring it for nobody.",
		"20940-22100 INES pause/pause No.",
	})
}

func TestShift(t *testing.T) {
	hours := func(h int64) timecode.Ticks { return timecode.Ticks(h) * timecode.Hour }
	at := func(start timecode.Ticks) *timedtext.Document {
		d := document(said(1000, 2000, "One."), said(3000, 4000, "Two."))
		for i := range d.Cues {
			d.Cues[i].Span = d.Cues[i].Shift(start)
		}
		return d
	}
	tests := []struct {
		name                   string
		start, clock, duration timecode.Ticks
		labels                 bool
		programme              timecode.Ticks
		want                   timecode.Ticks
	}{
		{name: "own time", duration: timecode.Minute, clock: hours(10)},
		{name: "labels at the clock", start: hours(10), clock: hours(10), duration: timecode.Minute, labels: true, want: -hours(10)},
		{name: "times at the clock", start: hours(10), clock: hours(10), duration: timecode.Minute, want: -hours(10)},
		{name: "clock inside the first hour", start: 5 * timecode.Minute, clock: 5 * timecode.Minute, duration: timecode.Minute, want: -5 * timecode.Minute},
		{name: "programme start", start: hours(10), duration: timecode.Minute, want: -hours(10)},
		{name: "labels without clock", start: hours(1), duration: timecode.Minute, labels: true, want: -hours(1)},
		{name: "declared start", start: 90 * timecode.Minute, duration: timecode.Minute, programme: 90 * timecode.Minute, want: -90 * timecode.Minute},
		{name: "past midnight", start: 0, clock: hours(24) - 10*timecode.Second, duration: timecode.Minute, labels: true, want: 10 * timecode.Second},
		{name: "length unknown, at the clock", start: hours(10), clock: hours(10), want: -hours(10)},
		{name: "length unknown", start: hours(10)},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			doc := at(tt.start)
			doc.Labels, doc.ProgrammeStart = tt.labels, tt.programme
			rec := reel(0)
			rec.Duration, rec.Clock.Start = tt.duration, tt.clock
			got := build(t, Source{Recording: rec, Document: doc})
			if got.Shift != tt.want {
				t.Fatalf("got shift %s, want %s", got.Shift, tt.want)
			}
			if in, want := got.Quotes[0].In, doc.Cues[0].In+tt.want; in != want {
				t.Errorf("got the first in at %s, want %s", in, want)
			}
		})
	}
}

func TestPastEnd(t *testing.T) {
	all := document(said(70000, 72000, "Far."), said(80000, 81000, "Farther."))
	if _, err := Build(t.Context(), Source{Recording: reel(60000), Document: all}); !errors.Is(err, ErrPastEnd) {
		t.Errorf("got %v, want ErrPastEnd", err)
	}
	some := document(said(1000, 3000, "Here."), said(58000, 65000, "Over the end."), said(70000, 71300, "Far."))
	got := build(t, Source{Recording: reel(60000), Document: some})
	same(t, lines(got.Quotes), []string{"1000-3000  share/share Here.", "58000-60000  share/share Over the end."})
	var text []string
	for _, w := range got.Warnings {
		text = append(text, w.String())
	}
	same(t, text, []string{
		"line 9: times run past the end: the last cue ends at 00:01:11.300, the recording at 00:01:00.000",
		`line 9: lies outside the recording and is left out: "Far."`,
	})
}

func TestRateHint(t *testing.T) {
	tests := []struct {
		num, den int64
		want     string
	}{
		{25000, 23976, "25 read as 23.976"},
		{25, 24, "25 read as 24"},
		{30, 25, "30 read as 25"},
		{5, 4, "30 read as 24"},
		{13, 10, ""},
	}
	for _, tt := range tests {
		var cues []timedtext.Cue
		for at := int64(0); at < 3600; at += 10 {
			cues = append(cues, said(at*1000*tt.num/tt.den, (at+10)*1000*tt.num/tt.den, "A saying."))
		}
		got := build(t, Source{Recording: reel(3600_000), Document: document(cues...)})
		if len(got.Warnings) == 0 {
			t.Fatalf("%d/%d: no warning", tt.num, tt.den)
		}
		what := got.Warnings[0].What
		if has := strings.Contains(what, "frame rate of"); has != (tt.want != "") || !strings.Contains(what, tt.want) {
			t.Errorf("%d/%d: got %q, want a hint of %q", tt.num, tt.den, what, tt.want)
		}
	}
}

func TestBackwards(t *testing.T) {
	doc := document(said(1000, 2000, "One."), said(5000, 6000, "Three."), said(3000, 4000, "Two."))
	got := build(t, Source{Recording: reel(10000), Document: doc})
	same(t, lines(got.Quotes), []string{"1000-2000  share/share One.", "3000-4000  share/share Two.", "5000-6000  share/share Three."})
	if len(got.Warnings) != 1 || got.Warnings[0].Line != 9 || !strings.Contains(got.Warnings[0].What, "in order of time") {
		t.Errorf("got warnings %v, want one about line 9", got.Warnings)
	}
	// The reader tells that times run backwards, and leaves it to others what
	// becomes of it.
	read, err := timedtext.Read(strings.NewReader("00:00:05,000 --> 00:00:06,000\nThree.\n\n00:00:03,000 --> 00:00:04,000\nTwo.\n"), timedtext.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	want := "times run backwards: got 00:00:03.000 after 00:00:05.000"
	if !slices.ContainsFunc(read.Repairs, func(r timedtext.Repair) bool { return r.What == want }) {
		t.Errorf("got %v, want %q", read.Repairs, want)
	}
}

func TestBreaks(t *testing.T) {
	tests := []struct {
		name string
		cues []timedtext.Cue
		want string
	}{
		{"speaker", []timedtext.Cue{said(0, 1000, "INES: I was going to"), said(1000, 2000, "JOSS: Where?"), said(2000, 3000, "INES: the shed.")}, "I was going to|Where?|the shed."},
		{"dashes", []timedtext.Cue{said(0, 2000, "- You rang?\n- Yes.")}, "You rang?|Yes."},
		{"one hyphen", []timedtext.Cue{said(0, 2000, "It is a hand-\nworked ferry.")}, "It is a hand-worked ferry."},
		{"long gap", []timedtext.Cue{said(0, 1000, "I was going"), said(4000, 5000, "The bell rang.")}, "I was going|The bell rang."},
		{"gap inside", []timedtext.Cue{said(0, 1000, "I was going,"), said(4000, 5000, "well, home. Yes.")}, "I was going, well, home.|Yes."},
		{"carried label", []timedtext.Cue{said(0, 1000, "INES: One. Two"), said(1000, 2000, "and three.")}, "One.|Two and three."},
		{"japanese", []timedtext.Cue{said(0, 1000, "鐘が"), said(1000, 2000, "鳴る。誰も来ない。")}, "鐘が鳴る。|誰も来ない。"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			var got []string
			for _, q := range build(t, Source{Recording: reel(9000), Document: document(tt.cues...)}).Quotes {
				got = append(got, q.Text)
			}
			same(t, got, strings.Split(tt.want, "|"))
		})
	}
}

// People who talk over each other keep their own times; one person's cues
// that overlap are cut short.
func TestOverlap(t *testing.T) {
	doc := document(said(0, 10_000, "INES: You ring the bell and then you wait."), said(3000, 4000, "JOSS: Mm."), said(9000, 12_000, "INES: Nobody comes."))
	got := build(t, Source{Recording: reel(20_000), Document: doc})
	same(t, lines(got.Quotes), []string{
		"0-9000 INES share/share You ring the bell and then you wait.",
		"3000-4000 JOSS share/share Mm.",
		"9000-12000 INES share/share Nobody comes.",
	})
}

// Only beginnings of words are known: a word ends where the next begins.
func TestWordBeginnings(t *testing.T) {
	c := said(0, 3000, "It rings. Nobody comes.")
	for i, w := range []string{"It", "rings.", "Nobody", "comes."} {
		c.Lines[0][0].Words = append(c.Lines[0][0].Words, timedtext.Word{Text: w, Span: timecode.Span{In: timecode.FromMillis(int64(i) * 500), Out: timedtext.NoTime}})
	}
	got := build(t, Source{Recording: reel(9000), Document: document(c)})
	same(t, lines(got.Quotes), []string{"0-1000  words/words It rings.", "1000-3000  words/words Nobody comes."})
}

func TestRuns(t *testing.T) {
	c := timedtext.Cue{Span: span(0, 1000), Lines: []timedtext.Line{{
		{Text: "I "}, {Text: "be", Style: timedtext.Style{Italic: true}}, {Text: "lieve"}, {Text: " "}, {Text: "it."},
	}}}
	got := build(t, Source{Recording: reel(2000), Document: document(c)})
	if len(got.Quotes) != 1 || got.Quotes[0].Text != "I believe it." {
		t.Errorf("got %q, want one quote", lines(got.Quotes))
	}
}

func TestLoose(t *testing.T) {
	var cues []timedtext.Cue
	n := 0
	for i := int64(0); i < 20; i++ {
		var text []string
		for range 10 {
			n++
			text = append(text, fmt.Sprintf("word%d", n))
		}
		start := i*4000 + i/5*1000
		cues = append(cues, said(start, start+4000, strings.Join(text, " ")))
	}
	got := build(t, Source{Recording: reel(90000), Document: document(cues...)})
	for _, q := range got.Quotes {
		if n := len(strings.Fields(q.Text)); n > maxWords {
			t.Errorf("got %d words in one quote, want %d at most", n, maxWords)
		}
	}
	// Each gap of a second is a break.
	for _, i := range []int{51, 101, 151} {
		if !slices.ContainsFunc(got.Quotes, func(q story.Quote) bool { return strings.HasPrefix(q.Text, fmt.Sprintf("word%d ", i)) }) {
			t.Errorf("no quote begins at word %d, after a gap", i)
		}
	}
}

func TestEmpty(t *testing.T) {
	if _, err := Build(t.Context(), Source{}); err == nil {
		t.Error("no document: got no error")
	}
	got := build(t, Source{Recording: reel(1000), Document: document()})
	if len(got.Quotes) != 0 || len(got.Warnings) != 1 {
		t.Errorf("got %v, want one warning", got)
	}
}

func TestFindWord(t *testing.T) {
	tests := []struct {
		text, word string
		at, size   int
	}{
		{" rings. Then", "rings.", 1, 6},
		{" Is it I", "I", 7, 1},
		{" Bell, no", "bell", 1, 4},
		{" bell no", "bell,", 1, 4},
		{" “Bell”", "Bell", 4, 4},
		{"鐘が鳴る", "が", 3, 3},
		{" nothing", "bell", -1, 0},
		{" nothing", "--", -1, 0},
		{strings.Repeat("x ", 100) + "bell", "bell", -1, 0},
		{"", "bell", -1, 0},
		{"\xff bell", "bell", 2, 4},
	}
	for _, tt := range tests {
		if at, size := findWord(tt.text, tt.word); at != tt.at || size != tt.size {
			t.Errorf("%q in %q: got %d, %d, want %d, %d", tt.word, tt.text, at, size, tt.at, tt.size)
		}
	}
}

// Dashes say that the speaker changes: what is said behind them is not the
// named one's before, and the two don't run together.
func TestDashesChangeTheSpeaker(t *testing.T) {
	doc, err := timedtext.Read(strings.NewReader("1\n00:00:01,000 --> 00:00:02,000\nINES: I work here.\n\n2\n00:00:03,000 --> 00:00:05,000\n- Do you\n- Yes.\n"), timedtext.ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	res, err := Build(t.Context(), Source{Recording: story.Recording{Reel: "A", Duration: timecode.Minute}, Document: doc, Taken: func(story.Code) bool { return false }})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, q := range res.Quotes {
		got = append(got, q.Speaker+": "+q.Text)
	}
	if s := strings.Join(got, " | "); s != "INES: I work here. | : Do you | : Yes." {
		t.Errorf("got %q", s)
	}
}
