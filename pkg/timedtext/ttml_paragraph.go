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
	var spans []timecode.Span
	seen := map[timecode.Span]bool{}
	for _, p := range t.pieces {
		if !p.br && !blank(p.text) && !seen[p.span] {
			seen[p.span] = true
			spans = append(spans, p.span)
		}
	}
	for _, span := range spans {
		c := Cue{ID: t.p.id, Span: span, OpenEnd: span.Out == NoTime, Line: t.pLine}
		if t.p.region != "" {
			c.set("region", t.p.region)
		}
		if a := t.p.style.align; a != "" {
			c.set("align", a)
		}
		c.Lines = ttmlLines(t.pieces, span)
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

// ttmlLines makes lines of the pieces with one interval. White space is
// collapsed unless xml:space says preserve; then a line feed breaks the line.
func ttmlLines(pieces []ttmlPiece, span timecode.Span) []Line {
	b := newRuns()
	space := true // the last character was a space, or the line is new
	for _, p := range pieces {
		switch {
		case p.br:
			b.add("\n")
			space = true
			continue
		case p.span != span:
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
