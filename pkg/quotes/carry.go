package quotes

import (
	"context"
	"slices"
	"strconv"
	"strings"

	"rushlight/pkg/story"
)

// Carried is what became of old quotes when a transcript came in again.
type Carried struct {
	// Quotes are the new quotes; a matched one has the old Code, Themes,
	// Rating and Note.
	Quotes []story.Quote
	// Matched gives for each old code that found a partner the code under
	// which its saying now stands: its own, unless it was merged.
	Matched map[story.Code]story.Code
	// Merged lists old quotes that became one.
	Merged []Merge
	// Split lists old quotes that became several.
	Split []Split
	// Lost holds old quotes with themes, a rating or a note that found no
	// partner, as they were.
	Lost []story.Quote
	// Gone holds the codes of all old quotes that found no partner.
	Gone []story.Code
	// Same tells that nothing changed at all.
	Same bool
}

// Merge is several old quotes that became one. Into is the code of the first
// of them, which lasts; From are the codes of the others. Themes are united,
// the highest rating is kept, notes are joined.
type Merge struct {
	Into story.Code
	From []story.Code
}

// Split is an old quote that became several. The part with most of its words
// keeps Code, note and all; Parts are the codes of the others, which get its
// themes and rating too.
type Split struct {
	Code  story.Code
	Parts []story.Code
}

// leastShare is how many of the words of the shorter of two quotes must match.
const leastShare = 0.45

// Carry matches the old quotes of a reel to its new ones by their words, in
// order, and by time, and hands on what people did to them. Neither argument
// is changed; both must be in order of In. Without old quotes nothing is
// matched. The only error is that of ctx, which is looked at all the time.
func Carry(ctx context.Context, old, new []story.Quote) (Carried, error) {
	c := Carried{Quotes: slices.Clone(new), Matched: make(map[story.Code]story.Code, len(old))}
	m := match(ctx, old, new)
	if err := ctx.Err(); err != nil {
		return Carried{}, err
	}
	claims := make([][]int, len(new))
	for o := range old {
		if n := m.best(o); n >= 0 {
			claims[n] = append(claims[n], o)
			continue
		}
		c.Gone = append(c.Gone, old[o].Code)
		if q := old[o]; len(q.Themes) > 0 || q.Rating != 0 || q.Note != "" {
			c.Lost = append(c.Lost, q)
		}
	}
	fresh := make([]story.Code, len(new))
	for n := range new {
		fresh[n] = new[n].Code
		for i, o := range claims[n] {
			c.take(n, old[o], i == 0)
		}
	}
	c.recode(old, fresh, claims)
	for n, os := range claims {
		for _, o := range os {
			c.Matched[old[o].Code] = c.Quotes[n].Code
		}
		if len(os) > 1 {
			g := Merge{Into: c.Quotes[n].Code}
			for _, o := range os[1:] {
				g.From = append(g.From, old[o].Code)
			}
			c.Merged = append(c.Merged, g)
		}
	}
	c.parts(old, m, claims)
	c.Same = len(old) == len(new)
	for i := 0; i < len(old) && c.Same; i++ {
		c.Same = alike(old[i], c.Quotes[i])
	}
	return c, nil
}

// take hands what old has on to new quote n; first tells that it's the one
// whose code lasts.
func (c *Carried) take(n int, old story.Quote, first bool) {
	q := &c.Quotes[n]
	if first {
		q.Code, q.Themes, q.Rating, q.Note = old.Code, slices.Clone(old.Themes), old.Rating, old.Note
		return
	}
	q.Themes = unite(q.Themes, old.Themes)
	q.Rating = max(q.Rating, old.Rating)
	if old.Note != "" && old.Note != q.Note {
		q.Note = strings.TrimPrefix(q.Note+"; "+old.Note, "; ")
	}
}

// unite adds the themes of b that a lacks.
func unite(a, b []string) []string {
	out := slices.Clone(a)
	for _, t := range b {
		if !slices.ContainsFunc(out, func(s string) bool { return story.SameTheme(s, t) }) {
			out = append(out, t)
		}
	}
	return out
}

// recode sees to it that no new saying goes by the code of an old one. A
// matched quote frees the code it was made with, and one that stands in an
// unmatched one's way has freed its own: follow these until one is free.
func (c *Carried) recode(old []story.Quote, fresh []story.Code, claims [][]int) {
	held := make(map[story.Code]int, len(old))
	was := make(map[story.Code]bool, len(old))
	for _, q := range old {
		was[q.Code] = true
	}
	for n := range c.Quotes {
		if len(claims[n]) > 0 {
			held[c.Quotes[n].Code] = n
		}
	}
	used := make(map[story.Code]bool, len(fresh))
	for _, f := range fresh {
		used[f] = true
	}
	for n := range c.Quotes {
		if len(claims[n]) > 0 {
			continue
		}
		code := fresh[n]
		for {
			h, ok := held[code]
			if !ok {
				break
			}
			code = fresh[h]
		}
		if was[code] {
			// The code of a saying that is gone stays its own.
			q := c.Quotes[n]
			code = story.NewCode(q.Reel+"\x00"+strconv.Itoa(len(old)), q.In, func(k story.Code) bool { return used[k] || was[k] })
		}
		used[code] = true
		c.Quotes[n].Code = code
	}
}

// parts hands themes and ratings on to the other parts of split quotes.
func (c *Carried) parts(old []story.Quote, m *matching, claims [][]int) {
	at := map[int]int{}
	from := m.sources()
	for n := range c.Quotes {
		if len(claims[n]) > 0 {
			continue
		}
		o := from[n]
		if o < 0 {
			continue
		}
		q := &c.Quotes[n]
		q.Themes, q.Rating = slices.Clone(old[o].Themes), old[o].Rating
		i, ok := at[o]
		if !ok {
			i = len(c.Split)
			at[o] = i
			c.Split = append(c.Split, Split{Code: old[o].Code})
		}
		c.Split[i].Parts = append(c.Split[i].Parts, q.Code)
	}
}

// alike tells whether two quotes are the same in everything a transcript and
// its sound say.
func alike(a, b story.Quote) bool {
	return a.Code == b.Code && a.Reel == b.Reel && a.Day == b.Day && a.Speaker == b.Speaker && a.Span == b.Span &&
		a.Text == b.Text && a.Language == b.Language && a.Order == b.Order && a.InBy == b.InBy && a.OutBy == b.OutBy &&
		a.Clock == b.Clock && slices.Equal(a.Words, b.Words) &&
		slices.Equal(a.Themes, b.Themes) && a.Rating == b.Rating && a.Note == b.Note
}
