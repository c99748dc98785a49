package themes

import (
	"cmp"
	"slices"
	"strings"
)

// term is a candidate: a family, or a phrase of two or three families.
type term struct {
	families []int32
	count    int
	// bond is how surely the words of a phrase belong together (G²).
	bond float64

	inReels []inReel       // in the order of shooting
	voices  []voice        // who says it
	shapes  map[string]int // a phrase as said → how often
	first   int32          // quote
	last    int32          // quote, while gathering
	sayings int            // quotes that say it
	led     int            // occurrences with a leading word before them
	asked   saidAt         // where the asker said it last
}

// inReel is how often a term is said in one reel. In weighed, a quote counts
// once however often it says the term, and what the asker says counts less.
type inReel struct {
	reel    int32
	sayings int32
	// opened is how many words of the reel were said before somebody who
	// answers says it, −1 if nobody does.
	opened int32
	// stretches is in how many of the reel's stretches it is said; last is
	// the last of them, from 1.
	stretches, last int8
	n, weighed      float64
}

// voice is how often somebody says a term, and how often as the asker.
type voice struct {
	speaker  int32
	sayings  int32
	n, asked int32
}

// by gives the entry for a speaker, made if there is none.
func (t *term) by(speaker int32) *voice {
	for i := range t.voices {
		if t.voices[i].speaker == speaker {
			return &t.voices[i]
		}
	}
	t.voices = append(t.voices, voice{speaker: speaker})
	return &t.voices[len(t.voices)-1]
}

// answering is how many speakers say it without being the asker.
func (t *term) answering() int {
	k := 0
	for _, v := range t.voices {
		if v.n > v.asked {
			k++
		}
	}
	return k
}

// at gives the entry for a reel, nil if the term isn't said there.
func (t *term) at(reel int32) *inReel {
	for i := len(t.inReels) - 1; i >= 0; i-- {
		if t.inReels[i].reel == reel {
			return &t.inReels[i]
		}
	}
	return nil
}

// weighed is how often the term is said, what the asker says counting less.
func (t *term) weighed() float64 {
	w := 0.0
	for _, r := range t.inReels {
		w += r.weighed
	}
	return w
}

// perReel gives the occurrences in each of n reels.
func (t *term) perReel(n int) []float64 {
	counts := make([]float64, n)
	for _, r := range t.inReels {
		counts[r.reel] = r.n
	}
	return counts
}

// bondLeast is the G² from which two words count as belonging together:
// p < 0.001 of chi-squared with one degree of freedom.
const bondLeast = 10.83

// key is the families of a phrase; the third is −1 in a phrase of two.
type key [3]int32

// candidates lists families and phrases that are said often enough.
func (c *corpus) candidates() []*term {
	var terms []*term
	for f, fam := range c.families {
		if fam.count >= minCount && !fam.stop {
			terms = append(terms, &term{families: []int32{int32(f)}, count: int(fam.count)})
		}
	}
	pairs := c.countPhrases(nil)
	triples := c.countPhrases(pairs)
	for _, counts := range []map[key]int32{pairs, triples} {
		for k, n := range counts {
			t := &term{families: slices.Clone(k[:]), count: int(n)}
			if k[2] < 0 {
				t.families = t.families[:2]
			}
			if t.bond = c.bond(t, pairs); t.bond >= bondLeast {
				terms = append(terms, t)
			}
		}
	}
	// By stem, not by number: numbers come with the order of the quotes.
	slices.SortFunc(terms, func(a, b *term) int { return slices.CompareFunc(a.families, b.families, c.byStem) })
	return terms
}

// byStem orders families by their stems.
func (c *corpus) byStem(f, g int32) int {
	a, b := &c.families[f], &c.families[g]
	return cmp.Or(strings.Compare(a.stem, b.stem), strings.Compare(a.lang.name, b.lang.name))
}

// bond is the G² of a phrase's outer words standing so near each other; of
// three words that mean something, that of the weaker half.
func (c *corpus) bond(t *term, pairs map[key]int32) float64 {
	together := float64(t.count)
	of := func(f, g int32, k float64) float64 {
		n := float64(len(c.tokens))
		a, b := float64(c.families[f].count), float64(c.families[g].count)
		return LogLikelihood(k, max(0, b-k), max(0, a-k), max(0, n-a-b+k))
	}
	if len(t.families) == 2 {
		return of(t.families[0], t.families[1], together)
	}
	a, b, d := t.families[0], t.families[1], t.families[2]
	if c.families[b].stop {
		return of(a, d, together)
	}
	return min(of(a, b, float64(pairs[key{a, b, -1}])), of(b, d, float64(pairs[key{b, d, -1}])))
}

