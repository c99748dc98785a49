package themes

import (
	"context"
	"iter"

	"rushlight/pkg/story"
)

// Options say what is looked for.
type Options struct {
	// Limit is the most terms wanted of each list: 0 means 20, less than 0 all,
	// then also the phrases that stand under a word.
	Limit int
	// Language is the BCP 47 tag of quotes that have none of their own.
	Language string
	// AskerOf names the speaker who asks in a reel, "" if nobody does. Where
	// it is nil, who asks is inferred: see askers.go.
	AskerOf func(reel string) string
	// Bases, if set, gives words that a word may be a form of although
	// stemming leaves them apart; whether they are words needn't be known.
	Bases func(language, word string) []string
	// Related, if set, gives the synonyms of a word in a language.
	Related func(language, word string) []string
	// Reel, if set, ranks by what sets this reel apart from the others.
	Reel string
	// By, if set, asks for a list for every speaker, reel or day: "speaker",
	// "reel" or "day".
	By string
	// Late asks for what only emerged in the last days of the shoot, in place of the
	// list of all talk or of Reel: see late.go.
	Late bool
}

const defaultLimit = 20

// minCount is how often a term must be said to count as coming back.
const minCount = 3

// Recurring finds the words and phrases that keep coming back, best first: the
// list of Find in its short form.
func Recurring(ctx context.Context, quotes iter.Seq2[story.Quote, error], opt Options) ([]story.Recurring, error) {
	found, err := Find(ctx, quotes, opt)
	if err != nil {
		return nil, err
	}
	out := make([]story.Recurring, len(found.Recurring))
	for i, c := range found.Recurring {
		out[i] = c.Recurring
	}
	return out, nil
}
