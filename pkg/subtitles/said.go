package subtitles

import "rushlight/pkg/timecode"

// Said is what is said in the part of the recording that a piece uses: the
// quote's text, or the words that a trim leaves of it, with "…" where words are
// cut away. Without word times the words are an estimate, see Draft. It is
// empty where the trim leaves none.
func (p Piece) Said() string {
	all := tokenize(p.Quote.Text)
	p.At = 0
	kept := p.timed(grammarOf(p.Quote.Language))
	if len(kept) == len(all) {
		return p.Quote.Text
	}
	if len(kept) == 0 {
		return ""
	}
	text := joined(kept)
	used := p.used()
	first := p
	first.Span = timecode.Span{In: min(p.Quote.In, used.In), Out: used.Out}
	if len(first.timed(grammarOf(p.Quote.Language))) > len(kept) {
		text = "… " + text
	}
	last := p
	last.Span = timecode.Span{In: used.In, Out: max(p.Quote.Out, used.Out)}
	if len(last.timed(grammarOf(p.Quote.Language))) > len(kept) {
		text += " …"
	}
	return text
}
