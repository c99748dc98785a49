package index

import (
	"math"
	"slices"
)

// What is said around a quote tells what the quote is about: an answer often
// lacks the word of its question. Smooth search spreads the score of each
// quote over its neighbours in the reel (a Gaussian, as in passage retrieval:
// Kaszkiel and Zobel 2001, "Effective ranking with arbitrary passages",
// recalled) and ranks by the sum of both, so that those with the words in a
// stretch about the matter come first. The figures that chose the constants
// are in smooth_test.go.
const (
	// smoothSigma is the standard deviation in quotes, smoothReach how far
	// scores spread.
	smoothSigma = 10
	smoothReach = 25
	// plainShare is the share of a quote's own score; the best own score and
	// the best spread one count 1 before they are joined.
	plainShare = 0.4
	// smoothLeast is the spread score, against the best, under which a quote
	// without any of the words is no hit.
	smoothLeast = 0.01
)

// byRank lists the documents in the order of reels.
func (i *Index) byRank() []uint32 {
	if i.order == nil {
		ranks := i.cols.array(colRank)
		i.order = make([]uint32, i.cols.live)
		for d := range uint32(i.cols.docs) {
			if r := ranks.at(d); r != noRank {
				i.order[r] = d
			}
		}
	}
	return i.order
}

// spread gives each document its score spread over its neighbours' reel.
func (i *Index) spread(h hits) []float32 {
	var weights [smoothReach + 1]float32
	for d := range weights {
		weights[d] = float32(math.Exp(-float64(d*d) / (2 * smoothSigma * smoothSigma)))
	}
	order, ranks, reels := i.byRank(), i.cols.array(colRank), i.cols.array(colReel)
	out := make([]float32, i.cols.docs)
	for k, doc := range h.docs {
		score, rank, reel := h.scores[k], int(ranks.at(doc)), reels.at(doc)
		out[doc] += score
		for _, step := range []int{-1, 1} {
			r := rank
			for d := 1; d <= smoothReach; d++ {
				if r += step; r < 0 || r >= len(order) || reels.at(order[r]) != reel {
					break
				}
				out[order[r]] += score * weights[d]
			}
		}
	}
	return out
}

// fuse ranks by own and spread scores together. Where within is not nil only
// its documents count.
func (i *Index) fuse(own hits, within []uint32) hits {
	spread := i.spread(own)
	docs := within
	if docs == nil {
		docs = make([]uint32, 0, len(own.docs)*4)
		for d, s := range spread {
			if s > 0 {
				docs = append(docs, uint32(d))
			}
		}
	}
	var bestOwn, bestSpread float32
	k := 0
	plain := make([]float32, len(docs))
	for n, d := range docs {
		for k < len(own.docs) && own.docs[k] < d {
			k++
		}
		if k < len(own.docs) && own.docs[k] == d {
			plain[n] = own.scores[k]
		}
		bestOwn, bestSpread = max(bestOwn, plain[n]), max(bestSpread, spread[d])
	}
	out := hits{make([]uint32, 0, len(docs)), make([]float32, 0, len(docs))}
	for n, d := range docs {
		if spread[d] == 0 || plain[n] == 0 && spread[d] < smoothLeast*bestSpread {
			continue
		}
		score := (1 - plainShare) * spread[d] / bestSpread
		if plain[n] > 0 {
			score += plainShare * plain[n] / bestOwn
		}
		out.add(d, score)
	}
	return out
}

// loosen parts a query into words that are wanted and the rest that is
// demanded. Fewer than two words: nothing to loosen.
func (e *evaluator) loosen(n node) (wanted orNode, demanded andNode) {
	parts, ok := n.(andNode)
	if !ok {
		return nil, nil
	}
	var stop orNode
	for _, p := range parts {
		switch p.(type) {
		case *wordNode:
			if e.isStop(p) {
				stop = append(stop, p)
			} else {
				wanted = append(wanted, p)
			}
		case *prefixNode, *fuzzyNode:
			wanted = append(wanted, p)
		default:
			demanded = append(demanded, p)
		}
	}
	if len(wanted) == 0 {
		wanted = stop
	}
	if len(wanted)+len(stop) < 2 {
		return nil, nil
	}
	return wanted, demanded
}

// isStop tells a stop word in every language of the bank.
func (e *evaluator) isStop(n node) bool {
	l := e.leaves[n]
	return len(e.i.cols.langs) > 0 && l != nil && len(l.forms) == 0
}

// smooth finds all hits of a query with looseness and smoothing; ok tells
// whether the query is one for it.
func (e *evaluator) smooth(n node) (h hits, ok bool, err error) {
	wanted, demanded := e.loosen(n)
	if len(wanted) == 0 {
		return hits{}, false, nil
	}
	own, err := e.eval(wanted, nil)
	if err != nil {
		return hits{}, true, err
	}
	var within []uint32
	if len(demanded) > 0 {
		must, err := e.eval(demanded, nil)
		if err != nil {
			return hits{}, true, err
		}
		within = slices.Clip(must.docs)
		if len(within) == 0 {
			return hits{}, true, nil
		}
	}
	return e.i.fuse(own, within), true, nil
}
