package themes

import (
	"cmp"
	"math"
	"slices"
)

// The parts of the order, beside keyness. Chosen by reason, not fitted:
// what keeps coming back is said in more than one reel, by more than one who
// answers, and more in the end than at first.
const (
	severalReels    = 1.25
	severalAnswers  = 1.25
	nobodyAnswers   = 0.5
	growthMost      = 2.0 // in doublings
	growthPerDouble = 0.4
	// coveredBy is the share of a word's occurrences from which a phrase
	// stands for the word.
	coveredBy = 0.6
)

// rank orders the terms, best first, and leaves out those that are said less
// than in everyday talk and words that a phrase stands for. With a reel,
// terms are ranked by what sets that reel apart.
func (c *corpus) rank(terms []*term, only string) []*term {
	words, total := c.weighedWords(), 0.0
	for _, w := range words {
		total += w
	}
	target := int32(-1)
	if n, ok := c.reelAt[only]; ok && only != "" {
		target = n
	}
	var ranked []*term
	for _, t := range terms {
		if target >= 0 && t.at(target) == nil {
			continue
		}
		said := t.weighed()
		inside := c.contrast(t, words, total, target)
		if target >= 0 {
			said = t.at(target).weighed
		}
		n := total
		if target >= 0 {
			n = words[target]
		}
		outside, known := c.everydayContrast(t, said, n)
		switch {
		case len(c.reels) < 2 && known:
			t.keyness = outside
		case known:
			t.keyness = min(inside, outside)
		default:
			t.keyness = inside
		}
		if len(t.families) > 1 {
			t.keyness = min(t.keyness, t.bond)
		}
		if t.keyness <= 0 {
			continue
		}
		// What keeps coming back comes in many sayings: a word said over and
		// over in one is no theme. On the meetings of TestTopicWords this
		// took any title word in the first ten from 0.77 to 0.83.
		t.score = t.keyness * math.Log2(1+float64(t.sayings)) * c.spread(t, words, target)
		ranked = append(ranked, t)
	}
	slices.SortStableFunc(ranked, func(a, b *term) int {
		return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(b.count, a.count), slices.Compare(a.families, b.families))
	})
	return dropCovered(ranked)
}

// weighedWords is how many words each reel has, those of the asker counting
// less.
func (c *corpus) weighedWords() []float64 {
	words := make([]float64, len(c.reels))
	for _, q := range c.quotes {
		words[q.reel] += c.weight(q) * float64(q.end-q.start)
	}
	return words
}

// contrast is the keyness of a term in the reel that it is most typical of
// (or in target) against all the others. With one reel: its plain frequency
// as a number of the same kind, so that some order comes out.
func (c *corpus) contrast(t *term, words []float64, total float64, target int32) float64 {
	if len(c.reels) < 2 {
		return t.weighed()
	}
	all, best := t.weighed(), 0.0
	for _, r := range t.inReels {
		if target < 0 || r.reel == target {
			best = max(best, Keyness(r.weighed, words[r.reel], all-r.weighed, total-words[r.reel]))
		}
	}
	return best
}

// everydayContrast is the keyness of a term said so often among n words
// against everyday language; a phrase is at most as frequent there as its
// rarest word. known is false where the language has no reference.
func (c *corpus) everydayContrast(t *term, said, n float64) (g float64, known bool) {
	g = math.Inf(-1)
	for _, f := range t.families {
		fam := c.families[f]
		ref := fam.lang.reference()
		if ref == nil {
			return 0, false
		}
		if !fam.stop {
			g = max(g, Keyness(said, n, ref.count(fam.stem), ref.size))
		}
	}
	return g, true
}

// spread weighs who says a term and when.
func (c *corpus) spread(t *term, words []float64, target int32) float64 {
	// How much of it is theirs who answer.
	w := t.weighed() / float64(t.sayings)
	switch {
	case len(t.answering) == 0:
		w *= nobodyAnswers
	case len(t.answering) > 1:
		w *= severalAnswers
	}
	if target >= 0 {
		return w
	}
	if len(t.inReels) > 1 {
		w *= severalReels
	}
	return w * (1 + growthPerDouble*c.growth(t, words))
}

// growth is by how many doublings a term is more frequent in the second half
// of the shoot than in the first, bounded both ways. Halves are whole reels,
// divided where the words are nearest to half.
func (c *corpus) growth(t *term, words []float64) float64 {
	if len(c.reels) < 2 {
		return 0
	}
	half, done := sum(words)/2, 0.0
	var early, late, earlyWords, lateWords float64
	said := func(reel int32) float64 {
		if in := t.at(reel); in != nil {
			return in.weighed
		}
		return 0
	}
	for i, r := range c.byTime {
		if i == 0 || i < len(c.byTime)-1 && done+words[r]/2 < half {
			early += said(r)
			earlyWords += words[r]
		} else {
			late += said(r)
			lateWords += words[r]
		}
		done += words[r]
	}
	if earlyWords == 0 || lateWords == 0 {
		return 0
	}
	// Half an occurrence on each side keeps rare words near the middle.
	ratio := math.Log2(((late + 0.5) / lateWords) / ((early + 0.5) / earlyWords))
	return max(-growthMost, min(growthMost, ratio))
}

// dropCovered takes out words that a phrase stands for, and phrases that a
// longer one stands for; the longer takes the better place.
func dropCovered(ranked []*term) []*term {
	covered := map[*term]bool{}
	single := map[int32]*term{}
	pairs := map[key]*term{}
	for _, t := range ranked {
		switch len(t.families) {
		case 1:
			single[t.families[0]] = t
		case 2:
			pairs[keyOf(t)] = t
		}
	}
	cover := func(t, part *term) {
		if part != nil && float64(t.count) >= coveredBy*float64(part.count) {
			covered[part] = true
			t.score = max(t.score, part.score)
		}
	}
	for _, n := range []int{3, 2} {
		for _, t := range ranked {
			if len(t.families) != n || covered[t] {
				continue
			}
			for _, f := range t.families {
				cover(t, single[f])
			}
			if n == 3 {
				cover(t, pairs[key{t.families[0], t.families[1], -1}])
				cover(t, pairs[key{t.families[1], t.families[2], -1}])
			}
		}
	}
	out := slices.DeleteFunc(ranked, func(t *term) bool { return covered[t] })
	slices.SortStableFunc(out, func(a, b *term) int { return cmp.Compare(b.score, a.score) })
	return out
}
