package subtitles

import (
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

var bases = []timecode.Base{
	{}, {Rate: timecode.Rate23976}, {Rate: timecode.Rate25}, {Rate: timecode.Rate2997}, {Rate: timecode.Rate2997, Drop: true}, {Rate: timecode.Rate50},
}

func anyLimits(t *rapid.T) Limits {
	lim := DefaultLimits(rapid.SampledFrom([]string{"en", "de", "fr", "ja", "pl", ""}).Draw(t, "language"))
	lim.Base = rapid.SampledFrom(bases).Draw(t, "base")
	lim.Gap = rapid.Int64Range(0, 6).Draw(t, "gap")
	lim.LineLength = rapid.SampledFrom([]int{0, 20, 32, 37, 40, 42}).Draw(t, "line length")
	lim.Lines = rapid.IntRange(0, 3).Draw(t, "lines")
	return lim
}

// anyTalk is up to eight pieces of two people who may talk at once, with or
// without heard speech and word times.
func anyTalk(t *rapid.T) []Piece {
	word := rapid.StringMatching(`[a-zA-Z']{1,9}|the|of|and|bell|鐘を鳴らす|[0-9]{1,3}`)
	sign := rapid.SampledFrom([]string{"", "", "", "", ",", ".", "?", " –", "…"})
	var out []Piece
	at := timecode.Ticks(0)
	for range rapid.IntRange(0, 8).Draw(t, "pieces") {
		var text []string
		for range rapid.IntRange(0, 30).Draw(t, "words") {
			text = append(text, word.Draw(t, "word")+sign.Draw(t, "sign"))
		}
		who := rapid.SampledFrom([]string{"Ines", "Joss"}).Draw(t, "speaker")
		if who == "Joss" { // so that no word can be taken for Ines's
			for i := range text {
				text[i] = "j" + text[i]
			}
		} else {
			for i := range text {
				text[i] = "i" + text[i]
			}
		}
		in := at + timecode.FromMillis(rapid.Int64Range(-1500, 3000).Draw(t, "wait"))
		in = max(in, 0)
		q := story.Quote{Reel: "D2-INT2", Speaker: who, Text: strings.Join(text, " ")}
		q.Span = timecode.Span{In: in, Out: in + timecode.FromMillis(rapid.Int64Range(0, 9000).Draw(t, "length"))}
		p := Piece{Quote: q, At: in}
		if rapid.Bool().Draw(t, "heard") {
			mid := q.Middle()
			p.Speech = []timecode.Span{{In: in - timecode.Second, Out: mid}, {In: mid + 300*timecode.Millisecond, Out: q.Out + timecode.Second}}
		}
		if rapid.Bool().Draw(t, "timed") && len(text) > 0 {
			step := q.Length() / timecode.Ticks(len(text))
			for i, w := range text {
				w0 := in + step*timecode.Ticks(i)
				p.Quote.Words = append(p.Quote.Words, story.Word{Text: w, Span: timecode.Span{In: w0, Out: w0 + step}})
			}
		}
		out = append(out, p)
		at = q.Out
	}
	return out
}

// bySpeaker gathers what each person says.
func bySpeaker(pieces []Piece) map[string]string {
	all := map[string][]string{}
	for _, p := range pieces {
		all[p.Quote.Speaker] = append(all[p.Quote.Speaker], strings.Fields(p.Quote.Text)...)
	}
	out := map[string]string{}
	for s, w := range all {
		out[s] = strings.Join(w, "")
	}
	return out
}

func TestDraftKeepsEveryWordInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lim := anyLimits(t)
		// One speaker's pieces must not overlap each other, else their order
		// is not defined.
		pieces := anyTalk(t)
		last := map[string]timecode.Ticks{}
		for i := range pieces {
			p := &pieces[i]
			if by := last[p.Quote.Speaker] - p.Quote.In; by > 0 {
				shift(p, by)
			}
			last[p.Quote.Speaker] = p.Quote.Out + 1
		}
		doc, _, err := Draft(pieces, lim)
		if err != nil {
			t.Fatal(err)
		}
		// Every speaker's words must be there in their order, and no others:
		// take the draft apart by following each speaker's own words.
		rest := bySpeaker(pieces)
		for _, c := range doc.Cues {
			for _, l := range c.Lines {
				text := strings.Join(strings.Fields(l.Plain()), "")
				who := nextToSay(rest, text)
				if who == "" {
					t.Fatalf("nobody says %q next; left: %q\n%s", text, rest, show(doc, nil))
				}
				rest[who] = strings.TrimPrefix(rest[who], text)
			}
		}
		for s, left := range rest {
			if left != "" {
				t.Fatalf("%s also says %q, and no cue does\n%s", s, left, show(doc, nil))
			}
		}
	})
}

