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

// sayer cuts quotes of one language into words, and finds the terms of each
// and the sketch.
type sayer struct {
	stems *stemmer // nil: folding only
	words []word
	known map[string]*wordForms
	hints sketch
}

// wordForms are the terms of one word as written, all at one place.
type wordForms struct {
	texts []string
	hash  uint16
	tells bool // hash belongs into the sketch
	// in is the segment that terms are of.
	in    *segment
	terms []*term
}

// cut cuts a text and calls each for its words. The sketch is good until the
// next cut.
func (s *sayer) cut(text string, each func(f *wordForms, w word, position int)) (sketch, int) {
	s.words = cutWords(text, s.words[:0])
	s.hints = s.hints[:0]
	for i, w := range s.words {
		f := s.forms(text[w.start:w.end])
		each(f, w, i+1)
		if f.tells {
			s.hints = append(s.hints, f.hash)
		}
	}
	return s.hints, len(s.words)
}

// forms finds the terms of a word and remembers them.
func (s *sayer) forms(written string) *wordForms {
	if f, ok := s.known[written]; ok {
		return f
	}
	written = strings.Clone(written) // or the whole text would be kept
	f := &wordForms{}
	folded := Fold(written)
	if folded != "" {
		f.texts = append(f.texts, folded)
		if p := part(folded); p != "" {
			f.texts = append(f.texts, p)
		}
		stem := folded
		if s.stems != nil {
			stem = s.stems.stem(written)
			if stem != "" && stem != folded {
				f.texts = append(f.texts, stemTerm(s.stems.language, stem))
			}
		}
		f.hash, f.tells = sketchHash(stem), stem != "" && !isFiller(stem)
	}
	if s.known == nil {
		s.known = map[string]*wordForms{}
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

// documents makes of quotes what goes into the index, and notes in the ledger
// what the columns will hold of them.
type documents struct {
	stems  stemmers
	sayers map[string]*sayer
	ledger ledger
	// facts holds the facts of quotes that have all alike, by their list; key
	// is the memory of the list that is looked up.
	facts map[string]*factSet
	key   []byte
}

// factSet is a list of facts as terms of a segment.
type factSet struct {
	in    *segment
	terms []*term
}

// factsMost bounds the lists of facts that are remembered.
const factsMost = 10_000

// of makes a document for bleve.
func (d *documents) of(q story.Quote) (*quoteDoc, error) {
	doc := newQuoteDoc(string(q.Code))
	words, err := d.take(q, func(f *wordForms, w word, position int) {
		for _, t := range f.texts {
			doc.add(t, w, position)
		}
	})
	if err != nil {
		return nil, err
	}
	doc.said.length = words
	doc.facts.terms = bleveindex.TokenFrequencies{}
	for _, f := range d.factList() {
		doc.facts.terms[f] = &bleveindex.TokenFreq{Term: []byte(f)}
	}
	doc.facts.length = len(doc.facts.terms)
	return doc, nil
}

// into puts a quote into a segment.
func (d *documents) into(s *segment, q story.Quote) error {
	words, err := d.take(q, func(f *wordForms, w word, position int) {
		if f.in != s {
			f.in, f.terms = s, f.terms[:0]
			for _, t := range f.texts {
				f.terms = append(f.terms, s.term(segmentSaid, t))
			}
		}
		for _, t := range f.terms {
			s.place(t, w, position)
		}
	})
	if err != nil {
		return err
	}
	set, ok := d.facts[string(d.key)]
	if !ok {
		if d.facts == nil || len(d.facts) >= factsMost {
			d.facts = map[string]*factSet{}
		}
		set = &factSet{}
		d.facts[string(d.key)] = set
	}
	if set.in != s {
		set.in, set.terms = s, set.terms[:0]
		for _, f := range d.factList() {
			set.terms = append(set.terms, s.term(segmentFacts, f))
		}
	}
	s.add(string(q.Code), set.terms, words)
	return nil
}

// take cuts a quote, lists its facts in d.key, notes it in the ledger and
// tells how many words it has.
func (d *documents) take(q story.Quote, each func(f *wordForms, w word, position int)) (words int, err error) {
	if q.Code == "" {
		return 0, fmt.Errorf("quote %d of reel %s has no code", q.Order, q.Reel)
	}
	language := languageName(q.Language)
	s, err := d.sayer(language)
	if err != nil {
		return 0, err
	}
	q = cleaned(q)
	hints, words := s.cut(q.Text, each)
	d.key = appendFacts(d.key[:0], q, language)
	return words, d.ledger.put(q, language, words, hints)
}

// factList gives the facts in d.key.
func (d *documents) factList() []string {
	return strings.Split(string(d.key[:len(d.key)-1]), "\x00")
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
