package index

import (
	"errors"
	"slices"
	"sync"
)

// A common word has more hits than are worth holding. Where only the best are
// wanted, and how many there are, the hits are found as sets, a bit for each
// document, and counted there. The lists are read once, stretch by stretch;
// most of what is in them can't be among the best and is passed over.

// stretch is how many documents are read together.
const stretch = 1 << 13

// piece is a part of a resolved query with the documents that match it.
type piece struct {
	how   joint
	parts []*piece
	docs  set
	// What is scored has its score either in lists that are to be read or in
	// hits that were all found at once.
	leaf  *leaf
	said  []string // the terms of the leaf that anybody said
	all   set      // docs and those that were taken out
	found hits
	// scores are those of sweeper.several, less than 0 where one is not in
	// docs.
	scores []float32
}

// joint tells how the documents of a part come about.
type joint byte

const (
	unscored joint = iota // by lists, without score
	scored                // by lists or hits
	allOf                 // of its parts
	anyOf
	noneOf
)

// sweeper finds the best hits of a query.
type sweeper struct {
	e    *evaluator
	root *piece
	// from are all scored parts; several the hits that are in more than one
	// of them, in order.
	from    []*piece
	several []uint32
}

// look is a look at one hit after the other. Each part is read in a look of
// its own, with the best that it alone has.
type look struct {
	*sweeper
	best *top
	// The hit that is looked at: its place among several, or -1 and the only
	// part that it is in, with its score there.
	doc   uint32
	at    int
	only  *piece
	score float32
}

// sweep finds all hits of a resolved query and puts the best of them, with
// their scores, into best.
func (e *evaluator) sweep(n node, best *top) (set, error) {
	s := &sweeper{e: e}
	var err error
	if s.root, err = s.piece(n); err != nil {
		return nil, err
	}
	hits := s.root.docs
	if s.root.how == scored {
		return hits, (&look{sweeper: s, best: best}).read(s.root, false)
	}
	once, twice := e.newSet(), e.newSet()
	for _, p := range s.from {
		for k, w := range p.docs {
			w &= hits[k]
			twice[k] |= once[k] & w
			once[k] |= w
		}
	}
	s.several = twice.list()
	if err := s.readAll(twice, best); err != nil {
		return nil, err
	}
	l := &look{sweeper: s, best: best}
	l.offerSeveral()
	if best.takes(0) {
		// Those that only match what has no score come last.
		l.at = -1
		rest := twice
		for k, w := range hits {
			rest[k] = w &^ once[k]
		}
		rest.each(func(d uint32) { l.doc = d; l.offer() })
	}
	e.free(once)
	e.free(twice)
	return hits, nil
}

// readAll reads all scored parts side by side; twice are the hits in more
// than one of them.
func (s *sweeper) readAll(twice set, best *top) error {
	looks, errs := make([]look, len(s.from)), make([]error, len(s.from))
	var reading sync.WaitGroup
	for k, p := range s.from {
		looks[k] = look{sweeper: s, best: &top{want: best.want, cols: best.cols}}
		shared := s.root.docs.countBoth(p.docs) == twice.countBoth(p.docs)
		reading.Go(func() {
			defer caught(&errs[k])
			errs[k] = looks[k].read(p, shared)
		})
	}
	reading.Wait()
	for _, l := range looks {
		for _, r := range l.best.heap {
			best.offer(r.doc, r.score)
		}
	}
	return errors.Join(errs...)
}

// piece finds the documents of a node.
func (s *sweeper) piece(n node) (p *piece, err error) {
	p = &piece{how: scored}
	switch n := n.(type) {
	case *wordNode, *prefixNode, *fuzzyNode, *factNode:
		if w, ok := n.(*wordNode); ok && len(s.e.wide[w]) > 0 || s.e.i.lists == nil {
			break
		}
		p.leaf = s.e.leaves[n]
		if !p.leaf.scored {
			p.how = unscored
		} else {
			s.from = append(s.from, p)
		}
		return p, s.leaf(p)
	case andNode:
		return s.joined(allOf, s.e.inOrder(n))
	case orNode:
		return s.joined(anyOf, n)
	case notNode:
		return s.joined(noneOf, []node{n.of})
	}
	p.found, err = s.e.eval(n, nil)
	p.docs = s.e.newSet()
	for _, d := range p.found.docs {
		p.docs.put(d)
	}
	s.from = append(s.from, p)
	return p, err
}

func (s *sweeper) leaf(p *piece) (err error) {
	terms := p.leaf.forms
	if p.leaf.exact != "" {
		terms = append([]string{p.leaf.exact}, terms...)
	}
	p.all, p.said, err = s.e.leafSet(p.leaf.field, terms)
	if p.docs = p.all; err == nil && s.e.i.cols.live < s.e.i.docs {
		p.docs = slices.Clone(p.all)
		p.docs.keep(s.e.live())
	}
	return err
}

