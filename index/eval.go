package index

import (
	"context"
	"math"
	"slices"

	bleveindex "github.com/blevesearch/bleve_index_api"
)

// hits are documents in order, with their scores.
type hits struct {
	docs   []uint32
	scores []float32
}

func (h *hits) add(doc uint32, score float32) {
	h.docs = append(h.docs, doc)
	h.scores = append(h.scores, score)
}

// evaluator answers one query. It reads posting lists term by term: every hit
// is wanted for totals and counts anyway, and merging sorted lists is cheaper
// than asking a tree of iterators for one document at a time.
type evaluator struct {
	i   *Index
	ctx context.Context
	// leaves holds the terms of each leaf of the query.
	leaves map[node]*leaf
	// factNames holds the names that a description took in.
	factNames map[string][]string
	missing   []string
	// synonyms is nil unless they are asked for; wide holds the terms of the
	// synonyms of each word, widened the synonyms.
	synonyms map[string][]likeMeaning
	wide     map[*wordNode][]*leaf
	widened  []string
	// alive is the set of all documents; see live.
	alive set
	spare []set // see free
}

func (i *Index) evaluator(ctx context.Context) *evaluator {
	return &evaluator{i: i, ctx: ctx, leaves: map[node]*leaf{}, factNames: map[string][]string{}, wide: map[*wordNode][]*leaf{}}
}

// run finds all hits of a query.
func (e *evaluator) run(n node) (hits, error) {
	if err := e.resolve(n); err != nil {
		return hits{}, err
	}
	return e.eval(n, nil)
}

// eval finds the hits of n; where within is not nil, only those among it.
func (e *evaluator) eval(n node, within []uint32) (hits, error) {
	if err := e.ctx.Err(); err != nil {
		return hits{}, err
	}
	switch n := n.(type) {
	case andNode:
		return e.and(n, within)
	case orNode:
		var sum hits
		for _, p := range n {
			h, err := e.eval(p, within)
			if err != nil {
				return hits{}, err
			}
			sum = either(sum, h)
		}
		return sum, nil
	case notNode:
		if within == nil {
			within = e.everything()
		}
		h, err := e.eval(n.of, within)
		if err != nil {
			return hits{}, err
		}
		rest := without(within, h.docs)
		return hits{rest, make([]float32, len(rest))}, nil
	case *wordNode:
		return e.wordHits(n, within)
	case *phraseNode:
		return e.phrase(n, within)
	case *codeNode:
		return e.code(n, within)
	}
	return e.terms(e.leaves[n], within)
}

// and evaluates the rarest part first and looks for the others only among its
// hits; what is not wanted comes last.
func (e *evaluator) and(parts andNode, within []uint32) (hits, error) {
	var sum hits
	for k, p := range e.inOrder(parts) {
		h, err := e.eval(p, within)
		if err != nil {
			return hits{}, err
		}
		if k == 0 {
			sum = h
		} else {
			sum = both(sum, h)
		}
		if len(sum.docs) == 0 {
			return hits{}, nil
		}
		within = sum.docs
	}
	return sum, nil
}

// inOrder puts parts in the order of their costs.
func (e *evaluator) inOrder(parts andNode) andNode {
	parts = slices.Clone(parts)
	slices.SortStableFunc(parts, func(a, b node) int { return e.cost(a) - e.cost(b) })
	return parts
}

// cost guesses how many hits a part has.
func (e *evaluator) cost(n node) int {
	sum := 0
	switch n := n.(type) {
	case andNode:
		sum = math.MaxInt
		for _, p := range n {
			sum = min(sum, e.cost(p))
		}
	case orNode:
		for _, p := range n {
			sum += min(e.cost(p), math.MaxInt32)
		}
	case notNode:
		return math.MaxInt
	case *codeNode:
		return 1
	case *wordNode:
		sum = e.leaves[n].df
		for _, l := range e.wide[n] {
			sum += l.df
		}
	default:
		return e.leaves[n].df
	}
	return sum
}

// everything lists all live documents.
func (e *evaluator) everything() []uint32 {
	ranks := e.i.cols.array(colRank)
	docs := make([]uint32, 0, e.i.cols.live)
	for d := range uint32(e.i.cols.docs) {
		if ranks.at(d) != noRank {
			docs = append(docs, d)
		}
	}
	return docs
}

func (e *evaluator) code(n *codeNode, within []uint32) (hits, error) {
	list, _, err := e.read(fieldID, n.code, within, false)
	if err != nil {
		return hits{}, err
	}
	var h hits
	for _, p := range list {
		h.add(p.doc, 0)
	}
	return h, nil
}

// skipWhen tells when jumping from candidate to candidate beats reading a
// list to its end: a jump costs about as much as a dozen steps.
const skipWhen = 12

