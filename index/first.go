package index

import (
	"cmp"
	"context"
	"slices"
	"strings"
	"unicode/utf8"

	"rushlight/pkg/story"
)

// FirstSaid is the first hit of one speaker.
type FirstSaid struct {
	// Speaker is "" for all those of whom nobody knows who speaks.
	Speaker   string
	Code      story.Code
	Day, Reel string
	// Hits is how many hits the speaker has.
	Hits int
	// Marks are what to highlight.
	Marks []Mark
}

// First tells who said first what a query asks for: the first hit of each
// speaker, in the order of shooting, that is by day, reel and place in the
// reel, numbers in names counting as numbers (D2 before D10). Only Text and
// Wide of the query count: what merely stands near is nobody's saying.
func (i *Index) First(ctx context.Context, q Query) ([]FirstSaid, error) {
	a, err := i.answer(ctx, Query{Text: q.Text, Wide: q.Wide})
	if err != nil {
		return nil, err
	}
	// The first of each speaker in each reel; days and reels are few.
	type spot struct{ speaker, reel uint32 }
	speakers, reels, ranks := i.cols.array(colSpeaker), i.cols.array(colReel), i.cols.array(colRank)
	firsts := map[spot]uint32{}
	counts := map[uint32]int{}
	for _, d := range a.found.docs {
		s := spot{at(speakers, d), at(reels, d)}
		counts[s.speaker]++
		if old, ok := firsts[s]; !ok || at(ranks, d) < at(ranks, old) {
			firsts[s] = d
		}
	}
	type candidate struct {
		FirstSaid
		doc, speaker uint32
	}
	var all []candidate
	for s, d := range firsts {
		all = append(all, candidate{FirstSaid{
			Speaker: i.cols.names[nameSpeaker][s.speaker], Code: i.cols.code(d),
			Day: i.facts(d).day, Reel: i.cols.names[nameReel][s.reel], Hits: counts[s.speaker],
		}, d, s.speaker})
	}
	slices.SortFunc(all, func(a, b candidate) int {
		return cmp.Or(natural(a.Day, b.Day), natural(a.Reel, b.Reel), cmp.Compare(at(ranks, a.doc), at(ranks, b.doc)))
	})
	seen := map[uint32]bool{}
	var out []FirstSaid
	var shown []ranked
	for _, c := range all {
		if !seen[c.speaker] {
			seen[c.speaker] = true
			out = append(out, c.FirstSaid)
			shown = append(shown, ranked{doc: c.doc})
		}
	}
	marks, err := a.e.marks(a.n, shown)
	if err != nil {
		return nil, err
	}
	for k := range out {
		out[k].Marks = marks[k]
	}
	return out, nil
}

// docFacts are those facts of one document that few searches ask for.
type docFacts struct {
	day    string
	rating int
	strong bool
}

// facts reads the facts of one document.
func (i *Index) facts(doc uint32) docFacts {
	return docFacts{
		day:    i.cols.names[nameDay][at(i.cols.array(colDay), doc)],
		rating: int(i.cols.rating(doc)),
		strong: slices.ContainsFunc(i.cols.themes(doc), func(t string) bool { return story.SameTheme(t, story.Strong) }),
	}
}

// natural compares names with runs of digits as numbers.
func natural(a, b string) int {
	for a != "" && b != "" {
		da, db := digits(a), digits(b)
		if da > 0 && db > 0 {
			x, y := strings.TrimLeft(a[:da], "0"), strings.TrimLeft(b[:db], "0")
			if c := cmp.Or(cmp.Compare(len(x), len(y)), strings.Compare(x, y)); c != 0 {
				return c
			}
			a, b = a[da:], b[db:]
			continue
		}
		ra, na := utf8.DecodeRuneInString(a)
		rb, nb := utf8.DecodeRuneInString(b)
		if ra != rb {
			return cmp.Compare(ra, rb)
		}
		a, b = a[na:], b[nb:]
	}
	return cmp.Compare(len(a), len(b))
}

// digits is the length of the run of digits at the start.
func digits(s string) int {
	n := 0
	for n < len(s) && '0' <= s[n] && s[n] <= '9' {
		n++
	}
	return n
}
