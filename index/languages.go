package index

import (
	"strings"

	"github.com/blevesearch/bleve/v2/analysis"
	"github.com/blevesearch/bleve/v2/registry"

	// Each registers its filters by name and builds nothing before it is
	// asked for. The Croatian package is left out: it compiles its rules when
	// the program starts, 1.9 ms for everyone (measured).
	_ "github.com/blevesearch/bleve/v2/analysis/lang/ar"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/bg"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/ca"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/ckb"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/cs"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/da"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/de"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/el"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/en"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/es"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/eu"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/fa"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/fi"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/fr"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/ga"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/gl"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/hi"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/hu"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/hy"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/id"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/in"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/it"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/nl"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/no"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/pl"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/pt"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/ro"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/ru"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/sv"
	_ "github.com/blevesearch/bleve/v2/analysis/lang/tr"
)

// filtersOf lists, in order, bleve's filters that turn a lower-case word into
// its stem, or into nothing if it is a stop word: those of bleve's own
// analyser for the language, except that English, German, French, Spanish and
// Italian use their Snowball stemmers instead of Porter's first and the light
// ones: light stemmers leave verbs alone, and talk is full of verbs. Portuguese
// keeps its light one, which knows região and regiões for one word, as
// Snowball's doesn't. Languages that bleve has only stop words for, Greek among
// them, find words by folding alone.
//
// German, Dutch and Portuguese verbs are found in all their forms beside that:
// see german.go, dutch.go and portuguese.go. The stemmers' other limits stay: Dutch kind and
// kinderen, huis and huizen are two words each (Snowball's first Dutch rules,
// dutch_porter today), and so is an Arabic plural that is made inside the word.
// vocabulary_test.go holds 14 of them against the vocabularies published with
// them.
func filtersOf(language string) []string {
	switch language {
	case "ar":
		return []string{"normalize_ar", "stop_ar", "stemmer_ar"}
	case "bg", "cs", "el", "eu", "gl", "hy", "id":
		return []string{"stop_" + language}
	case "ca", "ga":
		return []string{"elision_" + language, "stop_" + language}
	case "ckb":
		return []string{"normalize_ckb", "stop_ckb", "stemmer_ckb"}
	case "da", "de", "es", "fi", "hu", "nl", "no", "ro", "ru", "sv", "tr":
		return []string{"stop_" + language, "stemmer_" + language + "_snowball"}
	case "en":
		return []string{"possessive_en", "stop_en", "stemmer_en_snowball"}
	case "fa":
		return []string{"normalize_ar", "normalize_fa", "stop_fa"}
	case "fr", "it":
		return []string{"elision_" + language, "stop_" + language, "stemmer_" + language + "_snowball"}
	case "hi":
		return []string{"normalize_in", "normalize_hi", "stop_hi", "stemmer_hi"}
	case "pl":
		return []string{"stop_pl", "stemmer_pl"}
	case "pt":
		return []string{"stop_pt", "stemmer_pt_light"}
	}
	return nil
}

// languageName puts a BCP 47 tag in the form that filtersOf knows: the
// primary subtag in lower case, Norwegian as one, three-letter codes of the
// common languages as their two letters. A tag without an analyser gives "".
func languageName(tag string) string {
	tag = strings.ToLower(tag)
	if i := strings.IndexAny(tag, "-_"); i >= 0 {
		tag = tag[:i]
	}
	switch tag {
	case "nb", "nn", "nor", "nob", "nno":
		tag = "no"
	case "eng":
		tag = "en"
	case "deu", "ger":
		tag = "de"
	case "fra", "fre":
		tag = "fr"
	case "spa":
		tag = "es"
	case "nld", "dut":
		tag = "nl"
	case "ita":
		tag = "it"
	case "por":
		tag = "pt"
	}
	if filtersOf(tag) == nil {
		return ""
	}
	return tag
}

// stemmers makes and keeps the stemmers of the languages that are asked for.
// The zero value is ready. Not for use by several goroutines at once.
type stemmers struct {
	cache *registry.Cache
	made  map[string]*stemmer
}

// of gives the stemmer of a language as languageName names it; nil for "".
func (s *stemmers) of(language string) (*stemmer, error) {
	if language == "" {
		return nil, nil
	}
	if m, ok := s.made[language]; ok {
		return m, nil
	}
	if s.cache == nil {
		s.cache, s.made = registry.NewCache(), map[string]*stemmer{}
	}
	m := &stemmer{language: language, known: map[string]string{}}
	for _, name := range filtersOf(language) {
		f, err := s.cache.TokenFilterNamed(name)
		if err != nil {
			return nil, err
		}
		m.filters = append(m.filters, f)
	}
	s.made[language] = m
	return m, nil
}

// stemmer finds the stems of one language's words and remembers them.
type stemmer struct {
	language string
	filters  []analysis.TokenFilter
	known    map[string]string
}

// knownMost bounds the memory of a stemmer: about 20 MB.
const knownMost = 200_000

// stem gives the folded stem of a word as written; "" for a stop word.
func (m *stemmer) stem(written string) string {
	if s, ok := m.known[written]; ok {
		return s
	}
	lower := strings.ReplaceAll(strings.ToLower(written), "’", "'")
	switch m.language {
	case "ru": // as Snowball's own rules do since 2018; bleve's are older
		lower = strings.ReplaceAll(lower, "ё", "е")
	case "en":
		if base := irregularEnglish(lower); base != "" {
			lower = base
		}
	}
	stream := analysis.TokenStream{{Term: []byte(lower), End: len(lower), Position: 1, Type: analysis.AlphaNumeric}}
	for _, f := range m.filters {
		stream = f.Filter(stream)
	}
	stem := ""
	for _, t := range stream {
		stem += string(t.Term)
	}
	stem = Fold(stem)
	if len(m.known) < knownMost {
		m.known[strings.Clone(written)] = stem
	}
	return stem
}
