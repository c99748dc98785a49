package themes

import (
	"cmp"
	"math"
	"slices"
)

// The parts of the order. Their product is the score.
const (
	partKeyness   = iota // how much more it is said than in everyday talk
	partOthers           // how typical it is of one group
	partSayings          // in how many sayings
	partSpread           // in how many stretches of a reel
	partOpening          // soon after a reel begins
	partLed              // with an article or the like before it
	partVoices           // by how many who answer
	partForms            // in how many forms
	partPhrase           // a phrase that belongs together
	partTheirs           // said by those who answer, not put into their mouths
	partReels            // in more than one reel
	partGrowth           // more in the end than at first
	partOnlyLate         // little of it before the last days of the shoot
	partDense            // dense in its densest stretch
	partStandsFor        // a phrase has the place of a word that it mostly holds
	partsCount
)

// How the parts weigh. The exponents of keyness, sayings, spread, opening,
// leading words, voices, forms and phrases were searched for on 162 other
// meetings of the same collection; docs/themes.md has the figures. The others
// are chosen by reason: what keeps coming back is said in more than one reel
// and more in the end than at first. That what a text is about is named near
// its beginning is known from texts (KEA, Witten et al. 1999, recalled); but an
// interview may come to it late, so a beginning counts no more than twice as much
// as the middle, where the meetings alone would have it three times.
const (
	othersPower     = 0.15
	spreadPower     = 0.6
	openingPower    = -0.4
	openingLeast    = 0.1 // added to the share of the reel
	ledPower        = 0.4
	ledLeast        = 0.1 // added to the share
	formsPower      = 0.75
	phraseFactor    = 2.0
	bondPower       = 0.4
	nobodyAnswers   = 0.5
	severalReels    = 1.25
	phraseOfWord    = 4.0
	growthMost      = 2.0 // in doublings
	growthPerDouble = 0.3
)

// weights are the exponents that differ between the list of what emerged late
// and all others, and the share of a word's occurrences from which a phrase
// stands for the word.
type weights struct{ keyness, sayings, voices, coveredBy float64 }

var (
	ofAllTalk = weights{keyness: 0.3, sayings: 0.5, voices: 0.35, coveredBy: 0.15}
	ofLate    = weights{keyness: 0.5, sayings: 0.5, voices: 0.5, coveredBy: 0.4}
)

// ranked is a term in one list.
type ranked struct {
	*term
	keyness  float64
	score    float64
	parts    [partsCount]float64
	everyday *Contrast
	others   *Contrast
	phrases  []*ranked // that stand under it
}

// rank orders the terms, best first, and leaves out those that are said less
// than in everyday talk. With a target ≥ 0, a group of the view, terms are
// ranked by what sets that group apart. All keeps phrases that stand under
// another in the list.
func (c *corpus) rank(terms []*term, v *view, target int32, all bool) []*ranked {
	var list []*ranked
	var buf []share
	several := v.several()
	var growth halves
	if target < 0 {
		growth = c.halves()
	}
	for _, t := range terms {
		buf = v.shares(t, buf)
		if r := c.stand(t, v, target, buf, several); r != nil {
			if target < 0 {
				r.parts[partGrowth] = 1 + growthPerDouble*growth.of(t)
			}
			r.score = 1
			for _, p := range r.parts {
				r.score *= p
			}
			list = append(list, r)
		}
	}
	w := ofAllTalk
	if v.by == byTime {
		w = ofLate
		c.weighDensity(list)
	}
	byScore(list)
	return fold(c, dropCovered(list, w.coveredBy), all)
}

// byScore orders a list, best first; equal ones stay as they stand, by stem.
func byScore(list []*ranked) {
	slices.SortStableFunc(list, func(a, b *ranked) int {
		return cmp.Or(cmp.Compare(b.score, a.score), cmp.Compare(b.count, a.count))
	})
}

// stand compares one term and weighs its parts, but for growth; nil if it
// doesn't belong in the list.
func (c *corpus) stand(t *term, v *view, target int32, shares []share, several bool) *ranked {
	r := &ranked{term: t}
	said, n, sayings := 0.0, v.total, int32(t.sayings)
	for _, s := range shares {
		if target < 0 || s.group == target {
			said += s.weighed
		}
	}
	if target >= 0 {
		at := slices.IndexFunc(shares, func(s share) bool { return s.group == target })
		if at < 0 {
			return nil
		}
		n, sayings = v.words[target], shares[at].sayings
	}
	if several {
		r.others = v.contrast(shares, target)
	}
	r.everyday = c.everydayContrast(t, said, n)
	key := r.compare(said, target >= 0)
	if key <= 0 {
		return nil
	}
	for i := range r.parts {
		r.parts[i] = 1
	}
	w := ofAllTalk
	if v.by == byTime {
		w = ofLate
	}
	r.parts[partKeyness] = math.Pow(key, w.keyness)
	r.parts[partSayings] = math.Pow(math.Log2(1+float64(sayings)), w.sayings)
	c.weighVoices(r, w)
	if v.by == byTime {
		if _, ok := v.emerged(t, shares); !ok {
			return nil
		}
		r.parts[partOnlyLate] = math.Pow(lateness(shares), onlyLate) * (1 + (veryLast-1)*v.lastDay(t))
		return r
	}
	c.weighForms(r)
	r.parts[partSpread] = math.Pow(float64(v.stretches(t, target)), spreadPower)
	r.parts[partOpening] = math.Pow(openingLeast+c.opening(t, v, target), openingPower)
	if len(c.families[t.families[0]].lang.leading) > 0 {
		r.parts[partLed] = math.Pow(ledLeast+float64(t.led)/float64(t.count), ledPower)
	}
	if target >= 0 {
		return r
	}
	if r.everyday != nil && r.others != nil {
		r.parts[partOthers] = math.Pow(1+max(0, r.others.G2), othersPower)
	}
	if len(t.inReels) > 1 {
		r.parts[partReels] = severalReels
	}
	return r
}

