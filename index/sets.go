package index

import (
	"fmt"
	"math/bits"
)

// set is a set of documents: a bit for each.
type set []uint64

func (i *Index) newSet() set { return make(set, i.docs/64+1) }

// newSet is an empty set, in the memory of one that was freed if there is one:
// memory that is new to the process costs more than to use it.
func (e *evaluator) newSet() set {
	n := len(e.spare)
	if n == 0 {
		return e.i.newSet()
	}
	s := e.spare[n-1]
	e.spare = e.spare[:n-1]
	clear(s)
	return s
}

// free gives back a set that nobody looks at any more.
func (e *evaluator) free(s set) { e.spare = append(e.spare, s) }

func (s set) has(doc uint32) bool { return s[doc/64]&(1<<(doc%64)) != 0 }

func (s set) put(doc uint32) { s[doc/64] |= 1 << (doc % 64) }

func (s set) takeOut(doc uint32) { s[doc/64] &^= 1 << (doc % 64) }

// fill puts in the first n documents.
func (s set) fill(n uint32) {
	for k := range n / 64 {
		s[k] = ^uint64(0)
	}
	if n%64 > 0 {
		s[n/64] |= 1<<(n%64) - 1
	}
}

func (s set) add(x set) {
	for k, w := range x {
		s[k] |= w
	}
}

func (s set) keep(x set) {
	for k, w := range x {
		s[k] &= w
	}
}

func (s set) drop(x set) {
	for k, w := range x {
		s[k] &^= w
	}
}

func (s set) count() int {
	n := 0
	for _, w := range s {
		n += bits.OnesCount64(w)
	}
	return n
}

// countBoth is how many documents are in s and in x.
func (s set) countBoth(x set) int {
	n := 0
	for k, w := range x {
		n += bits.OnesCount64(w & s[k])
	}
	return n
}

// countIn is how many documents from one on and before another are in s.
func (s set) countIn(from, before uint32) int {
	n := 0
	for k := from / 64; k*64 < before; k++ {
		w := s[k]
		if k == from/64 {
			w &= ^uint64(0) << (from % 64)
		}
		if before-k*64 < 64 {
			w &= 1<<(before%64) - 1
		}
		n += bits.OnesCount64(w)
	}
	return n
}

// each gives the documents in order.
func (s set) each(give func(doc uint32)) {
	for k, w := range s {
		for ; w != 0; w &= w - 1 {
			give(uint32(k*64 + bits.TrailingZeros64(w)))
		}
	}
}

// list lists the documents in order.
func (s set) list() []uint32 {
	out := make([]uint32, 0, s.count())
	for k, w := range s {
		for ; w != 0; w &= w - 1 {
			out = append(out, uint32(k*64+bits.TrailingZeros64(w)))
		}
	}
	return out
}

// fewSet is how many documents of a list are put into a set one by one.
const fewSet = 4096

// addTo puts the documents of a term into a set, those that were taken out
// too, and tells how many there are; empty tells that the set is.
func (e *evaluator) addTo(s set, empty bool, field, term string) (int, error) {
	var some [512]uint32
	l, sum := e.i.lists, 0
	for i := range l {
		list, ok, err := l[i].find(field, term)
		if err != nil {
			return 0, fmt.Errorf("%s: %w", l[i].segment.Path(), err)
		}
		if !ok {
			continue
		}
		count := int(list.docs.GetCardinality())
		sum += count
		if empty && i == 0 {
			list.docs.WriteDenseTo(s)
			continue
		}
		if i == 0 && count > fewSet {
			all := e.newSet()
			list.docs.WriteDenseTo(all)
			s.add(all)
			e.free(all)
			continue
		}
		all := list.docs.ManyIterator()
		for n := all.NextMany(some[:]); n > 0; n = all.NextMany(some[:]) {
			for _, doc := range some[:n] {
				s.put(l[i].first + doc)
			}
		}
	}
	return sum, nil
}

// live is the set of all documents that weren't taken out: what the segments
// have taken out is few, and the ranks of all documents are many to read.
func (e *evaluator) live() set {
	if e.alive != nil {
		return e.alive
	}
	e.alive = e.newSet()
	if e.i.lists != nil {
		e.alive.fill(uint32(e.i.lists.docs()))
		for _, l := range e.i.lists {
			if l.dead == nil {
				continue
			}
			for it := l.dead.Iterator(); it.HasNext(); {
				e.alive.takeOut(l.first + it.Next())
			}
		}
		if e.alive.count() == e.i.cols.live {
			return e.alive
		}
		clear(e.alive)
	}
	for _, d := range e.everything() {
		e.alive.put(d)
	}
	return e.alive
}

// leafSet is the set of documents that have one of some terms, those that were
// taken out too; said are the terms that any has.
func (e *evaluator) leafSet(field string, terms []string) (all set, said []string, err error) {
	all = e.newSet()
	for _, t := range terms {
		if err := e.ctx.Err(); err != nil {
			return nil, nil, err
		}
		n, err := e.addTo(all, len(said) == 0, field, t)
		if err != nil {
			return nil, nil, err
		}
		if n > 0 {
			said = append(said, t)
		}
	}
	return all, said, nil
}

// numbering counts the documents of a set from 0 on. Numbers, or documents, are
// to be asked for in order.
type numbering struct {
	set    set
	word   int
	before int // documents before word
}

// of gives the number of a document.
func (n *numbering) of(doc uint32) int {
	before := n.before
	for _, w := range n.set[n.word : doc/64] {
		before += bits.OnesCount64(w)
	}
	n.word, n.before = int(doc/64), before
	return before + bits.OnesCount64(n.set[n.word]&(1<<(doc%64)-1))
}

// doc gives the document with a number; there are so many.
func (n *numbering) doc(number int) uint32 {
	before, w := n.before, uint64(0)
	for k := n.word; ; k++ {
		w = n.set[k]
		if more := bits.OnesCount64(w); before+more > number {
			n.word, n.before = k, before
			break
		} else {
			before += more
		}
	}
	for range number - before {
		w &= w - 1
	}
	return uint32(n.word*64 + bits.TrailingZeros64(w))
}
