package themes

import (
	"cmp"
	"context"
	"iter"
	"slices"
	"strings"

	"rushlight/pkg/story"
)

// Options say what is looked for.
type Options struct {
	// Limit is the most terms wanted: 0 means 20, less than 0 all.
	Limit int
	// Language is the BCP 47 tag of quotes that have none of their own.
	Language string
	// AskerOf names the speaker who asks in a reel, "" if nobody does. Where
	// it is nil, who asks is inferred: see askers.go.
	AskerOf func(reel string) string
	// Reel, if set, ranks by what sets this reel apart from the others.
	Reel string
	// By, if set, asks for a list for every speaker, reel or day: "speaker",
	// "reel" or "day".
	By string
	// Late asks for what only emerged in the last sessions: see late.go.
	Late bool
}

const defaultLimit = 20

// minCount is how often a term must be said to count as coming back.
const minCount = 3

// Recurring finds the words and phrases that keep coming back, best first.
//
// Count is every occurrence, whoever says it. Keyness is the smaller of two
// log-likelihoods, against everyday language and against the other reels (the
// only one there is where a reference or a second reel is missing). Dispersion
// is Gries' normalised deviation of proportions over the reels: 0 spread
// evenly, 1 all in the smallest. The order is that of keyness, weighed by who
// says it and when: see rank. Fewer than three occurrences are never listed;
// no quotes give an empty list.
func Recurring(ctx context.Context, quotes iter.Seq2[story.Quote, error], opt Options) ([]story.Recurring, error) {
	c, err := read(ctx, quotes, opt.Language)
	if err != nil {
		return nil, err
	}
	c.findAskers(opt.AskerOf)
	terms := c.candidates()
	c.gather(terms)
	ranked := c.rank(terms, opt.Reel)
	limit := opt.Limit
	if limit == 0 {
		limit = defaultLimit
	}
	if limit > 0 && len(ranked) > limit {
		ranked = ranked[:limit]
	}
	best := c.bestQuotes(ranked)
	out := make([]story.Recurring, len(ranked))
	for i, t := range ranked {
		out[i] = c.describe(t)
		out[i].Quotes = best[i]
	}
	return out, nil
}

// describe puts a term in the form that others read.
func (c *corpus) describe(t *term) story.Recurring {
	r := story.Recurring{
		Term: c.name(t), Count: t.count, Keyness: t.keyness,
		Dispersion: DPNorm(t.perReel(len(c.reels)), c.reelWords()),
		First:      c.quotes[t.first].code,
		Forms:      c.formsOf(t),
		Reels:      []string{}, Speakers: []string{},
	}
	for _, reel := range c.byTime {
		if t.at(reel) != nil {
			r.Reels = append(r.Reels, c.reels[reel].name)
		}
	}
	for s := range t.perSpeaker {
		if c.speakers.names[s] != "" {
			r.Speakers = append(r.Speakers, c.speakers.names[s])
		}
	}
	slices.SortFunc(r.Speakers, func(a, b string) int {
		return cmp.Or(cmp.Compare(t.perSpeaker[c.speakers.at[b]], t.perSpeaker[c.speakers.at[a]]), strings.Compare(a, b))
	})
	return r
}
