package timedtext

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"unicode"

	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"

	"rushlight/pkg/timecode"
)

var allFormats = []Format{SRT, WebVTT, TTML, STL, ASS, PlainText, JSON, CSV, DOCX, EBUTTD}

var (
	drawText = rapid.OneOf(
		rapid.SampledFrom([]string{
			"Nobody rings a bridge.", "So I said", "well – that's that…", "Ça va, señor Müller?", "5 < 6 & 7 > 3", "<i>not</i> slanted", "--> there", "{\\an8} brace",
			"00:00:01,000 --> 00:00:02,000", "42", "Note: nothing", "INES: hello", "- dash", "[0:23] inside", "# hash", "a \\N b", "„Zitat“ — so", "Колокол", "καμπάνα", "&amp; &lt;b&gt;", "WEBVTT", "NOTE x", "Ines:", "a, \"b\"; c", "…", "  two  spaces ", "€ 5",
		}),
		rapid.StringMatching(`[A-Za-z]{1,8}( [a-z<>&{}\\:,"']{1,9}){0,5}`),
		rapid.StringN(1, 20, 60),
	)
	drawSpeaker = rapid.SampledFrom([]string{"", "", "", "INES", "Ines Corrigan", "Joss", "SPEAKER_01", "wilf, the old", "Wilf & Petra <x>"})
	drawColour  = rapid.SampledFrom([]string{"", "", "", "yellow", "#12ab9f", "olive"})
)

func drawDoc(t *rapid.T) *Document {
	d := &Document{}
	if rapid.Bool().Draw(t, "head") {
		d.Title = rapid.SampledFrom([]string{"", "The Far Bank", "Fähre --> 2"}).Draw(t, "title")
		d.Language = rapid.SampledFrom([]string{"", "en", "de", "pt-BR"}).Draw(t, "language")
		d.Comments = rapid.SliceOfN(rapid.SampledFrom([]string{"first day", "two\nlines", "a --> b", "# x"}), 0, 3).Draw(t, "comments")
	}
	if rapid.Bool().Draw(t, "based") {
		d.Base = rapid.SampledFrom([]timecode.Base{{Rate: timecode.Rate25}, {Rate: timecode.Rate2997, Drop: true}, {Rate: timecode.Rate30}}).Draw(t, "base")
		d.Labels = rapid.Bool().Draw(t, "labels")
	}
	at := timecode.Ticks(0)
	unit := rapid.SampledFrom([]timecode.Ticks{timecode.Second / 5, timecode.Millisecond, timecode.Second, 1}).Draw(t, "unit")
	for range rapid.IntRange(1, 5).Draw(t, "cues") {
		at += timecode.Ticks(rapid.IntRange(0, 20_000).Draw(t, "gap")) * unit
		c := Cue{Span: timecode.Span{In: at, Out: at + timecode.Ticks(rapid.IntRange(1, 9000).Draw(t, "length"))*unit}}
		c.OpenEnd = rapid.IntRange(0, 9).Draw(t, "open") == 0
		if rapid.IntRange(0, 5).Draw(t, "id") == 0 {
			c.ID = rapid.SampledFrom([]string{"x1", "7", "a b", "a-->b"}).Draw(t, "name")
		}
		at++
		for range rapid.IntRange(1, 3).Draw(t, "lines") {
			var l Line
			for range rapid.IntRange(1, 3).Draw(t, "runs") {
				r := Run{Text: drawText.Draw(t, "text"), Speaker: drawSpeaker.Draw(t, "speaker")}
				r.Style = Style{Italic: rapid.Bool().Draw(t, "i"), Bold: rapid.IntRange(0, 3).Draw(t, "b") == 0, Underline: rapid.IntRange(0, 3).Draw(t, "u") == 0, Colour: drawColour.Draw(t, "colour")}
				if len(l) == 0 && rapid.IntRange(0, 4).Draw(t, "dash") == 0 {
					r.Dash = true
				}
				l = append(l, r)
			}
			c.Lines = append(c.Lines, l)
		}
		d.Cues = append(d.Cues, c)
	}
	return d
}

