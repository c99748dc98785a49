package themes

import (
	"cmp"
	"context"
	"fmt"
	"iter"
	"slices"
	"strings"

	"rushlight/pkg/story"
)

// Find finds what keeps coming back, best first, with all that is known of
// each.
//
// Count is every occurrence, whoever says it. Keyness is the smaller of two
// log-likelihoods, against everyday language and against the other reels (the
// only one there is where a reference or a second reel is missing; the plain
// count where both are). Dispersion is Gries' normalised deviation of
// proportions over the reels: 0 spread evenly, 1 all in the smallest. What is
// said less than three times, or no more than in everyday talk, is never
// listed.
//
// Quotes are streamed once, in any order; the talk is kept as a number per
// word, about 4 bytes. No quotes, or nothing that comes back, give an empty
// list. Errors are those of the stream, of the context, and ErrOption.
func Find(ctx context.Context, quotes iter.Seq2[story.Quote, error], opt Options) (Found, error) {
	switch opt.By {
	case "", BySpeaker, ByReel, ByDay:
	default:
		return Found{}, fmt.Errorf("%w: by %q: want speaker, reel or day", ErrOption, opt.By)
	}
	c, err := read(ctx, quotes, opt.Language, opt.Bases)
	if err != nil {
		return Found{}, err
	}
	c.related = opt.Related
	c.findAskers(opt.AskerOf)
	terms := c.candidates()
	c.gather(terms)
	if err := ctx.Err(); err != nil {
		return Found{}, err
	}
	out := c.found()
	lists := c.lists(terms, opt, &out)
	heard := c.hear(termsOf(lists))
	late := c.byLate()
	for i, l := range lists {
		if err := ctx.Err(); err != nil {
			return Found{}, err
		}
		cs := make([]Candidate, len(l.ranked))
		for k, r := range l.ranked {
			cs[k] = c.describe(r, heard[r.term], l, late)
			cs[k].Place = k + 1
		}
		if i == 0 {
			out.Recurring = cs
			continue
		}
		out.Lists = append(out.Lists, List{
			By: l.view.by, Value: l.view.names[l.target], Words: l.words, Recurring: cs,
		})
	}
	return out, ctx.Err()
}

// found says what was gone over.
func (c *corpus) found() Found {
	out := Found{Recurring: []Candidate{}, Reels: []string{}, Quotes: len(c.quotes), Words: len(c.tokens), Languages: []Language{}}
	for _, r := range c.byTime {
		out.Reels = append(out.Reels, c.reels[r].name)
	}
	for _, l := range c.langs {
		if l.words > 0 {
			out.Languages = append(out.Languages, Language{Tag: l.name, Words: l.words, Reference: l.source()})
		}
	}
	slices.SortFunc(out.Languages, func(a, b Language) int {
		return cmp.Or(cmp.Compare(b.Words, a.Words), strings.Compare(a.Tag, b.Tag))
	})
	for _, l := range out.Languages {
		if l.Reference == "" {
			out.Notes = append(out.Notes, fmt.Sprintf(
				"no list of everyday language for %q: what is said in it is ranked by contrast inside the talk alone",
				cmp.Or(l.Tag, "unknown")))
		}
	}
	return out
}

// list is one list of terms: what a group of a view says, or all (−1).
type list struct {
	view   *view
	target int32
	words  int
	ranked []*ranked
}

// lists ranks all the lists that are wanted; the first is that of all talk.
func (c *corpus) lists(terms []*term, opt Options, out *Found) []list {
	limit := opt.Limit
	if limit == 0 {
		limit = defaultLimit
	}
	cut := func(terms []*term, v *view, target int32) []*ranked {
		r := c.rank(terms, v, target, limit < 0)
		if limit > 0 && len(r) > limit {
			r = r[:limit]
		}
		return r
	}
	first := list{view: c.byReel(), target: -1}
	switch at, known := c.reelAt[opt.Reel]; {
	case opt.Late:
		if v := c.byLate(); v != nil {
			first = list{view: v, target: inLast}
			first.ranked = cut(terms, v, inLast)
			break
		}
		out.Notes = append(out.Notes, "only one day or reel was recorded: nothing can have emerged late")
	case opt.Reel != "" && !known:
		out.Notes = append(out.Notes, fmt.Sprintf("reel %s has no words", opt.Reel))
	case opt.Reel != "":
		first.target = at
		first.ranked = cut(terms, first.view, at)
	default:
		first.ranked = cut(terms, first.view, -1)
	}
	all := []list{first}
	var v *view
	switch opt.By {
	case BySpeaker:
		v = c.bySpeaker()
	case ByReel:
		v = c.byReel()
	case ByDay:
		v = c.byDay()
	default:
		return all
	}
	said := v.said(terms)
	for _, g := range c.groups(v) {
		if c.ctx.Err() != nil {
			break
		}
		all = append(all, list{v, g, c.wordsOf(v, g), cut(said[g], v, g)})
	}
	return all
}

// groups lists the groups of a view that have a name and words: speakers by
// how much they say, reels and days in the order of shooting.
func (c *corpus) groups(v *view) []int32 {
	var groups []int32
	for g, name := range v.names {
		if name != "" && v.words[g] > 0 {
			groups = append(groups, int32(g))
		}
	}
	switch v.by {
	case BySpeaker:
		slices.SortFunc(groups, func(a, b int32) int {
			return cmp.Or(cmp.Compare(v.words[b], v.words[a]), strings.Compare(v.names[a], v.names[b]))
		})
	case ByReel:
		slices.SortFunc(groups, func(a, b int32) int {
			return cmp.Compare(slices.Index(c.byTime, a), slices.Index(c.byTime, b))
		})
	}
	return groups
}

// wordsOf counts the words of a group.
func (c *corpus) wordsOf(v *view, group int32) int {
	n := int32(0)
	for _, q := range c.quotes {
		if v.holds(q) == group {
			n += q.end - q.start
		}
	}
	return int(n)
}

func termsOf(lists []list) []*term {
	var terms []*term
	seen := map[*term]bool{}
	for _, l := range lists {
		for _, r := range l.ranked {
			if !seen[r.term] {
				seen[r.term] = true
				terms = append(terms, r.term)
			}
		}
	}
	return terms
}
