package index

import (
	"slices"

	bleveindex "github.com/blevesearch/bleve_index_api"
)

// phraseLeaf guesses the cost of a phrase and notes words that nobody said.
func (e *evaluator) phraseLeaf(n *phraseNode) (*leaf, error) {
	l := &leaf{df: -1}
	for _, w := range n.words {
		c, err := e.count(fieldSaid, w)
		if err != nil {
			return nil, err
		}
		if c == 0 {
			e.missing = append(e.missing, w)
		}
		if l.df < 0 || c < l.df {
			l.df = c
		}
	}
	return l, nil
}

// phrase finds documents in which the words stand next to each other. It
// scores like a word that occurs as often as the phrase and is as rare as all
// its words together.
func (e *evaluator) phrase(n *phraseNode, within []uint32) (hits, error) {
	type counted struct {
		word string
		df   int
	}
	words := make([]counted, len(n.words))
	for k, w := range n.words {
		df, err := e.count(fieldSaid, w)
		if err != nil {
			return hits{}, err
		}
		words[k] = counted{w, df}
	}
	slices.SortStableFunc(words, func(a, b counted) int { return a.df - b.df })
	docs := within
	for _, w := range words {
		list, _, err := e.read(fieldSaid, w.word, docs, false)
		if err != nil {
			return hits{}, err
		}
		docs = common(docs, list)
		if len(docs) == 0 {
			return hits{}, nil
		}
	}
	places, err := e.places(n.words, docs)
	if err != nil {
		return hits{}, err
	}
	var s scorer
	idf := 0.0
	for _, w := range words {
		s = e.scorer(w.df)
		idf += s.idf
	}
	s.idf = idf
	var out hits
	for k, d := range docs {
		if tf := len(places[k]); tf > 0 {
			out.add(d, s.score(d, float64(tf)))
		}
	}
	return out, nil
}

// common keeps the documents of a list that are among docs (nil: all).
func common(docs []uint32, list []posting) []uint32 {
	out := make([]uint32, 0, len(list))
	j := 0
	for _, p := range list {
		if docs != nil {
			for j < len(docs) && docs[j] < p.doc {
				j++
			}
			if j == len(docs) {
				break
			}
			if docs[j] != p.doc {
				continue
			}
		}
		out = append(out, p.doc)
	}
	return out
}

// place is one occurrence: the word's number in the text and its bytes.
type place struct {
	pos        uint64
	start, end int
}

// places finds where the words stand next to each other in each of docs,
// which are in order.
func (e *evaluator) places(words []string, docs []uint32) ([][]place, error) {
	var runs [][]place
	for k, w := range words {
		at, err := e.occurrences(w, docs)
		if err != nil {
			return nil, err
		}
		if k == 0 {
			runs = at
			continue
		}
		for d := range docs {
			runs[d] = follow(runs[d], at[d], uint64(k))
		}
	}
	return runs, nil
}

// follow keeps the runs that go on with an occurrence k words after their
// start, and lengthens them.
func follow(runs, next []place, k uint64) []place {
	out := runs[:0]
	for _, r := range runs {
		for _, o := range next {
			if o.pos == r.pos+k {
				r.end = o.end
				out = append(out, r)
				break
			}
		}
	}
	return out
}

// fewPlaces is for how many documents the places of a term are looked up one
// by one.
const fewPlaces = 200

// occurrences lists where a term stands in each of docs, which are in order.
func (e *evaluator) occurrences(term string, docs []uint32) ([][]place, error) {
	if len(docs) <= fewPlaces && e.i.lists != nil {
		return e.i.lists.occurrences(fieldSaid, term, docs)
	}
	out := make([][]place, len(docs))
	r, err := e.i.reader.TermFieldReader(e.ctx, []byte(term), fieldSaid, true, false, true)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	if r.Count() == 0 {
		return out, nil
	}
	var tfd bleveindex.TermFieldDoc
	var id bleveindex.IndexInternalID
	var d *bleveindex.TermFieldDoc
	for k, doc := range docs {
		if d == nil || uint32(d.ID.Value()) < doc {
			id = bleveindex.NewIndexInternalID(id, uint64(doc))
			if d, err = r.Advance(id, tfd.Reset()); err != nil {
				return nil, err
			}
			if d == nil {
				break
			}
		}
		if uint32(d.ID.Value()) != doc {
			continue
		}
		for _, v := range d.Vectors {
			out[k] = append(out[k], place{v.Pos, int(v.Start), int(v.End)})
		}
	}
	return out, nil
}