func (s *sweeper) joined(how joint, of []node) (*piece, error) {
	p := &piece{how: how, docs: s.e.newSet()}
	if how != anyOf {
		p.docs.add(s.e.live())
	}
	for _, n := range of {
		o, err := s.piece(n)
		if err != nil {
			return nil, err
		}
		p.parts = append(p.parts, o)
		switch how {
		case allOf:
			p.docs.keep(o.docs)
		case anyOf:
			p.docs.add(o.docs)
		case noneOf:
			p.docs.drop(o.docs)
		}
	}
	return p, nil
}

// read reads the scores of a scored part. shared tells that all its hits are
// among several.
func (s *look) read(p *piece, shared bool) error {
	p.scores = make([]float32, len(s.several))
	for m := range p.scores {
		p.scores[m] = -1
	}
	switch {
	case p.leaf == nil:
		s.take(p, 0, p.found)
	case shared && len(s.several) == 0:
	case shared && len(s.several)*skipWhen < p.leaf.df:
		h, err := s.e.terms(p.leaf, s.several)
		if err != nil {
			return err
		}
		s.take(p, 0, h)
	case len(p.said) == 1:
		return s.scan(p)
	default:
		lists, m := s.e.leafLists(p.leaf), 0
		for start := 0; start < s.e.i.docs; start += stretch {
			if err := s.e.ctx.Err(); err != nil {
				return err
			}
			h, err := lists.upTo(uint32(start + stretch))
			if err != nil {
				return err
			}
			m = s.take(p, m, h)
		}
	}
	return nil
}

// take notes the scores of several, of which those before m are noted, and
// offers the other hits; it gives the next m.
func (s *look) take(p *piece, m int, found hits) int {
	s.at, s.only = -1, p
	for k, d := range found.docs {
		for m < len(s.several) && s.several[m] < d {
			m++
		}
		switch {
		case m < len(s.several) && s.several[m] == d:
			p.scores[m] = found.scores[k]
		case s.best.takes(found.scores[k]) && s.root.docs.has(d):
			s.doc, s.score = d, found.scores[k]
			s.offer()
		}
	}
	return m
}

// offerSeveral offers the hits that are in more than one part. None has more
// than what its parts' scores come to; that sum may be rounded otherwise.
func (s *look) offerSeveral() {
	const rounding = 1 + 1e-5
	s.only = nil
	for m, doc := range s.several {
		most := float32(0)
		for _, p := range s.from {
			most += max(p.scores[m], 0)
		}
		if s.best.takes(most * rounding) {
			s.at, s.doc = m, doc
			s.offer()
		}
	}
}

// offer gives the hit that is looked at to the best ones.
func (s *look) offer() {
	score, _ := s.of(s.root)
	s.best.offer(s.doc, score)
}

// of is the score that the hit that is looked at has of a part; false if it
// isn't in it.
func (s *look) of(p *piece) (sum float32, in bool) {
	switch p.how {
	case unscored:
		return 0, p.docs.has(s.doc)
	case scored:
		if s.at < 0 {
			return s.score, p == s.only
		}
		return max(p.scores[s.at], 0), p.scores[s.at] >= 0
	case noneOf:
		_, in = s.of(p.parts[0])
		return 0, !in
	}
	in = p.how == allOf
	for _, o := range p.parts {
		score, ok := s.of(o)
		switch {
		case ok:
			sum += score
			in = true
		case p.how == allOf:
			return 0, false
		}
	}
	return sum, in
}

// leafLists reads the lists of a leaf bit by bit.
type leafLists struct {
	leaf   *leaf
	scorer scorer
	// exact reads the term as typed, nil if there is none; the others read
	// the forms.
	exact *cursor
	forms []*cursor

	asTyped []posting
	others  [][]posting
	found   hits
}

func (e *evaluator) leafLists(l *leaf) *leafLists {
	s := &leafLists{leaf: l, scorer: e.scorer(l.df), others: make([][]posting, len(l.forms))}
	if l.exact != "" {
		s.exact = e.i.lists.cursor(l.field, l.exact, l.scored)
	}
	for _, t := range l.forms {
		s.forms = append(s.forms, e.i.lists.cursor(l.field, t, l.scored))
	}
	return s
}

// upTo gives the hits before the document end that were not given yet. They
// are good until the next call.
func (s *leafLists) upTo(end uint32) (hits, error) {
	var err error
	s.asTyped = s.asTyped[:0]
	if s.exact != nil {
		if s.asTyped, err = s.exact.upTo(end, s.asTyped); err != nil {
			return hits{}, err
		}
	}
	var filled [][]posting
	for k, c := range s.forms {
		if s.others[k], err = c.upTo(end, s.others[k][:0]); err != nil {
			return hits{}, err
		}
		if len(s.others[k]) > 0 {
			filled = append(filled, s.others[k])
		}
	}
	s.found = s.leaf.weigh(&s.scorer, s.asTyped, gather(filled), s.found)
	return s.found, nil
}
