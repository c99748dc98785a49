package review

import (
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Passage is what one person says in one go: one or more neighbouring quotes.
type Passage struct {
	timecode.Span
	Reel, Speaker string
	Quotes        []story.Quote
}

// Quote joins a passage into one quote for Quotability: the code, reel and
// themes of the first, the text of all, from the first in to the last out.
func (p Passage) Quote() story.Quote { return story.Quote{} }

// PassageOptions says how quotes are joined; zero values take the defaults.
type PassageOptions struct {
	// Max is the longest passage, 25 s; a single longer quote stands alone.
	Max timecode.Ticks
	// Gap is the longest silence inside a passage, 2.5 s.
	Gap timecode.Ticks
}

// Passages groups neighbouring quotes of one speaker into passages, in order;
// each quote is in exactly one.
func Passages(quotes []story.Quote, opt PassageOptions) []Passage { return nil }
