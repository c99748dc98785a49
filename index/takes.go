package index

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"rushlight/pkg/story"
)

// Two quotes tell one story where their telling words stand in one order:
// the longest common subsequence of their sketches (Hirschberg 1977), measured
// against the length of either (containment, Broder 1997: a short telling
// inside a long one counts). takes_test.go has the figures.
const (
	// takesLeast is the least share of both sketches, as a harmonic mean.
	takesLeast = 0.5
	// takesWithin is the least share of the shorter one, if it lies in the
	// longer one.
	takesWithin = 0.75
	// takesWords is the least number of common words for either.
	takesWords = 4
	// takesLook is how many candidates are compared word by word.
	takesLook = 300
)

// Takes finds the other tellings of one story: quotes with the same or nearly
// the same words in nearly the same order, in any reel, most alike first;
// equally alike ones in the order of reels. Score is the share that is the
// same, 0 to 1. The quote itself is not among them. A saying of fewer than
// four telling words has only those with exactly its words. A code that is not there
// gives ErrNoQuote.
func (i *Index) Takes(ctx context.Context, code story.Code) ([]Hit, error) {
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
		other, err := i.sketch(i.cols.code(r.doc))
		if err != nil {
			return nil, fmt.Errorf("takes: %w", err)
		}
		if s := alike(own, other, weight); s > 0 {
			r.score = float32(s)
			best = append(best, r)
		}
	}
	slices.SortFunc(best, better)
	hits, err := e.withMarks(best, terms)
	if err != nil {
		return nil, fmt.Errorf("takes: %w", err)
	}
	return hits, nil
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
// weight; 0 where they are not two tellings of one thing. Nil: all weigh 1.
func alike(a, b sketch, weight func(uint16) float64) float64 {
	if len(a) == 0 || len(b) == 0 {
		return 0
	}
	if slices.Equal(a, b) {
		return 1
	}
	if min(len(a), len(b)) < takesWords {
		return 0
	}
	if weight == nil {
		weight = func(uint16) float64 { return 1 }
	}
	sum := func(s sketch) (w float64) {
		for _, h := range s {
			w += weight(h)
		}
		return w
	}
	x, y := sum(a), sum(b)
	n, words := commonPart(a, b, weight)
	switch whole, within := 2*n/(x+y), n/min(x, y); {
	case words < takesWords:
		return 0
	case whole >= takesLeast:
		return whole
	case within >= takesWithin:
		return within * takesWithin
	}
	return 0
}

// commonPart is the weight of the heaviest common subsequence and its number
// of words.
func commonPart(a, b sketch, weight func(uint16) float64) (float64, int) {
	type cell struct {
		weight float64
		words  int
	}
	row := make([]cell, len(b)+1)
	for _, x := range a {
		w := weight(x)
		diagonal := cell{}
		for j, y := range b {
			up := row[j+1]
			switch {
			case x == y:
				row[j+1] = cell{diagonal.weight + w, diagonal.words + 1}
			case row[j].weight > up.weight:
				row[j+1] = row[j]
			}
			diagonal = up
		}
	}
	return row[len(b)].weight, row[len(b)].words
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
func (i *Index) fold(best []ranked) ([]folded, error) {
	type group struct {
		all   []ranked
		first sketch
	}
	var groups []*group
	byWord := map[uint16][]int{} // the groups whose first hit has a word
	for _, r := range best[:min(foldLook, len(best))] {
		s, err := i.sketch(i.cols.code(r.doc))
		if err != nil {
			return nil, err
		}
		words := distinct(s)
		shared := map[int]int{}
		home := len(groups)
		for _, h := range words {
			for _, g := range byWord[h] {
				shared[g]++
			}
		}
		for g, n := range shared {
			if g < home && n >= min(foldWords, len(words)) && alike(s, groups[g].first, nil) > 0 {
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
		f, err := i.head(g.all)
		if err != nil {
			return nil, err
		}
		out = append(out, f)
	}
	for _, r := range best[min(foldLook, len(best)):] {
		out = append(out, folded{ranked: r})
	}
	return out, nil
}

// head chooses the best telling of a group.
func (i *Index) head(all []ranked) (folded, error) {
	chosen := 0
	if len(all) > 1 {
		var top docFacts
		for k, r := range all {
			f, err := i.facts(r.doc)
			if err != nil {
				return folded{}, err
			}
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
	return out, nil
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
