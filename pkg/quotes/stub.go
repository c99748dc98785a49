package quotes

import "rushlight/pkg/story"

// Carried is what became of old quotes.
type Carried struct {
	Quotes  []story.Quote
	Matched map[story.Code]story.Code
	Merged  []Merge
	Lost    []story.Quote
	Same    bool
}

// Merge is several old quotes that became one.
type Merge struct {
	Into story.Code
	From []story.Code
}

// Carry matches old quotes to new ones.
func Carry(old, new []story.Quote) Carried { return Carried{Quotes: new} }
