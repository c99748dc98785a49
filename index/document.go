package index

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	bleveindex "github.com/blevesearch/bleve_index_api"

	"rushlight/pkg/story"
)

// The fields of a document in the index.
const (
	// fieldSaid holds the words of the text with their places: each word
	// folded, and beside it, where it differs, its stem behind stemMark.
	fieldSaid = "said"
	// fieldFacts holds what fields of a query ask for, one term per fact, told
	// apart by its first letter.
	fieldFacts = "facts"
	// fieldID is bleve's own: the code.
	fieldID = "_id"
)

// stemMark comes before a language and a stem, so that no word can be taken
// for a stem: no folded word starts with a control character.
const stemMark = "\x01"

func stemTerm(language, stem string) string { return stemMark + language + ":" + stem }

// The first letters of facts.
const (
	factSpeaker  = 's'
	factReel     = 'r'
	factTheme    = 't'
	factDay      = 'd'
	factRating   = 'n'
	factHas      = 'h'
	factLanguage = 'l'
)

// sayer cuts quotes of one language into the terms of fieldSaid and their
// sketch.
type sayer struct {
	stems *stemmer // nil: folding only
	words []word
	known map[string]wordForms
	hints sketch
}

// wordForms are the terms of one word as written.
type wordForms struct {
	terms []string // all at one place
	hash  uint16
	tells bool // hash belongs into the sketch
}

// cut cuts a text into terms of a document; a word's forms share its
// position. The sketch is good until the next cut.
func (s *sayer) cut(text string, doc *quoteDoc, pool *docPool) (sketch, int) {
	s.words = cutWords(text, s.words[:0])
	s.hints = s.hints[:0]
	for i, w := range s.words {
		forms := s.forms(text[w.start:w.end])
		for _, term := range forms.terms {
			doc.add(term, w, i+1, pool.occurrence())
		}
		if forms.tells {
			s.hints = append(s.hints, forms.hash)
		}
	}
	return s.hints, len(s.words)
}

// forms finds the terms of a word and remembers them.
func (s *sayer) forms(written string) wordForms {
	if f, ok := s.known[written]; ok {
		return f
	}
	written = strings.Clone(written) // or the whole text would be kept
	var f wordForms
	folded := Fold(written)
	if folded != "" {
		f.terms = append(f.terms, folded)
		if p := part(folded); p != "" {
			f.terms = append(f.terms, p)
		}
		stem := folded
		if s.stems != nil {
			stem = s.stems.stem(written)
			if stem != "" && stem != folded {
				f.terms = append(f.terms, stemTerm(s.stems.language, stem))
			}
		}
		f.hash, f.tells = sketchHash(stem), stem != "" && !isFiller(stem)
	}
	if s.known == nil {
		s.known = map[string]wordForms{}
	}
	if len(s.known) < knownMost {
		s.known[written] = f
	}
	return f
}

// cleanName makes a name one that a term can hold: valid UTF-8 without NUL.
func cleanName(s string) string {
	if utf8.ValidString(s) && strings.IndexByte(s, 0) < 0 {
		return s
	}
	return strings.ReplaceAll(strings.ToValidUTF8(s, "?"), "\x00", " ")
}

// cleaned is a quote whose names can be terms, and whose themes are sorted and
// come once.
func cleaned(q story.Quote) story.Quote {
	q.Reel, q.Speaker, q.Day = cleanName(q.Reel), cleanName(q.Speaker), cleanName(q.Day)
	if len(q.Themes) > 0 {
		q.Themes = slices.Clone(q.Themes)
		for i, t := range q.Themes {
			q.Themes[i] = cleanName(t)
		}
		slices.Sort(q.Themes)
		q.Themes = slices.DeleteFunc(slices.Compact(q.Themes), func(t string) bool { return t == "" })
	}
	return q
}

// appendFacts appends the facts of a cleaned quote, each ended by NUL.
func appendFacts(to []byte, q story.Quote, language string) []byte {
	add := func(kind byte, name string) {
		if name != "" {
			to = append(append(append(to, kind), name...), 0)
		}
	}
	to = append(append(append(to, factReel), q.Reel...), 0)
	to = append(strconv.AppendInt(append(to, factRating), int64(q.Rating), 10), 0)
	add(factSpeaker, q.Speaker)
	add(factDay, q.Day)
	add(factLanguage, language)
	for _, t := range q.Themes {
		add(factTheme, t)
	}
	if strings.TrimSpace(q.Note) != "" {
		add(factHas, "note")
	}
	return to
}

// documents makes bleve documents of quotes, and notes in the ledger what the
// columns will hold of them.
type documents struct {
	stems  stemmers
	sayers map[string]*sayer
	ledger ledger
	pool   docPool
	// facts holds the terms of quotes that have all facts alike, by their
	// list; key is the memory of the list that is looked up.
	facts map[string]bleveindex.TokenFrequencies
	key   []byte
}

// factsMost bounds the lists of facts that are remembered.
const factsMost = 10_000

func (d *documents) of(q story.Quote) (*quoteDoc, error) {
	if q.Code == "" {
		return nil, fmt.Errorf("quote %d of reel %s has no code", q.Order, q.Reel)
	}
	language := languageName(q.Language)
	s, err := d.sayer(language)
	if err != nil {
		return nil, err
	}
	q = cleaned(q)
	doc := d.pool.doc(string(q.Code))
	hints, words := s.cut(q.Text, doc, &d.pool)
	d.key = appendFacts(d.key[:0], q, language)
	doc.facts.terms = d.factTerms()
	doc.facts.length = len(doc.facts.terms)
	if err := d.ledger.put(q, language, words, hints); err != nil {
		return nil, err
	}
	return doc, nil
}

func (d *documents) sayer(language string) (*sayer, error) {
	if s, ok := d.sayers[language]; ok {
		return s, nil
	}
	m, err := d.stems.of(language)
	if err != nil {
		return nil, fmt.Errorf("analyser for language %q: %w", language, err)
	}
	if d.sayers == nil {
		d.sayers = map[string]*sayer{}
	}
	s := &sayer{stems: m}
	d.sayers[language] = s
	return s, nil
}

// factTerms gives the terms of the facts in d.key.
func (d *documents) factTerms() bleveindex.TokenFrequencies {
	if t, ok := d.facts[string(d.key)]; ok {
		return t
	}
	if d.facts == nil || len(d.facts) >= factsMost {
		d.facts = map[string]bleveindex.TokenFrequencies{}
	}
	key := string(d.key)
	terms := bleveindex.TokenFrequencies{}
	for f := range strings.SplitSeq(key[:len(key)-1], "\x00") {
		terms[f] = &bleveindex.TokenFreq{Term: []byte(f)}
	}
	d.facts[key] = terms
	return terms
}