// occurrences goes over all talk and calls found for each occurrence of a
// term, with the quote, the tokens said there, and how many words of
// the quote come before.
func (c *corpus) occurrences(terms []*term, found func(t *term, quote int32, said []int32, at int32)) {
	words := make([]*term, len(c.families))
	starts := make([]bool, len(c.families))
	phrases := map[key]*term{}
	for _, t := range terms {
		if len(t.families) == 1 {
			words[t.families[0]] = t
		} else {
			phrases[keyOf(t)] = t
			starts[t.families[0]] = true
		}
	}
	for qi, q := range c.quotes {
		if qi%1000 == 0 && c.ctx.Err() != nil {
			return
		}
		tokens, said := c.tokens[q.start:q.end], c.said[q.start:q.end]
		for i, f := range said {
			if f < 0 {
				f = ^f
			}
			if t := words[f]; t != nil {
				found(t, int32(qi), tokens[i:i+1], int32(i))
			}
			if !starts[f] {
				continue
			}
			k, n := phraseAt(said, i)
			if n > 2 {
				if t := phrases[k]; t != nil {
					found(t, int32(qi), tokens[i:i+3], int32(i))
				}
			}
			if n > 1 {
				if t := phrases[key{k[0], k[1], -1}]; t != nil {
					found(t, int32(qi), tokens[i:i+2], int32(i))
				}
			}
		}
	}
}

// gather notes who says each term where.
func (c *corpus) gather(terms []*term) {
	for _, t := range terms {
		t.first, t.last = -1, -1
		if len(t.families) > 1 {
			t.shapes = map[string]int{}
		}
	}
	starts := c.reelStarts()
	c.occurrences(terms, func(t *term, qi int32, said []int32, at int32) {
		q := c.quotes[qi]
		w := t.echo(q, c.weight(q))
		// Quotes come in the order of shooting.
		if n := len(t.inReels); n == 0 || t.inReels[n-1].reel != q.reel {
			t.inReels = append(t.inReels, inReel{reel: q.reel, opened: -1})
		}
		in, by := &t.inReels[len(t.inReels)-1], t.by(q.speaker)
		in.n++
		by.n++
		if c.led(q, at) {
			t.led++
		}
		before := c.place[qi] + at - starts[q.reel]
		if s := 1 + int8(stretchesOfReel*float64(before)/c.reels[q.reel].words); s != in.last {
			in.last = s
			in.stretches++
		}
		if t.last != qi {
			t.last = qi
			t.sayings++
			in.sayings++
			in.weighed += w
			by.sayings++
		}
		if c.reels[q.reel].asker == q.speaker {
			by.asked++
		} else if in.opened < 0 {
			in.opened = before
		}
		if t.first < 0 {
			t.first = qi
		}
		if t.shapes != nil {
			t.shapes[c.shape(said)]++
		}
	})
}

// stretchesOfReel is how many stretches of so many words a reel is divided
// into, to tell how evenly it says a term.
const stretchesOfReel = 20

// reelStarts gives the place of the first word of each reel.
func (c *corpus) reelStarts() []int32 {
	starts := make([]int32, len(c.reels))
	for i := len(c.quotes) - 1; i >= 0; i-- {
		starts[c.quotes[i].reel] = c.place[i]
	}
	return starts
}

// led tells that a leading word stands right before the word at a place of a
// quote.
func (c *corpus) led(q quote, at int32) bool {
	i := q.start + at
	if i == q.start || c.tokens[i] < 0 {
		return false
	}
	before := c.tokens[i-1]
	if before < 0 {
		before = ^before
	}
	return c.leads[before]
}

func keyOf(t *term) key {
	k := key{t.families[0], t.families[1], -1}
	if len(t.families) == 3 {
		k[2] = t.families[2]
	}
	return k
}

func (c *corpus) shape(tokens []int32) string {
	said := make([]string, len(tokens))
	for i, token := range tokens {
		if token < 0 {
			token = ^token
		}
		said[i] = c.formText[token]
	}
	return strings.Join(said, " ")
}

// name is the form of a term that is said most.
func (c *corpus) name(t *term) string { return c.formsOf(t)[0].Text }

// formsMost bounds the forms that are listed.
const formsMost = 8

// formsOf lists the forms of a term, most frequent first.
func (c *corpus) formsOf(t *term) []Form {
	var forms []Form
	if len(t.families) == 1 {
		for _, f := range c.families[t.families[0]].forms {
			forms = append(forms, Form{c.formText[f], int(c.formCount[f])})
		}
	}
	for text, n := range t.shapes {
		forms = append(forms, Form{text, n})
	}
	slices.SortFunc(forms, func(a, b Form) int {
		return cmp.Or(cmp.Compare(b.Count, a.Count), cmp.Compare(len(a.Text), len(b.Text)), strings.Compare(a.Text, b.Text))
	})
	return forms
}
