package index

import (
	"cmp"
	"context"
	"fmt"
	"math"
	"slices"

	"rushlight/pkg/story"
)

// Two quotes tell one story where their telling words stand in one order:
// the longest common subsequence of their sketches (Hirschberg 1977), measured
// against the length of either (containment, Broder 1997: a short telling
// inside a long one counts). takes_test.go has the figures.
type likeness struct {
	// whole is the least share of both sketches, as a harmonic mean; within
	// the least share of the shorter one, if it lies in the longer one.
	whole, within float64
	// words is the least number of common words.
	words int
}

var (
	forTakes = likeness{whole: 0.5, within: 0.75, words: 4}
	// Folding hides, so it asks for more.
	forFold = likeness{whole: 0.5, within: 0.85, words: 5}
)

// takesLook is how many candidates are compared word by word.
const takesLook = 300

// Takes finds the other tellings of one story: quotes with the same or nearly
// the same words in nearly the same order, in any reel, most alike first;
// equally alike ones in the order of reels. Score is the share that is the
// same, 0 to 1. The quote itself is not among them. A saying of fewer than
// four telling words has only those with exactly its words. A code that is not there
// gives ErrNoQuote.
func (i *Index) Takes(ctx context.Context, code story.Code) (hits []Hit, err error) {
	defer caught(&err)
	doc, own, err := i.document(code)
	if err != nil {
		return nil, fmt.Errorf("takes: %w", err)
	}
	e := i.evaluator(ctx)
	terms, err := e.telling(doc, 0)
	if err != nil {
		return nil, fmt.Errorf("takes: %w", err)
	}
	weight := e.weights(terms)
	shared, err := e.any(terms)
	if err != nil {
		return nil, fmt.Errorf("takes: %w", err)
	}
	shared = i.leaveOut(shared, doc)
	var best []ranked
	for _, r := range i.best(shared, 0, takesLook) {
		other := i.cols.sketch(r.doc)
		s := forTakes.alike(own, other, weight)
		if i.same(doc, own, r.doc, other) {
			s = 1
		}
		if s > 0 {
			r.score = float32(s)
			best = append(best, r)
		}
	}
	slices.SortFunc(best, better)
	hits, err = e.withMarks(best, terms)
	if err != nil {
		return nil, fmt.Errorf("takes: %w", err)
	}
	return hits, nil
}

// same tells two quotes with the same telling words, and for very short ones
// as many words in all: "oh, titanium" and "titanium" are not one story.
func (i *Index) same(x uint32, a sketch, y uint32, b sketch) bool {
	lengths := i.cols.array(colLength)
	return len(a) > 0 && slices.Equal(a, b) && (len(a) >= forTakes.words || lengths.at(x) == lengths.at(y))
}

// weights gives each word of a quote the weight of its rarity, and words that
// the quote doesn't have the mean of all its words.
func (e *evaluator) weights(terms []tellingTerm) func(uint16) float64 {
	known := map[uint16]float64{}
	sum := 0.0
	for _, t := range terms {
		w := e.scorer(t.leaf.df).idf
		known[sketchHash(t.stem)] = w
		sum += w
	}
	mean := sum / max(float64(len(terms)), 1)
	return func(h uint16) float64 {
		if w, ok := known[h]; ok {
			return w
		}
		return mean
	}
}

// alike is how much of two sketches is the same, each word counting its
// weight; 0 where they are not two tellings of one thing.
func (l likeness) alike(a, b sketch, weight func(uint16) float64) float64 {
	if min(len(a), len(b)) < l.words {
		return 0
	}
	if len(a) > len(b) {
		a, b = b, a
	}
	sum := func(s sketch) (w float64) {
		for _, h := range s {
			w += weight(h)
		}
		return w
	}
	x, y := sum(a), sum(b)
	c := commonPart(a, b, weight)
	within := c.weight / min(x, y)
	switch whole := 2 * c.weight / (x + y); {
	case c.words < l.words:
		return 0
	case whole >= l.whole:
		return whole
	case within >= l.within && c.last-c.first < looseness*len(a):
		return within * l.within
	}
	return 0
}