// read reads a term's list, or its part within some documents; df is the
// length of the whole list. Without freq each tf is 1.
func (e *evaluator) read(field, term string, within []uint32, freq bool) (list []posting, df int, err error) {
	if df, err = e.count(field, term); err != nil || df == 0 || within != nil && len(within) == 0 {
		return nil, df, err
	}
	jump := within != nil && len(within)*skipWhen < df
	if !jump && e.i.lists != nil {
		list, err = e.i.lists.read(field, term, freq, make([]posting, 0, df))
		return list, df, err
	}
	r, err := e.i.reader.TermFieldReader(e.ctx, []byte(term), field, freq, false, false)
	if err != nil {
		return nil, 0, err
	}
	defer r.Close()
	if jump {
		list, err = among(r, within, freq)
		return list, df, err
	}
	list = make([]posting, 0, df)
	var tfd bleveindex.TermFieldDoc
	for {
		d, err := r.Next(tfd.Reset())
		if err != nil {
			return nil, 0, err
		}
		if d == nil {
			return list, df, nil
		}
		list = append(list, postingOf(d, freq))
	}
}

func postingOf(d *bleveindex.TermFieldDoc, freq bool) posting {
	if freq {
		return posting{uint32(d.ID.Value()), uint32(d.Freq)}
	}
	return posting{uint32(d.ID.Value()), 1}
}

// among jumps from one of some documents to the next.
func among(r bleveindex.TermFieldReader, docs []uint32, freq bool) (list []posting, err error) {
	var tfd bleveindex.TermFieldDoc
	var id bleveindex.IndexInternalID
	next := uint32(0)
	for _, doc := range docs {
		if doc < next {
			continue
		}
		id = bleveindex.NewIndexInternalID(id, uint64(doc))
		d, err := r.Advance(id, tfd.Reset())
		if err != nil {
			return nil, err
		}
		if d == nil {
			break
		}
		next = uint32(d.ID.Value())
		if _, ok := slices.BinarySearch(docs, next); ok {
			list = append(list, postingOf(d, freq))
			next++
		}
	}
	return list, nil
}

// k1 and b are the usual constants of BM25; see the package comment.
const (
	k1 = 1.2
	b  = 0.75
)

// scorer gives BM25 scores.
type scorer struct {
	idf         float64
	none, perOf float64 // k1 (1 - b), and k1 b per word of average length
	lengths     column
	// known holds the scores of usual counts and lengths, 0 where none was
	// asked for yet.
	known *[knownForms][knownForms][knownLengths]float32
}

// knownForms and knownLengths are under which counts and lengths scores are
// remembered.
const knownForms, knownLengths = 4, 128

func (e *evaluator) scorer(df int) scorer {
	n := float64(e.i.cols.live)
	f := min(float64(df), n)
	average := max(float64(e.i.cols.words), 1) / max(n, 1)
	return scorer{
		idf:  math.Log(1 + (n-f+0.5)/(f+0.5)),
		none: k1 * (1 - b), perOf: k1 * b / average,
		lengths: e.i.cols.array(colLength),
	}
}

// score is the score of a term that stands so often in a document.
func (s *scorer) score(doc uint32, tf float64) float32 { return s.of(tf, s.lengths.at(doc)) }

func (s *scorer) of(tf float64, length uint32) float32 {
	return float32(s.idf * tf * (k1 + 1) / (tf + s.none + s.perOf*float64(length)))
}

// ofWord is the score of a word that stands so often as typed and so often in
// other forms in a document of this length.
func (s *scorer) ofWord(exact, forms, length uint32) float32 {
	return s.of(exactWeight*float64(exact)+formWeight*float64(forms), length)
}

// weighed is the score of a word in a document.
func (s *scorer) weighed(doc, exact, forms uint32) float32 {
	length := s.lengths.at(doc)
	if exact >= knownForms || forms >= knownForms || length >= knownLengths {
		return s.ofWord(exact, forms, length)
	}
	if s.known == nil {
		s.known = new([knownForms][knownForms][knownLengths]float32)
	}
	k := &s.known[exact][forms][length]
	if *k == 0 {
		*k = s.ofWord(exact, forms, length)
	}
	return *k
}

// both keeps documents that are in x and in y and adds their scores.
func both(x, y hits) hits {
	var out hits
	for i, j := 0, 0; i < len(x.docs) && j < len(y.docs); {
		switch a, b := x.docs[i], y.docs[j]; {
		case a < b:
			i++
		case a > b:
			j++
		default:
			out.add(a, x.scores[i]+y.scores[j])
			i++
			j++
		}
	}
	return out
}

// either keeps documents that are in x or in y and adds their scores.
func either(x, y hits) hits {
	if len(x.docs) == 0 {
		return y
	}
	out := hits{make([]uint32, 0, len(x.docs)+len(y.docs)), make([]float32, 0, len(x.docs)+len(y.docs))}
	i, j := 0, 0
	for i < len(x.docs) || j < len(y.docs) {
		switch {
		case j == len(y.docs) || i < len(x.docs) && x.docs[i] < y.docs[j]:
			out.add(x.docs[i], x.scores[i])
			i++
		case i == len(x.docs) || y.docs[j] < x.docs[i]:
			out.add(y.docs[j], y.scores[j])
			j++
		default:
			out.add(x.docs[i], x.scores[i]+y.scores[j])
			i++
			j++
		}
	}
	return out
}

// without keeps what is in x and not in y.
func without(x, y []uint32) []uint32 {
	out := make([]uint32, 0, len(x))
	j := 0
	for _, d := range x {
		for j < len(y) && y[j] < d {
			j++
		}
		if j == len(y) || y[j] != d {
			out = append(out, d)
		}
	}
	return out
}
