package index

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/story"
)

// ErrNoQuote is wrapped where a code is not in the index.
var ErrNoQuote = errors.New("no such quote in the index")

// LikeOptions are what to look for with Like.
type LikeOptions struct {
	// Limit is how many hits are wanted: 0 means 20, less than 0 all.
	Limit int
	// SameReel keeps to the reel of the quote itself.
	SameReel bool
}

const (
	// likeWords is how many words of a quote are looked for, the rarest.
	likeWords = 30
	// likeCommon is in how many quotes, or in a twentieth of all, a word may
	// stand and still tell something; the likeFewest first are always used.
	likeCommon, likeFewest = 1000, 3
	// likeAround is how many quotes before and after lend their words, each
	// word counting likeAroundWeight: one sentence alone is often too short
	// to say what it is about.
	likeAround       = 5
	likeAroundWeight = 0.5
)

// Like finds quotes that say something similar to this one, best first: with
// its telling words and, weaker, those said right around it, by BM25 and by
// what is said around (see Query.Smooth). The quote itself is not among them.
// Score is at most 1. Marks are its own words where a hit has them. A quote
// without a telling word gives none; a code that is not there ErrNoQuote.
func (i *Index) Like(ctx context.Context, code story.Code, opt LikeOptions) (hits []Hit, err error) {
	defer caught(&err)
	e := i.evaluator(ctx)
	found, terms, err := e.like(code, opt.SameReel)
	if err != nil {
		return nil, fmt.Errorf("like: %w", err)
	}
	limit := opt.Limit
	switch {
	case limit == 0:
		limit = defaultLimit
	case limit < 0:
		limit = len(found.docs)
	}
	hits, err = e.withMarks(i.best(found, 0, limit), terms)
	if err != nil {
		return nil, fmt.Errorf("like: %w", err)
	}
	return hits, nil
}

// like finds all that is like a quote, and the words that it was found by.
func (e *evaluator) like(code story.Code, sameReel bool) (hits, []tellingTerm, error) {
	doc, _, err := e.i.document(code)
	if err != nil {
		return hits{}, nil, err
	}
	terms, err := e.telling(doc, likeAround)
	if err != nil {
		return hits{}, nil, err
	}
	own, err := e.any(terms)
	if err != nil {
		return hits{}, nil, err
	}
	// What the quote has itself would spread to its neighbours.
	own = e.i.leaveOut(own, doc)
	var within []uint32
	if sameReel {
		reels := e.i.cols.array(colReel)
		for d := range uint32(e.i.cols.docs) {
			if reels.at(d) == reels.at(doc) {
				within = append(within, d)
			}
		}
	}
	return e.i.leaveOut(e.i.fuse(own, within), doc), terms, nil
}

// any finds the documents with any of the terms that are looked for: the
// first likeWords of them that aren't too common to tell anything.
func (e *evaluator) any(terms []tellingTerm) (hits, error) {
	sum := make([]float32, e.i.cols.docs)
	common := max(likeCommon, e.i.cols.live/20)
	for k, t := range terms[:min(likeWords, len(terms))] {
		if t.leaf.df > common && k >= likeFewest {
			continue
		}
		h, err := e.terms(t.leaf, nil)
		if err != nil {
			return hits{}, err
		}
		for n, d := range h.docs {
			sum[d] += t.weight * h.scores[n]
		}
	}
	var out hits
	for d, s := range sum {
		if s > 0 {
			out.add(uint32(d), s)
		}
	}
	return out, nil
}

// withMarks makes hits and marks the terms that are the quote's own.
func (e *evaluator) withMarks(best []ranked, terms []tellingTerm) ([]Hit, error) {
	var words orNode
	for _, t := range terms {
		if t.weight == 1 {
			n := &wordNode{}
			e.leaves[n] = t.leaf
			words = append(words, n)
		}
	}
	marks, err := e.marks(words, best)
	if err != nil {
		return nil, err
	}
	out := make([]Hit, len(best))
	for k, r := range best {
		out[k] = Hit{Code: e.i.cols.code(r.doc), Score: float64(r.score), Marks: marks[k]}
	}
	return out, nil
}

