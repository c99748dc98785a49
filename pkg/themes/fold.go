package themes

// pairCoveredBy is the part of two words' occurrences from which on three stand
// for them: fewer, and the list would name what was hardly said.
const pairCoveredBy = 0.5

// dropCovered takes out words that a phrase stands for, and phrases that a
// longer one stands for; the longer takes the better place. It stands for a
// word from coveredBy of the word's occurrences on.
func dropCovered(list []*ranked, coveredBy float64) []*ranked {
	covered := map[*ranked]bool{}
	single := map[int32]*ranked{}
	pairs := map[key]*ranked{}
	for _, r := range list {
		switch len(r.families) {
		case 1:
			single[r.families[0]] = r
		case 2:
			pairs[keyOf(r.term)] = r
		}
	}
	cover := func(r, part *ranked, by float64) {
		if part != nil && float64(r.count) >= by*float64(part.count) {
			covered[part] = true
			if part.score > r.score {
				r.parts[partStandsFor] *= part.score / r.score
				r.score = part.score
			}
		}
	}
	for _, n := range []int{3, 2} {
		for _, r := range list {
			if len(r.families) != n || covered[r] {
				continue
			}
			for _, f := range r.families {
				cover(r, single[f], coveredBy)
			}
			if n == 3 {
				cover(r, pairs[key{r.families[0], r.families[1], -1}], pairCoveredBy)
				cover(r, pairs[key{r.families[1], r.families[2], -1}], pairCoveredBy)
			}
		}
	}
	out := list[:0]
	for _, r := range list {
		if !covered[r] {
			out = append(out, r)
		}
	}
	byScore(out)
	return out
}

// fold puts phrases under a better word or phrase that shares a word with
// them, and leaves out words that a better phrase holds. With all, what
// is put under another follows after all others, so that places stay the same.
func fold(c *corpus, list []*ranked, all bool) []*ranked {
	head := map[int32]*ranked{}
	var out, folded []*ranked
	for _, r := range list {
		if under(c, head, r) {
			folded = append(folded, r)
			continue
		}
		out = append(out, r)
		for _, f := range r.families {
			if !c.families[f].stop && head[f] == nil {
				head[f] = r
			}
		}
	}
	if all {
		return append(out, folded...)
	}
	return out
}

// under tells that a better term stands for r: a phrase goes under whatever
// shares a word with it, a word only goes where a phrase holds it.
func under(c *corpus, head map[int32]*ranked, r *ranked) bool {
	if len(r.families) == 1 {
		h := head[r.families[0]]
		return h != nil && len(h.families) > 1
	}
	for _, f := range r.families {
		if h := head[f]; h != nil && !c.families[f].stop {
			h.phrases = append(h.phrases, r)
			return true
		}
	}
	return false
}