// compare sets the keyness of a term said so often, and gives what the rank
// goes by: of one group the keyness, of all talk the contrast with everyday
// language, for what is said evenly by all is no less a theme. 0 or less: the
// term doesn't belong in the list.
func (r *ranked) compare(said float64, group bool) float64 {
	key := 0.0
	switch {
	case r.everyday != nil && r.others != nil:
		r.keyness = min(r.everyday.G2, r.others.G2)
		if key = r.everyday.G2; group {
			key = r.keyness
		}
	case r.everyday != nil:
		r.keyness = r.everyday.G2
		key = r.keyness
	case r.others != nil:
		r.keyness = r.others.G2
		if key = r.keyness; !group {
			key++
		}
	default:
		// Nothing to compare with: its plain frequency gives some order.
		r.keyness = said
		key = said
	}
	if len(r.families) > 1 {
		r.keyness, key = min(r.keyness, r.bond), min(key, r.bond)
	}
	return key
}

// weighForms weighs in what forms a term is said.
func (c *corpus) weighForms(r *ranked) {
	if len(r.families) > 1 {
		r.parts[partPhrase] = phraseFactor * math.Pow(1+r.bond, bondPower)
	} else {
		forms := c.families[r.families[0]].inflections()
		r.parts[partForms] = math.Pow(float64(min(forms, formsMost)), formsPower)
	}
}

// weighVoices weighs who says a term.
func (c *corpus) weighVoices(r *ranked, w weights) {
	answering := r.answering()
	r.parts[partVoices] = math.Pow(1+float64(answering), w.voices)
	r.parts[partTheirs] = r.weighed() / float64(r.sayings)
	if answering == 0 {
		r.parts[partTheirs] *= nobodyAnswers
	}
}

// everydayContrast compares a term said so often among n words with everyday
// language; nil where the language has no reference. There a phrase is at most
// as frequent as its rarest word; one that is said less often than that is
// taken for one time in phraseOfWord of the word.
func (c *corpus) everydayContrast(t *term, said, n float64) *Contrast {
	var best *Contrast
	for _, f := range t.families {
		fam := c.families[f]
		ref := fam.lang.reference()
		if ref == nil {
			return nil
		}
		if fam.stop {
			continue
		}
		there := ref.count(fam.stem)
		for _, stem := range fam.joined {
			there += ref.counts[stem]
		}
		g := Keyness(said, n, there, ref.size)
		if g <= 0 && len(t.families) > 1 {
			there /= phraseOfWord
			g = Keyness(said, n, there, ref.size)
		}
		if best == nil || g > best.G2 {
			best = &Contrast{G2: g, LogRatio: LogRatio(said, n, there, ref.size)}
		}
	}
	return best
}

// halves divides the shoot for growth.
type halves struct {
	late                  []bool // by reel
	earlyWords, lateWords float64
}

// halves divides the shoot into two halves of whole reels, where the words are
// nearest to half.
func (c *corpus) halves() halves {
	words := c.byReel().words
	h := halves{late: make([]bool, len(c.reels))}
	half, done := sum(words)/2, 0.0
	for i, r := range c.byTime {
		if i == 0 || i < len(c.byTime)-1 && done+words[r]/2 < half {
			h.earlyWords += words[r]
		} else {
			h.late[r] = true
			h.lateWords += words[r]
		}
		done += words[r]
	}
	return h
}

// of is by how many doublings a term is more frequent in the second half of
// the shoot than in the first, bounded both ways.
func (h halves) of(t *term) float64 {
	if h.earlyWords == 0 || h.lateWords == 0 {
		return 0
	}
	var early, late float64
	for _, in := range t.inReels {
		if h.late[in.reel] {
			late += in.weighed
		} else {
			early += in.weighed
		}
	}
	// Half an occurrence on each side keeps rare words near the middle.
	ratio := math.Log2(((late + 0.5) / h.lateWords) / ((early + 0.5) / h.earlyWords))
	return max(-growthMost, min(growthMost, ratio))
}
