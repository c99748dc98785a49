package index

import (
	"bytes"
	"compress/gzip"
	_ "embed"
	"fmt"
	"io"
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

// Synonyms gives a function that lists the synonyms of an English word as
// written, nearest first, eight at most.
func Synonyms() (func(word string) []string, error) {
	t, err := synonyms()
	if err != nil {
		return nil, err
	}
	return t.of, nil
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

// widensIn is the language that synonyms are known for.
const widensIn = "en"

// widen finds the synonyms of a word that somebody said.
func (e *evaluator) widen(n *wordNode, own *leaf) error {
	langs := e.i.cols.langs
	if e.synonyms == nil || e.isStop(n) || len(langs) > 0 && !slices.Contains(langs, widensIn) {
		return nil
	}
	for _, w := range e.synonyms.of(n.written) {
		l, err := e.wordLeaf(w)
		if err != nil {
			return err
		}
		same := slices.ContainsFunc(l.forms, func(f string) bool { return slices.Contains(own.forms, f) || f == own.exact }) ||
			slices.Contains(own.forms, l.exact)
		if l.df == 0 || same {
			continue
		}
		e.wide[n] = append(e.wide[n], l)
		if !slices.Contains(e.widened, w) {
			e.widened = append(e.widened, w)
		}
	}
	return nil
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
		if l != widensIn {
			out = append(out, l)
		}
	}
	return out
}
