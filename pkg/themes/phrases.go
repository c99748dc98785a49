package themes

// countPhrases counts pairs of words that mean something, or, given the
// pairs, triples that start and end with such a word. Only those said often
// enough are returned.
//
// Most runs of words are said once. A first pass counts them in a sieve, where
// several may share a place; only what reaches the least count there is
// counted by itself in a second, so that the table stays small.
func (c *corpus) countPhrases(pairs map[key]int32) map[key]int32 {
	size := 1 << 10
	for size < len(c.tokens) {
		size *= 2
	}
	sieve := make([]uint8, size)
	c.runs(pairs, func(k key) {
		if at := k.hash() & uint64(size-1); sieve[at] < minCount {
			sieve[at]++
		}
	})
	counts := map[key]int32{}
	c.runs(pairs, func(k key) {
		if sieve[k.hash()&uint64(size-1)] >= minCount {
			counts[k]++
		}
	})
	for k, n := range counts {
		if n < minCount {
			delete(counts, k)
		}
	}
	return counts
}

// runs goes over all that may be pairs, or, given the pairs, triples.
func (c *corpus) runs(pairs map[key]int32, found func(key)) {
	const rare, stop, weak, meaning = 0, 1, 2, 3
	kind, ties := make([]uint8, len(c.families)), make([]bool, len(c.families))
	for f := range kind {
		switch {
		case c.families[f].count < minCount:
		case c.families[f].stop && c.joinsPhrases(int32(f)):
			kind[f] = weak
		case c.families[f].stop:
			kind[f] = stop
		default:
			kind[f] = meaning
		}
		ties[f] = c.tiesWords(int32(f))
	}
	for qi, q := range c.quotes {
		if qi%1000 == 0 && c.ctx.Err() != nil {
			return
		}
		said := c.said[q.start:q.end]
		for i := range said {
			k, n := phraseAt(said, i)
			if n < 2 || kind[k[0]] < weak || pairs != nil && kind[k[0]] != meaning {
				continue
			}
			if pairs == nil {
				if kind[k[1]] == meaning && k[0] != k[1] {
					found(key{k[0], k[1], -1})
				}
				continue
			}
			if n < 3 || kind[k[2]] != meaning || kind[k[1]] == rare || k[0] == k[1] || k[1] == k[2] || k[0] == k[2] {
				continue
			}
			if kind[k[1]] < meaning && !ties[k[1]] {
				continue
			}
			// Without a stop word inside, both halves must be phrases.
			if kind[k[1]] == meaning && (pairs[key{k[0], k[1], -1}] == 0 || pairs[key{k[1], k[2], -1}] == 0) {
				continue
			}
			found(k)
		}
	}
}

// tiesWords tells a stop word that holds a phrase of three together, as the of
// "parity of esteem": a leading word, an "and" or the like; any in a language
// without a list of them.
func (c *corpus) tiesWords(f int32) bool {
	fam := c.families[f]
	if len(fam.lang.leading) == 0 {
		return true
	}
	for _, form := range fam.forms {
		if c.leads[form] || fam.lang.joining[c.formText[form]] {
			return true
		}
	}
	return false
}

// hash spreads keys over 64 bits: three rounds of multiply and shift.
func (k key) hash() uint64 {
	h := uint64(0)
	for _, f := range k {
		h = (h ^ uint64(uint32(f))) * 0x9E3779B97F4A7C15
		h ^= h >> 29
	}
	return h
}

// phraseAt gives the families of the longest run of words, three at most, that
// starts at word i and that no sign parts.
func phraseAt(said []int32, i int) (k key, n int) {
	k = key{-1, -1, -1}
	if k[0] = said[i]; k[0] < 0 {
		k[0] = ^k[0]
	}
	for n = 1; n < 3 && i+n < len(said) && said[i+n] >= 0; n++ {
		k[n] = said[i+n]
	}
	return k, n
}

// joinsPhrases tells a stop word that still makes a phrase with the word after
// it, as the far of "far bank" does: one that is not among the commonest and
// no number.
func (c *corpus) joinsPhrases(f int32) bool {
	fam := c.families[f]
	ref := fam.lang.reference()
	for _, form := range fam.forms {
		if fam.lang.numbers[c.formText[form]] {
			return false
		}
	}
	return ref != nil && len(fam.stem) > 2 && ref.count(fam.stem) < ref.common
}