// nextToSay is the speaker whose words go on with text.
func nextToSay(rest map[string]string, text string) string {
	for s, left := range rest {
		if strings.HasPrefix(left, text) {
			return s
		}
	}
	return ""
}

func shift(p *Piece, by timecode.Ticks) {
	p.At += by
	p.Quote.Span = p.Quote.Shift(by)
	for i := range p.Speech {
		p.Speech[i] = p.Speech[i].Shift(by)
	}
	for i := range p.Quote.Words {
		p.Quote.Words[i].Span = p.Quote.Words[i].Shift(by)
	}
}

// TestDraftKeepsTheLimits measures drafts with arithmetic of its own: what is
// always kept, and what must be a finding where it is not.
func TestDraftKeepsTheLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lim := anyLimits(t)
		doc, found, err := Draft(anyTalk(t), lim)
		if err != nil {
			t.Fatal(err)
		}
		named := map[int]map[string]bool{}
		for _, f := range found {
			if named[f.Cue] == nil {
				named[f.Cue] = map[string]bool{}
			}
			named[f.Cue][f.Rule] = true
			if f.Severity == Wrong {
				t.Fatalf("a draft has %s\n%s", f, show(doc, found))
			}
		}
		frame := timecode.PerSecond / 25
		if lim.Base.Rate.Known() {
			frame = lim.Base.Rate.Ticks(1)
		}
		for i, c := range doc.Cues {
			if c.Length() < lim.MinDuration || c.Length() > lim.MaxDuration {
				t.Fatalf("cue %d stands %s\n%s", i+1, c.Length(), show(doc, found))
			}
			if i > 0 && c.In < doc.Cues[i-1].Out+frame*timecode.Ticks(lim.Gap) {
				t.Fatalf("cue %d too near\n%s", i+1, show(doc, found))
			}
			if r := lim.Base.Rate; r.Known() && (r.Snap(c.In, timecode.Nearest) != c.In || r.Snap(c.Out, timecode.Nearest) != c.Out) {
				t.Fatalf("cue %d off the frame\n%s", i+1, show(doc, found))
			}
			if lim.Lines > 0 && len(c.Lines) > lim.Lines {
				t.Fatalf("cue %d has %d lines\n%s", i+1, len(c.Lines), show(doc, found))
			}
			chars := 0
			for _, l := range c.Lines {
				w := width(l.Plain(), lim.Language)
				chars += width(l.Plain()+" ", lim.Language)
				if lim.LineLength > 0 && w > lim.LineLength && !named[i+1][RuleLineLength] {
					t.Fatalf("cue %d has a line of %d and no finding\n%s", i+1, w, show(doc, found))
				}
			}
			if float64(chars-2) > (lim.ReadingSpeed+0.1)*c.Length().Seconds()+1 && !named[i+1][RuleSpeed] {
				t.Fatalf("cue %d is too fast and no finding says so\n%s", i+1, show(doc, found))
			}
		}
	})
}

// TestCheckOfDraftAgrees: a draft reports what a later check of it finds.
func TestCheckOfDraftAgrees(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lim := anyLimits(t)
		doc, found, err := Draft(anyTalk(t), lim)
		if err != nil {
			t.Fatal(err)
		}
		var own []Finding
		for _, f := range found {
			if !strings.Contains(f.What, "after its speech") {
				own = append(own, f)
			}
		}
		again := Check(doc, lim)
		if len(own) != len(again) {
			t.Fatalf("draft says %v, check says %v", own, again)
		}
		for i := range own {
			if own[i] != again[i] {
				t.Fatalf("draft says %s, check says %s", own[i], again[i])
			}
		}
	})
}
