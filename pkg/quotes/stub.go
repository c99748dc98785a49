package quotes

import (
	"errors"

	"rushlight/pkg/story"
	"rushlight/pkg/timedtext"
)

// Range is a stretch of bytes of a text, end excluded.
type Range struct{ Start, End int }

// Build cuts a document into quotes.
func Build(src Source) (Result, error) { return Result{}, errors.New("quotes: not built yet") }

// Sentences finds the sentences of a text.
func Sentences(text, language string) []Range { return nil }

// Language finds the language of a transcript.
func Language(doc *timedtext.Document, declared string) string { return declared }

// Labels gives the transcript's speaker labels as turns.
func Labels(doc *timedtext.Document, rec story.Recording) []story.Turn { return nil }

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