// looseness is over how many times its length a short telling may be strewn
// in a long one: the words of any short one stand somewhere in a speech.
const looseness = 2

// run is a common subsequence of two sketches: its weight, its number of
// words, and where it begins and ends in the second.
type run struct {
	weight             float64
	words, first, last int
}

// commonPart is the heaviest common subsequence of two sketches.
func commonPart(a, b sketch, weight func(uint16) float64) run {
	row := make([]run, len(b)+1)
	for _, x := range a {
		w := weight(x)
		diagonal := run{}
		for j, y := range b {
			up := row[j+1]
			switch {
			case x == y:
				next := run{diagonal.weight + w, diagonal.words + 1, diagonal.first, j}
				if diagonal.words == 0 {
					next.first = j
				}
				row[j+1] = next
			case row[j].weight > up.weight:
				row[j+1] = row[j]
			}
			diagonal = up
		}
	}
	return row[len(b)]
}

const (
	// foldLook bounds the hits that are compared with each other.
	foldLook = 2000
	// foldWords is how many different words two hits must share before they
	// are compared word by word.
	foldWords = 3
)

// folded is a hit with those that say nearly the same.
type folded struct {
	ranked
	under []story.Code
}

// fold puts hits, best first, under the best telling among those that say
// nearly the same: the one marked strong, else the one rated higher, else the
// one that came first. A group stands where its best hit stood.
func (i *Index) fold(best []ranked) []folded {
	type group struct {
		all   []ranked
		first sketch
	}
	var groups []*group
	byWord := map[uint16][]int{} // the groups whose first hit has a word
	sketches, weight := i.sketches(best[:min(foldLook, len(best))])
	for k, s := range sketches {
		r, words := best[k], distinct(s)
		shared := map[int]int{}
		home := len(groups)
		for _, h := range words {
			for _, g := range byWord[h] {
				shared[g]++
			}
		}
		for g, n := range shared {
			if g >= home || n < min(foldWords, len(words)) {
				continue
			}
			first := groups[g]
			if i.same(r.doc, s, first.all[0].doc, first.first) || forFold.alike(s, first.first, weight) > 0 {
				home = g
			}
		}
		if home == len(groups) {
			groups = append(groups, &group{first: s})
			for _, h := range words {
				byWord[h] = append(byWord[h], home)
			}
		}
		groups[home].all = append(groups[home].all, r)
	}
	var out []folded
	for _, g := range groups {
		out = append(out, i.head(g.all))
	}
	for _, r := range best[min(foldLook, len(best)):] {
		out = append(out, folded{ranked: r})
	}
	return out
}

// sketches reads the sketches of hits and weighs their words by how rare they
// are among them.
func (i *Index) sketches(best []ranked) ([]sketch, func(uint16) float64) {
	out := make([]sketch, len(best))
	in := map[uint16]int{}
	for k, r := range best {
		out[k] = i.cols.sketch(r.doc)
		for _, h := range distinct(out[k]) {
			in[h]++
		}
	}
	return out, func(h uint16) float64 { return math.Log(1 + float64(len(best))/float64(in[h])) }
}

// head chooses the best telling of a group.
func (i *Index) head(all []ranked) folded {
	chosen := 0
	if len(all) > 1 {
		var top docFacts
		for k, r := range all {
			f := i.facts(r.doc)
			if k == 0 || cmp.Or(cmp.Compare(flag(f.strong), flag(top.strong)), cmp.Compare(f.rating, top.rating)) > 0 {
				chosen, top = k, f
			}
		}
	}
	out := folded{ranked: all[chosen]}
	for k, r := range all {
		if k != chosen {
			out.under = append(out.under, i.cols.code(r.doc))
		}
	}
	return out
}

func flag(b bool) int {
	if b {
		return 1
	}
	return 0
}

func distinct(s sketch) sketch {
	s = slices.Clone(s)
	slices.Sort(s)
	return slices.Compact(s)
}
