package index

import (
	"bytes"
	"compress/gzip"
	_ "embed"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
)

// synonymsEN is made from WordNet 3.0; see wordnet/README.md.
//
//go:embed wordnet/synonyms.gz
var synonymsEN string

// thesaurus knows the synonyms of one language's words: lines of a word, a
// tab and its synonyms, in the order of words.
type thesaurus struct{ lines string }

// synonyms unpacks the English thesaurus: some milliseconds and 1.6 MB, paid
// only where it is asked for.
func synonyms() (*thesaurus, error) {
	z, err := gzip.NewReader(strings.NewReader(synonymsEN))
	if err != nil {
		return nil, fmt.Errorf("synonyms: %w", err)
	}
	var b bytes.Buffer
	if _, err := io.Copy(&b, z); err != nil {
		return nil, fmt.Errorf("synonyms: %w", err)
	}
	return &thesaurus{b.String()}, nil
}

// Synonyms lists the synonyms of a word as written, nearest first. Those of
// other languages than English, named by their BCP 47 tags, come from thesaurus
// files in folders. What it knows of a language is read when it is first asked
// for. Not for use by several goroutines at once.
func Synonyms(folders []string) func(language, word string) ([]string, error) {
	known, stems := map[string][]likeMeaning{}, &stemmers{}
	return func(language, word string) (out []string, err error) {
		language = languageName(language)
		list, ok := known[language]
		if !ok {
			if list, err = meaningsOf(language, folders, stems); err != nil {
				return nil, err
			}
			known[language] = list
		}
		for _, t := range list {
			words, err := t.like(word)
			if err != nil {
				return nil, err
			}
			out = append(out, words...)
		}
		return out, nil
	}
}

// meaningsOf opens what is known of a language: WordNet for English, for
// others the thesaurus files in folders.
func meaningsOf(language string, folders []string, stems *stemmers) ([]likeMeaning, error) {
	if language == widensIn {
		t, err := synonyms()
		return []likeMeaning{t}, err
	}
	m, err := stems.of(language)
	if err != nil || m == nil {
		return nil, err
	}
	files, err := openThesauri(folders, language, m)
	var out []likeMeaning
	for _, t := range files {
		out = append(out, t)
	}
	return out, err
}

// likeMeaning gives the words that mean the same as a word as typed, in small
// letters, nearest first.
type likeMeaning interface {
	like(written string) ([]string, error)
}

func (t *thesaurus) like(written string) ([]string, error) { return t.of(written), nil }

// thesauri opens what is known of the languages of the bank.
func (i *Index) thesauri(folders []string) (map[string][]likeMeaning, error) {
	langs := i.cols.langs
	if len(langs) == 0 {
		langs = []string{widensIn}
	}
	out := map[string][]likeMeaning{}
	for _, l := range langs {
		var err error
		if out[l], err = meaningsOf(l, folders, &i.stems); err != nil {
			return nil, err
		}
	}
	return out, nil
}

// line gives the synonyms of a word in its base form.
func (t *thesaurus) line(w string) []string {
	low, high := 0, len(t.lines)
	for low < high {
		start := strings.LastIndexByte(t.lines[:(low+high)/2], '\n') + 1
		end := start + strings.IndexByte(t.lines[start:], '\n')
		word, rest, _ := strings.Cut(t.lines[start:end], "\t")
		switch c := strings.Compare(word, w); {
		case c == 0:
			return strings.Fields(rest)
		case c < 0:
			low = end + 1
		default:
			high = start
		}
	}
	return nil
}

// mostSynonyms bounds the synonyms of one word.
const mostSynonyms = 8

// of gives the synonyms of a word as typed, nearest first: those of the word
// as it stands and of its base form ("ringing" and "ring") in turn.
func (t *thesaurus) of(written string) []string {
	w := Fold(written)
	own, base := t.line(w), t.base(w)
	var out []string
	for k := 0; k < max(len(own), len(base)) && len(out) < mostSynonyms; k++ {
		for _, list := range [][]string{own, base} {
			if k < len(list) && list[k] != w && !slices.Contains(out, list[k]) {
				out = append(out, list[k])
			}
		}
	}
	return out
}

// base gives the synonyms of the base form of a word. Endings are taken off
// by the rules of WordNet's own morphy (its manual page morphy.7WN, recalled)
// until a word is known.
func (t *thesaurus) base(w string) []string {
	if b := irregularEnglish(w); b != "" {
		return t.line(b)
	}
	for _, rule := range [...][2]string{
		{"ies", "y"},
		{"men", "man"},
		{"es", "e"},
		{"es", ""},
		{"s", ""},
		{"ied", "y"},
		{"ed", "e"},
		{"ed", ""},
		{"ing", "e"},
		{"ing", ""},
		{"ier", "y"},
		{"er", "e"},
		{"er", ""},
		{"iest", "y"},
		{"est", "e"},
		{"est", ""},
	} {
		start, ok := strings.CutSuffix(w, rule[0])
		if !ok || len(start) < 2 {
			continue
		}
		if s := t.line(start + rule[1]); s != nil {
			return s
		}
		if n := len(start); rule[1] == "" && n > 3 && start[n-1] == start[n-2] { // running
			if s := t.line(start[:n-1]); s != nil {
				return s
			}
		}
	}
	return nil
}

// synonymWeight is what a synonym counts where the word itself counts 1.
const synonymWeight = 0.3

// widensIn is the language that synonyms are always known for.
const widensIn = "en"

// widen finds the synonyms of a word that somebody said.
func (e *evaluator) widen(n *wordNode, own *leaf) error {
	if e.isStop(n) {
		return nil
	}
	for _, l := range slices.Sorted(maps.Keys(e.synonyms)) {
		said := 0
		for _, t := range e.synonyms[l] {
			words, err := t.like(n.written)
			if err != nil {
				return err
			}
			if said, err = e.widenBy(n, own, words, said); err != nil {
				return err
			}
		}
	}
	return nil
}

// widenBy adds the words that somebody said to a word's synonyms, mostSynonyms
// with those already added at most.
func (e *evaluator) widenBy(n *wordNode, own *leaf, words []string, said int) (int, error) {
	for _, w := range words {
		if said == mostSynonyms {
			break
		}
		l, err := e.wordLeaf(w)
		if err != nil {
			return said, err
		}
		same := slices.ContainsFunc(l.forms, func(f string) bool { return slices.Contains(own.forms, f) || f == own.exact }) ||
			slices.Contains(own.forms, l.exact)
		if l.df == 0 || same {
			continue
		}
		said++
		e.wide[n] = append(e.wide[n], l)
		if !slices.Contains(e.widened, w) {
			e.widened = append(e.widened, w)
		}
	}
	return said, nil
}

// wordHits finds the documents with a word or, where synonyms were asked for,
// one of them.
func (e *evaluator) wordHits(n *wordNode, within []uint32) (hits, error) {
	sum, err := e.terms(e.leaves[n], within)
	if err != nil || len(e.wide[n]) == 0 {
		return sum, err
	}
	var near hits
	for _, l := range e.wide[n] {
		h, err := e.terms(l, within)
		if err != nil {
			return hits{}, err
		}
		near = either(near, h)
	}
	for k := range near.scores {
		near.scores[k] *= synonymWeight
	}
	return either(sum, near), nil
}

// notWidened lists the languages of the bank that no synonyms are known for.
func (e *evaluator) notWidened() []string {
	var out []string
	for _, l := range e.i.cols.langs {
		if len(e.synonyms[l]) == 0 {
			out = append(out, l)
		}
	}
	return out
}
