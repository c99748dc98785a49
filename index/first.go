package index

import (
	"cmp"
	"context"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
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
// speaker, in the order of shooting (story.CompareShots). Only Text and
// Wide of the query count: what merely stands near is nobody's saying. start
// gives the start timecode of a reel, 0 where it isn't known; nil knows none.
func (i *Index) First(ctx context.Context, q Query, start func(reel string) timecode.Ticks) (out []FirstSaid, err error) {
	defer caught(&err)
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
		s := spot{speakers.at(d), reels.at(d)}
		counts[s.speaker]++
		if old, ok := firsts[s]; !ok || ranks.at(d) < ranks.at(old) {
			firsts[s] = d
		}
	}
	type candidate struct {
		FirstSaid
		doc, speaker uint32
		shot         story.Shot
	}
	var all []candidate
	for s, d := range firsts {
		shot := story.Shot{Day: i.facts(d).day, Reel: i.cols.names[nameReel][s.reel]}
		if start != nil {
			shot.Start = start(shot.Reel)
		}
		all = append(all, candidate{FirstSaid{
			Speaker: i.cols.names[nameSpeaker][s.speaker], Code: i.cols.code(d),
			Day: shot.Day, Reel: shot.Reel, Hits: counts[s.speaker],
		}, d, s.speaker, shot})
	}
	slices.SortFunc(all, func(a, b candidate) int {
		return cmp.Or(story.CompareShots(a.shot, b.shot), cmp.Compare(ranks.at(a.doc), ranks.at(b.doc)))
	})
	seen := map[uint32]bool{}
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
		day:    i.cols.names[nameDay][i.cols.array(colDay).at(doc)],
		rating: int(i.cols.rating(doc)),
		strong: slices.ContainsFunc(i.cols.themes(doc), func(t string) bool { return story.SameTheme(t, story.Strong) }),
	}
}
