package index

import (
	"cmp"
	"slices"
)

// marks finds what to highlight in each of the given hits: every word that
// the query wants, in the form in which it stands there. What the query wants
// not to be there is left alone.
func (e *evaluator) marks(n node, shown []ranked) ([][]Mark, error) {
	order := make([]int, len(shown))
	for k := range order {
		order[k] = k
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(shown[a].doc, shown[b].doc) })
	docs := make([]uint32, len(shown))
	for k, o := range order {
		docs[k] = shown[o].doc
	}
	found := make([][]place, len(docs))
	if err := e.collect(n, docs, found); err != nil {
		return nil, err
	}
	out := make([][]Mark, len(shown))
	for k, o := range order {
		out[o] = tidy(found[k])
	}
	return out, nil
}

// collect adds the places of n's words in each document to found.
func (e *evaluator) collect(n node, docs []uint32, found [][]place) error {
	add := func(at [][]place, err error) error {
		for k := range at {
			found[k] = append(found[k], at[k]...)
		}
		return err
	}
	switch n := n.(type) {
	case andNode:
		for _, p := range n {
			if err := e.collect(p, docs, found); err != nil {
				return err
			}
		}
	case orNode:
		return e.collect(andNode(n), docs, found)
	case *phraseNode:
		return add(e.places(n.words, docs))
	case *wordNode, *prefixNode, *fuzzyNode:
		leaves := []*leaf{e.leaves[n]}
		if w, ok := n.(*wordNode); ok {
			leaves = append(leaves, e.wide[w]...)
		}
		for _, l := range leaves {
			for _, t := range append([]string{l.exact}, l.forms...) {
				if t == "" {
					continue
				}
				if err := add(e.occurrences(t, docs)); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

// tidy puts places in order and joins those that overlap.
func tidy(at []place) []Mark {
	slices.SortFunc(at, func(a, b place) int { return cmp.Or(cmp.Compare(a.start, b.start), cmp.Compare(a.end, b.end)) })
	var out []Mark
	for _, p := range at {
		if n := len(out); n > 0 && p.start < out[n-1].End {
			out[n-1].End = max(out[n-1].End, p.end)
			continue
		}
		out = append(out, Mark{p.start, p.end})
	}
	return out
}
