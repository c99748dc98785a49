package index

import (
	"fmt"
	"slices"
	"strings"

	bleveindex "github.com/blevesearch/bleve_index_api"
)

// leaf is a word, prefix, fuzzy word or fact with the terms that stand for it.
type leaf struct {
	field string
	// exact is the term as typed, "" if there is none of its own; forms are
	// the other terms. All forms count as one word.
	exact string
	forms []string
	// exactIsForm tells that the exact term is not found again among what
	// forms stand for.
	exactIsForm bool
	scored      bool
	// df is about how many documents have one of the terms.
	df int
}

// Weights of an occurrence in another form than typed, and of one exactly as
// typed: rings found for ring counts a little less than ring.
const (
	formWeight  = 0.7
	exactWeight = 1.0
)

// resolve finds the terms of every leaf of the query.
func (e *evaluator) resolve(n node) error {
	var err error
	switch n := n.(type) {
	case andNode:
		for _, p := range n {
			if err := e.resolve(p); err != nil {
				return err
			}
		}
		return nil
	case orNode:
		return e.resolve(andNode(n))
	case notNode:
		// Nobody misses what is not wanted, nor wants it wider.
		missing, synonyms := e.missing, e.synonyms
		e.synonyms = nil
		err = e.resolve(n.of)
		e.missing, e.synonyms = missing, synonyms
		return err
	case *wordNode:
		if e.leaves[n], err = e.word(n); err == nil {
			err = e.widen(n, e.leaves[n])
		}
	case *phraseNode:
		e.leaves[n], err = e.phraseLeaf(n)
	case *prefixNode:
		e.leaves[n], err = e.startingWith(n)
	case *fuzzyNode:
		e.leaves[n], err = e.spelledLike(n)
	case *factNode:
		e.leaves[n], err = e.fact(n)
	}
	return err
}

// count is the number of documents with a term.
func (e *evaluator) count(field, term string) (int, error) {
	if e.i.lists != nil {
		return e.i.lists.count(field, term)
	}
	r, err := e.i.reader.TermFieldReader(e.ctx, []byte(term), field, false, false, false)
	if err != nil {
		return 0, err
	}
	df := int(r.Count())
	return df, r.Close()
}

// countAll adds up the counts of a leaf's terms.
func (e *evaluator) countAll(l *leaf) error {
	for _, t := range append([]string{l.exact}, l.forms...) {
		if err := e.ctx.Err(); err != nil {
			return err
		}
		if t == "" || t == l.exact && !l.exactIsForm && len(l.forms) > 0 {
			continue
		}
		n, err := e.count(l.field, t)
		if err != nil {
			return err
		}
		l.df += n
	}
	if l.exact != "" {
		n, err := e.count(l.field, l.exact)
		if err != nil {
			return err
		}
		l.df = max(l.df, n)
	}
	l.df = min(l.df, e.i.cols.live)
	return nil
}

// word finds the terms of a word and notes one that nobody said.
func (e *evaluator) word(n *wordNode) (*leaf, error) {
	l, err := e.wordLeaf(n.written)
	if err == nil && l.df == 0 {
		e.missing = append(e.missing, n.written)
	}
	return l, err
}

// wordLeaf finds the terms of a word: itself, and in each language of the
// bank the words with its stem.
func (e *evaluator) wordLeaf(written string) (*leaf, error) {
	l := &leaf{field: fieldSaid, exact: Fold(written), scored: true}
	for _, language := range e.i.cols.langs {
		m, err := e.i.stems.of(language)
		if err != nil {
			return nil, err
		}
		stem := m.stem(written)
		if stem == "" {
			continue
		}
		// A word that is its own stem stands in the index as itself only.
		if m.stem(stem) == stem {
			if stem == l.exact {
				l.exactIsForm = true
			} else if !slices.Contains(l.forms, stem) {
				l.forms = append(l.forms, stem)
			}
		}
		l.forms = append(l.forms, stemTerm(language, stem))
		if !isCapital(written) {
			if err := e.verb(l, m, strings.ToLower(written)); err != nil {
				return nil, err
			}
		}
	}
	if len(l.forms) == 0 {
		l.exactIsForm = true
	}
	return l, e.countAll(l)
}

// verb adds the other forms of a word, if it is a verb, that were said.
func (e *evaluator) verb(l *leaf, m *stemmer, written string) error {
	tried := map[string]bool{}
	for _, form := range verbForms(m.language, written) {
		stem := m.stem(form)
		if stem == "" || tried[stem] {
			continue
		}
		tried[stem] = true
		terms := []string{stemTerm(m.language, stem)}
		switch {
		case slices.Contains(notGerman, stem): // gefahren, and not Gefahr
			terms[0] = Fold(form)
		case m.stem(stem) == stem:
			terms = append(terms, stem)
		}
		for _, t := range terms {
			if t == l.exact || slices.Contains(l.forms, t) {
				continue
			}
			n, err := e.count(l.field, t)
			if err != nil {
				return err
			}
			if n > 0 {
				l.forms = append(l.forms, t)
			}
		}
	}
	return nil
}

