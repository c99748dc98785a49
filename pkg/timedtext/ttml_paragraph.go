package timedtext

import (
	"strings"

	"rushlight/pkg/timecode"
)

// ttmlPiece is a stretch of text with its interval.
type ttmlPiece struct {
	span timecode.Span
	text string
	br   bool
	keep bool
	run  Run
}

// paragraph makes cues of the paragraph that ends: one for each interval that
// text in it has of its own.
func (t *ttmlReader) paragraph() {
	spans, pieces := bySpan(t.pieces)
	for _, span := range spans {
		c := Cue{ID: t.p.id, Span: span, OpenEnd: span.Out == NoTime, Line: t.pLine}
		if t.p.region != "" {
			c.set("region", t.p.region)
		}
		if a := t.p.style.align; a != "" {
			c.set("align", a)
		}
		c.Lines = ttmlLines(pieces[span], span)
		if len(c.Lines) == 0 {
			continue
		}
		if !c.OpenEnd && c.Out <= c.In {
			t.repair(c.Line, "text that is never shown by the times around it: kept as a comment")
			t.doc.Comments = append(t.doc.Comments, c.Plain())
			continue
		}
		if t.p.lost != nil {
			t.slip(len(t.doc.Cues), t.p.lost)
		}
		t.doc.Cues = append(t.doc.Cues, c)
	}
}

// bySpan parts pieces by their intervals, in order of the first that has text,
// with the line breaks that stand between pieces of one interval.
func bySpan(all []ttmlPiece) (spans []timecode.Span, pieces map[timecode.Span][]ttmlPiece) {
	pieces = map[timecode.Span][]ttmlPiece{}
	said := map[timecode.Span]bool{}
	breaks := 0
	seen := map[timecode.Span]int{} // the breaks that stood before its last piece
	for _, p := range all {
		if p.br {
			breaks++
			continue
		}
		list := pieces[p.span]
		if len(list) > 0 && seen[p.span] < breaks {
			list = append(list, ttmlPiece{br: true})
		}
		pieces[p.span], seen[p.span] = append(list, p), breaks
		if !blank(p.text) && !said[p.span] {
			said[p.span] = true
			spans = append(spans, p.span)
		}
	}
	return spans, pieces
}

// ttmlLines makes lines of the pieces with one interval. White space is
// collapsed unless xml:space says preserve; then a line feed breaks the line.
func ttmlLines(pieces []ttmlPiece, span timecode.Span) []Line {
	b := newRuns()
	space := true // the last character was a space, or the line is new
	for _, p := range pieces {
		if p.br {
			b.add("\n")
			space = true
			continue
		}
		b.style, b.speaker = p.run.Style, p.run.Speaker
		if p.keep {
			b.add(p.text)
			space = strings.HasSuffix(p.text, "\n")
			continue
		}
		var out strings.Builder
		for _, r := range p.text {
			if r == ' ' || r == '\t' || r == '\n' || r == '\r' {
				if !space {
					out.WriteByte(' ')
				}
				space = true
				continue
			}
			space = false
			out.WriteRune(r)
		}
		b.add(out.String())
	}
	lines := tidy(b.done(span.In))
	for i := range lines {
		lines[i], _ = trimEnds(lines[i])
	}
	return lines
}