// tame keeps of a document what a format can carry.
func tame(t *rapid.T, d *Document, f Format) {
	unit := map[Format]timecode.Ticks{SRT: timecode.Millisecond, WebVTT: timecode.Millisecond, EBUTTD: timecode.Millisecond, PlainText: timecode.Millisecond, ASS: centisecond, STL: timecode.Second / 5}[f]
	if f != JSON && f != STL && f != PlainText && f != DOCX {
		d.Labels = false
	}
	if f != TTML && f != JSON && f != STL && f != DOCX || f == TTML && d.Base.Drop {
		d.Base, d.Labels = timecode.Base{}, false
	}
	if f == STL && d.Base.Drop {
		d.Base = at25
	}
	d.Title = "The Far Bank"
	d.Comments = []string{"first day", "two lines"}
	d.Language = "en"
	if f == SRT || f == CSV || f == PlainText {
		d.Title, d.Language = "", ""
	}
	if f == SRT || f == CSV {
		d.Comments = nil
	}
	if f == WebVTT {
		d.Language = ""
	}
	hasOpen := f == TTML || f == JSON || f == PlainText || f == CSV || f == DOCX || f == EBUTTD
	for i := range d.Cues {
		c := &d.Cues[i]
		c.ID = ""
		if unit > 0 {
			c.In, c.Out = c.In/unit*unit, c.Out/unit*unit+unit
		}
		c.OpenEnd = c.OpenEnd && hasOpen
		for j := range c.Lines {
			tameLine(t, c, j, f)
		}
	}
}

func tameLine(t *rapid.T, c *Cue, j int, f Format) {
	l := c.Lines[j]
	if f == SRT || f == STL || f == PlainText || f == CSV || f == ASS {
		l = l[:1] // one speaker in a line
	}
	who := rapid.SampledFrom([]string{"INES", "Ines Corrigan", "SPEAKER 1", "Dr. O'Hara"}).Draw(t, "who")
	if f == CSV || f == ASS {
		who = "Ines Corrigan"
	}
	dash := c.Lines[0][0].Dash
	for k := range l {
		r := &l[k]
		r.Text = rapid.StringMatching(`[a-zäöü]{1,8}( [a-z,.?<>&{}"']{1,8}){0,4}[.?!]`).Draw(t, "tame")
		r.Speaker, r.Dash = who, false
		if dash {
			r.Speaker, r.Dash = "", k == 0
		}
		switch f {
		case CSV, PlainText:
			r.Style = Style{}
		case STL:
			r.Style.Bold, r.Style.Colour = false, ""
		case ASS, DOCX, EBUTTD:
			if !strings.HasPrefix(r.Style.Colour, "#") {
				r.Style.Colour = ""
			}
		case WebVTT:
			if r.Style.Colour != "yellow" {
				r.Style.Colour = ""
			}
		}
	}
	c.Lines[j] = l
}

// settled is the document as a reader would leave it.
func settled(d *Document) *Document {
	w := &writer{count: map[string]int{}}
	w.prepare(d)
	out := w.doc
	for i := range out.Cues {
		if out.Cues[i].OpenEnd {
			out.Cues[i].Out = NoTime
		}
	}
	closeEnds(out.Cues)
	for i := range out.Cues {
		c := &out.Cues[i]
		c.Settings, c.Line, c.Byte = nil, 0, 0
	}
	return out
}

// What we write we read back, except for what Write says is lost.
func TestRoundTrip(t *testing.T) {
	for _, f := range allFormats {
		t.Run(string(f), func(t *testing.T) {
			whole, all := 0, 0
			rapid.Check(t, func(t *rapid.T) {
				d := drawDoc(t)
				if calm := rapid.Bool().Draw(t, "calm"); calm {
					tame(t, d, f)
				}
				all++
				if roundTrip(t, d, f) {
					whole++
				}
			})
			t.Logf("%d of %d documents without any loss", whole, all)
			if whole < all/4 {
				t.Errorf("got %d of %d documents without any loss: the test tells too little", whole, all)
			}
		})
	}
}

// roundTrip writes and reads one document; whole tells that nothing was lost.
func roundTrip(t *rapid.T, d *Document, f Format) (whole bool) {
	opt := WriteOptions{}
	if f == STL && !d.Base.Rate.Known() {
		opt.Base = at25
	}
	var b bytes.Buffer
	lost, err := Write(&b, d, f, opt)
	if f == STL && err != nil && strings.Contains(err.Error(), "does not have") {
		return false // drawn from another script: refused, see TestSTLRefusesOtherScripts
	}
	if err != nil {
		t.Fatalf("write: %v", err)
	}
	base := d.Base
	if !base.Rate.Known() {
		base = opt.Base
	}
	got, err := Read(bytes.NewReader(b.Bytes()), ReadOptions{Base: base, As: f})
	want := settled(d)
	if len(want.Cues) == 0 {
		return false
	}
	if err != nil {
		t.Fatalf("read: %v\n%s", err, b.String())
	}
	wordsKept(t, want, got, lost, b.String())
	if len(lost) > 0 {
		return false
	}
	// Text that looks like markup is written as references.
	if len(got.Repairs) > 0 && !(f == SRT && len(got.Repairs) == 1 && strings.HasPrefix(got.Repairs[0].What, "character references")) {
		t.Fatalf("repairs of our own file: %v\n%s", got.Repairs, b.String())
	}
	same(t, want, got, b.String())
	return true
}

