package themes

import (
	"cmp"
	"context"
	"iter"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// corpus is all talk as numbers: one per word said, 4 bytes each.
type corpus struct {
	ctx context.Context // looked at where all talk is gone over; Find gives its error
	// tokens holds the form of every word, in the order in which quotes came;
	// complemented (^form) where no phrase runs on to it from the word before.
	tokens []int32
	// said holds the family of every word in the same way, once all is read.
	said   []int32
	quotes []quote
	// familyOf gives the family of a form.
	familyOf []int32
	// formText and formCount are the forms as written in lower case.
	formText  []string
	formCount []int32
	leads     []bool // whether a form is a leading word: see leading.go
	families  []family

	reels    []reel
	reelAt   map[string]int32
	byTime   []int32 // reels in the order of shooting
	place    []int32 // by quote: words said before it, in the order of shooting
	speakers table
	langs    map[string]*language
	related  func(language, word string) []string // nil: no thesaurus
}

// quote is what is kept of one quote: its tokens are tokens[start:end].
type quote struct {
	code       story.Code
	in         timecode.Ticks
	start, end int32
	reel       int32
	speaker    int32
	order      int32
	rating     int8
	asks       bool
	strong     bool
}

// family is the forms of one word.
type family struct {
	lang  *language
	stem  string
	stop  bool
	count int32
	forms []int32
	// joined are the stems of families made part of this one; into is 1 more
	// than the family that this one became part of.
	joined    []string
	into      int32
	inflected int // set where families were joined
}

// reel is one recording.
type reel struct {
	name, day string
	clock     timecode.Clock
	words     float64
	asker     int32 // speaker who asks, −1 for nobody
}

// table numbers names.
type table struct {
	names []string
	at    map[string]int32
}

func (t *table) number(name string) int32 {
	if n, ok := t.at[name]; ok {
		return n
	}
	if t.at == nil {
		t.at = map[string]int32{}
	}
	n := int32(len(t.names))
	name = strings.Clone(name)
	t.names = append(t.names, name)
	t.at[name] = n
	return n
}

// read takes in all quotes.
func read(ctx context.Context, quotes iter.Seq2[story.Quote, error], fallback string, bases func(language, word string) []string) (*corpus, error) {
	c := &corpus{ctx: ctx, reelAt: map[string]int32{}, langs: map[string]*language{}}
	n := 0
	for q, err := range quotes {
		if err != nil {
			return nil, err
		}
		if n++; n%1000 == 0 && ctx.Err() != nil {
			return nil, ctx.Err()
		}
		c.add(q, fallback)
	}
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	c.byTime = make([]int32, len(c.reels))
	for i := range c.byTime {
		c.byTime[i] = int32(i)
	}
	c.order()
	c.joinBases(bases)
	c.joinDerived()
	c.said = make([]int32, len(c.tokens))
	for i, token := range c.tokens {
		if token < 0 {
			c.said[i] = ^c.familyOf[^token]
		} else {
			c.said[i] = c.familyOf[token]
		}
	}
	return c, nil
}

// shot is where a reel lies in the shoot.
func (r reel) shot() story.Shot { return story.Shot{Day: r.day, Start: r.clock.Start, Reel: r.name} }

// order puts reels and quotes in the order of shooting. Reels get their numbers
// in that order, so that no sum over them depends on the order in which quotes
// came.
func (c *corpus) order() {
	slices.SortFunc(c.byTime, func(a, b int32) int {
		return story.CompareShots(c.reels[a].shot(), c.reels[b].shot())
	})
	rank, reels := make([]int32, len(c.reels)), make([]reel, len(c.reels))
	for place, r := range c.byTime {
		rank[r], reels[place] = int32(place), c.reels[r]
	}
	c.reels = reels
	for i := range c.byTime {
		c.byTime[i] = int32(i)
	}
	for name, r := range c.reelAt {
		c.reelAt[name] = rank[r]
	}
	for i := range c.quotes {
		c.quotes[i].reel = rank[c.quotes[i].reel]
	}
	slices.SortStableFunc(c.quotes, func(a, b quote) int {
		return cmp.Or(cmp.Compare(a.reel, b.reel), cmp.Compare(a.order, b.order))
	})
	c.place = make([]int32, len(c.quotes))
	words := int32(0)
	for i, q := range c.quotes {
		c.place[i] = words
		words += q.end - q.start
	}
}

func (c *corpus) add(q story.Quote, fallback string) {
	tag := q.Language
	if tag == "" {
		tag = fallback
	}
	lang := c.language(tag)
	at, ok := c.reelAt[q.Reel]
	if !ok {
		at = int32(len(c.reels))
		c.reelAt[strings.Clone(q.Reel)] = at
		c.reels = append(c.reels, reel{name: strings.Clone(q.Reel), day: strings.Clone(q.Day), clock: q.Clock, asker: -1})
	}
	start := int32(len(c.tokens))
	lang.cut(q.Text, func(word string) {
		form, ok := lang.forms[word]
		if !ok {
			form = c.newForm(lang, word)
		}
		c.formCount[form]++
		c.families[c.familyOf[form]].count++
		if lang.broke {
			form = ^form
		}
		c.tokens = append(c.tokens, form)
	})
	end := int32(len(c.tokens))
	c.reels[at].words += float64(end - start)
	lang.words += int(end - start)
	c.quotes = append(c.quotes, quote{
		code: q.Code, in: q.In, start: start, end: end, reel: at, speaker: c.speakers.number(q.Speaker),
		order: int32(q.Order), rating: int8(q.Rating), asks: lang.asks(q.Text), strong: q.IsStrong(),
	})
}

// newForm adds a form, and its family if it is the first.
func (c *corpus) newForm(lang *language, word string) int32 {
	word = strings.Clone(word)
	stem := lang.stem(word)
	fam, ok := lang.families[stem]
	if !ok {
		fam = int32(len(c.families))
		lang.families[stem] = fam
		c.families = append(c.families, family{lang: lang, stem: stem})
	}
	if lang.isStop(word) {
		c.families[fam].stop = true
	}
	form := int32(len(c.formText))
	c.families[fam].forms = append(c.families[fam].forms, form)
	lang.forms[word] = form
	c.formText = append(c.formText, word)
	c.formCount = append(c.formCount, 0)
	c.leads = append(c.leads, lang.leading[word])
	c.familyOf = append(c.familyOf, fam)
	return form
}

func (c *corpus) reelWords() []float64 {
	words := make([]float64, len(c.reels))
	for i, r := range c.reels {
		words[i] = r.words
	}
	return words
}