// startingWith finds the words that start so.
func (e *evaluator) startingWith(n *prefixNode) (*leaf, error) {
	l := &leaf{field: fieldSaid, scored: true}
	dict, err := e.i.reader.FieldDictPrefix(fieldSaid, []byte(n.prefix))
	if err != nil {
		return nil, err
	}
	defer dict.Close()
	l.forms, err = dictTerms(dict, func(string) bool { return true })
	if err != nil {
		return nil, err
	}
	if err := e.countAll(l); err != nil {
		return nil, err
	}
	if l.df == 0 {
		e.missing = append(e.missing, n.prefix+"*")
	}
	return l, nil
}

// spelledLike finds the words spelt within some letters of a word.
func (e *evaluator) spelledLike(n *fuzzyNode) (*leaf, error) {
	l := &leaf{field: fieldSaid, exact: n.word, exactIsForm: true, scored: true}
	words, err := e.i.spelledLike(n.word, n.letters)
	if err != nil {
		return nil, err
	}
	for _, w := range words {
		if w != n.word {
			l.forms = append(l.forms, w)
		}
	}
	if err := e.countAll(l); err != nil {
		return nil, err
	}
	if l.df == 0 {
		e.missing = append(e.missing, n.word)
	}
	return l, nil
}

// fact finds the facts whose names match.
func (e *evaluator) fact(n *factNode) (*leaf, error) {
	l := &leaf{field: fieldFacts}
	start := string(n.kind) + n.prefix
	dict, err := e.i.reader.FieldDictPrefix(fieldFacts, []byte(start))
	if err != nil {
		return nil, err
	}
	defer dict.Close()
	l.forms, err = dictTerms(dict, func(term string) bool { return n.match(term[1:]) })
	if err != nil {
		return nil, err
	}
	if err := e.countAll(l); err != nil {
		return nil, err
	}
	switch n.kind {
	case factSpeaker, factTheme, factReel, factDay:
		names := []string{}
		if l.df > 0 {
			for _, t := range l.forms {
				names = append(names, t[1:])
			}
		}
		e.factNames[n.say] = names
	}
	return l, nil
}

// dictTerms lists the terms of a dictionary that are wanted.
func dictTerms(dict bleveindex.FieldDict, want func(string) bool) ([]string, error) {
	var terms []string
	for {
		entry, err := dict.Next()
		if err != nil {
			return nil, err
		}
		if entry == nil {
			return terms, nil
		}
		if !strings.HasPrefix(entry.Term, stemMark) && want(entry.Term) {
			terms = append(terms, strings.Clone(entry.Term))
		}
	}
}

// terms finds the documents that have one of a leaf's terms.
func (e *evaluator) terms(l *leaf, within []uint32) (hits, error) {
	if l == nil {
		return hits{}, fmt.Errorf("query: a part without terms")
	}
	var all [][]posting
	for _, t := range l.forms {
		list, _, err := e.read(l.field, t, within, l.scored)
		if err != nil {
			return hits{}, err
		}
		if len(list) > 0 {
			all = append(all, list)
		}
	}
	var exact []posting
	if l.exact != "" {
		var err error
		if exact, _, err = e.read(l.field, l.exact, within, l.scored); err != nil {
			return hits{}, err
		}
	}
	forms := gather(all)
	out := hits{make([]uint32, 0, len(exact)+len(forms)), make([]float32, 0, len(exact)+len(forms))}
	s := e.scorer(l.df)
	return l.weigh(&s, exact, forms, out), nil
}

// gather joins lists of postings, each in order, and adds up those of one
// document: each with its neighbour, until one is left.
func gather(all [][]posting) []posting {
	if len(all) == 0 {
		return nil
	}
	for ; len(all) > 1; all = all[:(len(all)+1)/2] {
		for k := range all {
			switch {
			case k%2 == 1:
				all[k/2] = added(all[k-1], all[k])
			case k == len(all)-1:
				all[k/2] = all[k]
			}
		}
	}
	return all[0]
}

// added joins two lists.
func added(x, y []posting) []posting {
	out := make([]posting, 0, len(x)+len(y))
	for len(x) > 0 && len(y) > 0 {
		switch a, b := x[0], y[0]; {
		case a.doc < b.doc:
			out, x = append(out, a), x[1:]
		case a.doc > b.doc:
			out, y = append(out, b), y[1:]
		default:
			out, x, y = append(out, posting{a.doc, a.tf + b.tf}), x[1:], y[1:]
		}
	}
	return append(append(out, x...), y...)
}

// weigh joins the occurrences as typed with those in other forms and scores
// each document; the hits go into the memory of out. s is not looked at for
// what has no score.
func (l *leaf) weigh(s *scorer, exact, forms []posting, out hits) hits {
	add := func(doc, exact, forms uint32) {
		if !l.scored {
			out.add(doc, 0)
			return
		}
		if !l.exactIsForm { // the forms' lists count the exact ones again
			forms -= min(forms, exact)
		}
		out.add(doc, s.weighed(doc, exact, forms))
	}
	out.docs, out.scores = out.docs[:0], out.scores[:0]
	i, j := 0, 0
	for i < len(exact) || j < len(forms) {
		switch {
		case j == len(forms) || i < len(exact) && exact[i].doc < forms[j].doc:
			add(exact[i].doc, exact[i].tf, 0)
			i++
		case i == len(exact) || forms[j].doc < exact[i].doc:
			add(forms[j].doc, 0, forms[j].tf)
			j++
		default:
			add(exact[i].doc, exact[i].tf, forms[j].tf)
			i++
			j++
		}
	}
	return out
}
