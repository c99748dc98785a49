package subtitles

import (
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// Piece is one quote as it lies on the output's timeline.
type Piece struct {
	Quote story.Quote
	// At is where the In of Span lies on the output's timeline.
	At timecode.Ticks
	// Speech is the heard speech in the recording's own time, in order; nil
	// if nobody listened.
	Speech []timecode.Span
	// Span is the part of the recording that is used: the quote's own span,
	// or its trim. The zero Span means the whole quote.
	Span timecode.Span
}

// Draft makes subtitles. See the package comment for the method.
func Draft(pieces []Piece, lim Limits) (*timedtext.Document, []Finding, error) {
	doc := &timedtext.Document{Language: lim.Language, Base: lim.Base}
	for _, p := range pieces {
		s := p.Span
		if s == (timecode.Span{}) {
			s = p.Quote.Span
		}
		doc.Cues = append(doc.Cues, timedtext.Cue{Span: s.Shift(p.At - s.In), Lines: timedtext.Text(p.Quote.Text)})
	}
	return doc, Check(doc, lim), nil
}
