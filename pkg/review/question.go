package review

import (
	"rushlight/pkg/story"
)

// Kind is how a question is built; "" is none.
type Kind string

// The kinds of question.
const (
	// Closed asks for yes or no by word order: "Do you hate it?"
	Closed Kind = "closed"
	// Open asks with a question word: "Where would you start it?"
	Open Kind = "open"
	// Choice offers what to choose from: "Is it progress, or is it a loss?"
	Choice Kind = "choice"
	// Declarative asks in the word order of a statement: "You go across?"
	Declarative Kind = "declarative"
	// Tag is a statement with a question hung on: "It's the end, isn't it?"
	Tag Kind = "tag"
)

// AsksFrom is the score from which a saying counts as a question.
const AsksFrom = 0.5

// Question is a saying that asks.
type Question struct {
	Quote story.Quote
	Kind  Kind
	// Leading tells that it puts its answer into the other's mouth: a tag, a
	// negated question, "you must be", "would you say".
	Leading bool
	// Score is how sure it is, from AsksFrom to 1.
	Score float64
	// Why names what told it, for people: "ends in ?", "word order".
	Why string
}

// Questions finds the sayings that ask, in the order given. Quotes of one reel
// stand together and in order; the saying before and after helps to tell.
// Sayings are judged with or without punctuation.
func Questions(quotes []story.Quote) []Question { return nil }

// IsQuestion judges one saying alone: its kind, "" for none, and how sure it
// is, 0 to 1. The language is a BCP 47 tag; "" and those without rules of
// their own (en, de, fr, es, nl, it, pt have) go by the question mark alone.
func IsQuestion(text, language string) (Kind, float64) { return "", 0 }