// wordsKept checks that every letter of the text comes back, whatever else is
// lost, unless characters were replaced.
func wordsKept(t *rapid.T, want, got *Document, lost []string, file string) {
	for _, l := range lost {
		if strings.HasPrefix(l, lostCharacter) || strings.HasPrefix(l, "times inside") || got.Format == PlainText && strings.HasPrefix(l, lostLabels) {
			return
		}
	}
	left := bag(want, false)
	for x, n := range bag(got, true) {
		left[x] -= n
	}
	for x, n := range left {
		if n > 0 {
			t.Fatalf("%d of letter %q lost\n%s\nlost: %v", n, x, file, lost)
		}
	}
}

// bag counts the letters of the text, and where asked those of the speakers.
func bag(d *Document, speakers bool) map[rune]int {
	n := map[rune]int{}
	for _, c := range d.Cues {
		for _, l := range c.Lines {
			for _, r := range l {
				s := r.Text
				if speakers {
					s += r.Speaker
				}
				for _, x := range norm.NFD.String(s) {
					if unicode.IsLetter(x) {
						n[x]++
					}
				}
			}
		}
	}
	return n
}

func same(t *rapid.T, want, got *Document, file string) {
	if len(got.Cues) != len(want.Cues) {
		t.Fatalf("got %d cues, want %d\n%s", len(got.Cues), len(want.Cues), file)
	}
	for i := range want.Cues {
		g, w := got.Cues[i], want.Cues[i]
		if g.Span != w.Span || g.OpenEnd != w.OpenEnd {
			t.Fatalf("cue %d: got %v open %v, want %v open %v\n%s", i, g.Span, g.OpenEnd, w.Span, w.OpenEnd, file)
		}
		if w.ID != "" && g.ID != w.ID {
			t.Fatalf("cue %d: got id %q, want %q\n%s", i, g.ID, w.ID, file)
		}
		if !reflect.DeepEqual(plainRuns(g.Lines), plainRuns(w.Lines)) {
			t.Fatalf("cue %d: got %+v\nwant %+v\n%s", i, g.Lines, w.Lines, file)
		}
	}
	if got.Title != want.Title || got.Language != want.Language || !slices.Equal(got.Comments, want.Comments) {
		t.Fatalf("head: got %q %q %q, want %q %q %q\n%s", got.Title, got.Language, got.Comments, want.Title, want.Language, want.Comments, file)
	}
	if want.Labels != got.Labels && got.Format != STL {
		t.Fatalf("labels: got %v, want %v\n%s", got.Labels, want.Labels, file)
	}
}

func plainRuns(lines []Line) string {
	var b strings.Builder
	for _, l := range lines {
		for _, r := range l {
			fmt.Fprintf(&b, "[%q %q %v %v %v]", r.Text, r.Speaker, r.Dash, r.Style, r.Words)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

// Word times come back from the formats that have them: WebVTT their beginnings,
// JSON all of them.
func TestRoundTripWords(t *testing.T) {
	for _, f := range []Format{WebVTT, JSON} {
		t.Run(string(f), func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				at := timecode.FromMillis(rapid.Int64Range(0, 100_000).Draw(t, "in"))
				c := Cue{Span: timecode.Span{In: at}}
				for range rapid.IntRange(1, 2).Draw(t, "lines") {
					var l Line
					for k := range rapid.IntRange(1, 2).Draw(t, "runs") {
						r := Run{Speaker: "Ines", Style: Style{Italic: k == 1}}
						for range rapid.IntRange(2, 4).Draw(t, "words") {
							w := Word{Text: rapid.StringMatching(`[a-z<&]{1,5}`).Draw(t, "word"), Span: timecode.Span{In: at, Out: NoTime}}
							at += timecode.FromMillis(rapid.Int64Range(1, 900).Draw(t, "length"))
							if f == JSON {
								w.Out = at
							}
							r.Words = append(r.Words, w)
							r.Text += w.Text + " "
						}
						l = append(l, r)
					}
					last := &l[len(l)-1]
					last.Text = strings.TrimSpace(last.Text)
					c.Lines = append(c.Lines, l)
				}
				c.Out = at + timecode.Second
				d := &Document{Cues: []Cue{c}}
				if !roundTrip(t, d, f) {
					t.Fatalf("word times lost: %v", plainRuns(c.Lines))
				}
			})
		})
	}
}