// document finds the number and the sketch of a quote.
func (i *Index) document(code story.Code) (uint32, sketch, error) {
	h, err := i.evaluator(context.Background()).code(&codeNode{string(code)}, nil)
	if err != nil {
		return 0, nil, err
	}
	if len(h.docs) == 0 {
		return 0, nil, fmt.Errorf("%s: %w", code, ErrNoQuote)
	}
	return h.docs[0], i.cols.sketch(h.docs[0]), nil
}

// leaveOut takes one document out.
func (i *Index) leaveOut(h hits, doc uint32) hits {
	if k, ok := slices.BinarySearch(h.docs, doc); ok {
		h.docs = slices.Delete(h.docs, k, k+1)
		h.scores = slices.Delete(h.scores, k, k+1)
	}
	return h
}

// around lists the documents up to n before and after one in its reel.
func (i *Index) around(doc uint32, n int) []uint32 {
	order, reels := i.byRank(), i.cols.array(colReel)
	rank := int(i.cols.array(colRank).at(doc))
	var out []uint32
	for r := max(rank-n, 0); r <= min(rank+n, len(order)-1); r++ {
		if d := order[r]; d != doc && reels.at(d) == reels.at(doc) {
			out = append(out, d)
		}
	}
	return out
}

// tellingTerm is a word of a quote with all its forms.
type tellingTerm struct {
	stem   string
	leaf   *leaf
	weight float32
}

// telling finds the words of a document, rarest first, and those of up to n
// documents before and after. The index keeps no text: the terms of the
// dictionary whose hash is in a sketch are looked up in the document.
func (e *evaluator) telling(doc uint32, n int) ([]tellingTerm, error) {
	docs := append([]uint32{doc}, e.i.around(doc, n)...)
	slices.Sort(docs)
	wanted := map[uint16]bool{}
	own := map[uint16]bool{}
	for _, d := range docs {
		for _, h := range e.i.cols.sketch(d) {
			wanted[h] = true
			own[h] = own[h] || d == doc
		}
	}
	byStem, err := e.dictionary(wanted)
	if err != nil {
		return nil, err
	}
	var out []tellingTerm
	for stem, forms := range byStem {
		l := &leaf{field: fieldSaid, forms: forms, scored: true}
		said, saidHere := false, false
		for _, t := range forms {
			list, df, err := e.read(fieldSaid, t, docs, false)
			if err != nil {
				return nil, err
			}
			l.df += df
			for _, p := range list {
				said = true
				saidHere = saidHere || p.doc == doc && own[sketchHash(stem)]
			}
		}
		if !said || l.df < 2 {
			continue
		}
		l.df = min(l.df, e.i.cols.live)
		t := tellingTerm{stem, l, likeAroundWeight}
		if saidHere {
			t.weight = 1
		}
		out = append(out, t)
	}
	slices.SortFunc(out, func(a, b tellingTerm) int {
		return cmp.Or(cmp.Compare(b.weight, a.weight), cmp.Compare(a.leaf.df, b.leaf.df), strings.Compare(a.leaf.forms[0], b.leaf.forms[0]))
	})
	return out, nil
}

// dictionary finds the terms whose stem has one of the hashes, by stem.
func (e *evaluator) dictionary(wanted map[uint16]bool) (map[string][]string, error) {
	dict, err := e.i.reader.FieldDict(fieldSaid)
	if err != nil {
		return nil, err
	}
	defer dict.Close()
	out := map[string][]string{}
	for n := 0; ; n++ {
		entry, err := dict.Next()
		if err == nil && n%4096 == 0 {
			err = e.ctx.Err()
		}
		if err != nil {
			return nil, err
		}
		if entry == nil {
			return out, nil
		}
		stem := entry.Term
		if rest, ok := strings.CutPrefix(stem, stemMark); ok {
			_, stem, _ = strings.Cut(rest, ":")
		}
		if wanted[sketchHash(stem)] {
			stem = strings.Clone(stem)
			out[stem] = append(out[stem], strings.Clone(entry.Term))
		}
	}
}
