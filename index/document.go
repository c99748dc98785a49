package index

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/blevesearch/bleve/v2/analysis"
	"github.com/blevesearch/bleve/v2/document"
	bleveindex "github.com/blevesearch/bleve_index_api"

	"rushlight/pkg/story"
)

// The fields of a document in the index.
const (
	// fieldSaid holds the words of the text with their places: each word
	// folded, and beside it, where it differs, its stem behind stemMark.
	fieldSaid = "said"
	// fieldFacts holds everything that is not text, one term per fact,
	// told apart by its first letter.
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
	factOrder    = 'o'
	factHas      = 'h'
	factLanguage = 'l'
	factWords    = 'w'
)

// sayer cuts quotes of one language into the terms of fieldSaid and their
// sketch.
type sayer struct {
	stems *stemmer // nil: folding only
	words []word
	known map[string]wordForms
}

// wordForms are the terms of one word as written.
type wordForms struct {
	terms []string // all at one place
	hash  uint16
	tells bool // hash belongs into the sketch
}

// cutText is a quote that was cut: bleve asks for its terms later.
type cutText struct {
	stream analysis.TokenStream
	sketch sketch
	words  int
}

// Analyze implements bleve's analyser for the one text that was cut.
func (s *cutText) Analyze([]byte) analysis.TokenStream { return s.stream }

// cut cuts a text. A word's forms share its position.
func (s *sayer) cut(text string) *cutText {
	s.words = cutWords(text, s.words[:0])
	out := &cutText{stream: make(analysis.TokenStream, 0, len(s.words)*3/2), words: len(s.words)}
	backing := make([]analysis.Token, 0, len(s.words)*3/2)
	letters := make([]byte, 0, len(text)*3/2)
	for i, w := range s.words {
		forms := s.forms(text[w.start:w.end])
		for _, term := range forms.terms {
			if len(backing) == cap(backing) {
				backing = make([]analysis.Token, 0, len(s.words)/2+3)
			}
			if len(letters)+len(term) > cap(letters) {
				letters = make([]byte, 0, len(text)/2+len(term))
			}
			start := len(letters)
			letters = append(letters, term...)
			backing = append(backing, analysis.Token{
				Start: w.start, End: w.end, Term: letters[start:len(letters):len(letters)], Position: i + 1,
			})
			out.stream = append(out.stream, &backing[len(backing)-1])
		}
		if forms.tells {
			out.sketch = append(out.sketch, forms.hash)
		}
	}
	return out
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

// factList is an analyser for text that holds terms divided by NUL.
type factList struct{}

// Analyze implements bleve's analyser.
func (factList) Analyze(text []byte) analysis.TokenStream {
	var stream analysis.TokenStream
	for i, f := range strings.Split(string(text), "\x00") {
		stream = append(stream, &analysis.Token{Term: []byte(f), End: len(f), Position: i + 1})
	}
	return stream
}

// factsOf lists the facts of a quote.
func factsOf(q story.Quote, language string, words int) []string {
	facts := []string{
		string(factReel) + q.Reel,
		string(factOrder) + fmt.Sprintf("%08d", q.Order),
		string(factRating) + strconv.Itoa(q.Rating),
		string(factWords) + strconv.Itoa(words),
	}
	add := func(kind rune, name string) {
		if name != "" {
			facts = append(facts, string(kind)+name)
		}
	}
	add(factSpeaker, q.Speaker)
	add(factDay, q.Day)
	add(factLanguage, language)
	themes := slices.Clone(q.Themes)
	slices.Sort(themes)
	for _, t := range slices.Compact(themes) {
		add(factTheme, t)
	}
	if strings.TrimSpace(q.Note) != "" {
		add(factHas, "note")
	}
	for i, f := range facts {
		facts[i] = strings.ReplaceAll(strings.ToValidUTF8(f, "?"), "\x00", " ")
	}
	return facts
}

// documents makes bleve documents of quotes.
type documents struct {
	stems  stemmers
	sayers map[string]*sayer
}

func (d *documents) of(q story.Quote) (*document.Document, error) {
	if q.Code == "" {
		return nil, fmt.Errorf("quote %d of reel %s has no code", q.Order, q.Reel)
	}
	language := languageName(q.Language)
	s, ok := d.sayers[language]
	if !ok {
		m, err := d.stems.of(language)
		if err != nil {
			return nil, fmt.Errorf("analyser for language %q: %w", language, err)
		}
		if d.sayers == nil {
			d.sayers = map[string]*sayer{}
		}
		s = &sayer{stems: m}
		d.sayers[language] = s
	}
	text := s.cut(q.Text)
	facts := strings.Join(factsOf(q, language, text.words), "\x00")
	doc := document.NewDocument(string(q.Code))
	doc.AddField(document.NewTextFieldCustom(fieldSaid, nil, []byte(q.Text),
		bleveindex.IndexField|bleveindex.IncludeTermVectors, text))
	doc.AddField(document.NewTextFieldCustom(fieldFacts, nil, []byte(facts),
		bleveindex.IndexField|bleveindex.DocValues|bleveindex.SkipFreqNorm, factList{}))
	if len(text.sketch) > 0 {
		doc.AddField(sketchField(text.sketch))
	}
	return doc, nil
}
