package index

import (
	"encoding/binary"
	"fmt"
	"math"

	"github.com/RoaringBitmap/roaring/v2"
)

// posting is one document with how often a term stands in it.
type posting struct{ doc, tf uint32 }

// cursor reads the documents of a term in order, as far as is asked for.
type cursor struct {
	rest        lists // the segments that are not open yet
	field, term string
	freq        bool // without it each tf is 1

	// Of the open segment: the number of its first document, its documents,
	// those of them that are read but not given yet, how often the term is
	// in each (where counted), and the next one that was taken out.
	first   uint32
	docs    roaring.ManyIntIterable
	ahead   []uint32
	freqs   []byte
	counted bool
	dead    roaring.IntPeekable
	some    [512]uint32
}

func (l lists) cursor(field, term string, freq bool) *cursor {
	return &cursor{rest: l, field: field, term: term, freq: freq}
}

// read gives all documents of a term.
func (l lists) read(field, term string, freq bool, into []posting) ([]posting, error) {
	return l.cursor(field, term, freq).upTo(math.MaxUint32, into)
}

// count is the number of documents with a term.
func (l lists) count(field, term string) (int, error) {
	n := uint64(0)
	for i := range l {
		list, ok, err := l[i].find(field, term)
		if err != nil {
			return 0, fmt.Errorf("%s: %w", l[i].segment.Path(), err)
		}
		if !ok {
			continue
		}
		n += list.docs.GetCardinality()
		if l[i].dead != nil {
			n -= list.docs.AndCardinality(l[i].dead)
		}
	}
	return int(n), nil
}

// upTo appends the documents before end that were not given yet.
func (c *cursor) upTo(end uint32, into []posting) ([]posting, error) {
	for {
		if len(c.ahead) == 0 {
			if more, err := c.more(end); !more || err != nil {
				return into, err
			}
		}
		var err error
		if into, err = c.take(end, into); len(c.ahead) > 0 || err != nil {
			return into, err
		}
	}
}

// more reads some documents ahead; false where none before end is left.
func (c *cursor) more(end uint32) (bool, error) {
	for {
		if c.docs != nil {
			if n := c.docs.NextMany(c.some[:]); n > 0 {
				c.ahead = c.some[:n]
				return true, nil
			}
			c.docs = nil
		}
		if len(c.rest) == 0 || c.rest[0].first >= end {
			return false, nil
		}
		s := &c.rest[0]
		c.rest = c.rest[1:]
		if err := c.open(s); err != nil {
			return false, fmt.Errorf("%s: list of %q: %w", s.segment.Path(), c.term, err)
		}
	}
}

func (c *cursor) open(s *listSegment) error {
	list, ok, err := s.find(c.field, c.term)
	if !ok || err != nil {
		return err
	}
	c.first, c.docs, c.dead = s.first, list.docs.ManyIterator(), nil
	if s.dead != nil {
		c.dead = s.dead.Iterator()
	}
	if c.counted = c.freq && !list.once; c.counted {
		// The chunks lie one after the other.
		if c.freqs, ok = s.chunks(list.freqsAt, 0, math.MaxUint64); !ok {
			return fmt.Errorf("frequencies: %w", ErrDamaged)
		}
	}
	return nil
}

// take appends of what is ahead what stands before end.
func (c *cursor) take(end uint32, into []posting) ([]posting, error) {
	freqs := c.freqs
	for k, doc := range c.ahead {
		if c.first+doc >= end {
			c.ahead, c.freqs = c.ahead[k:], freqs
			return into, nil
		}
		tf := uint32(1)
		if c.counted {
			// A number with the term's count, and where it isn't 0 or 1 the
			// number of all terms.
			if len(freqs) >= 2 && freqs[0]|freqs[1] < 0x80 && freqs[0] > 1 { // nearly always
				tf, freqs = uint32(freqs[0]>>1), freqs[2:]
			} else {
				r := listReader{mem: freqs}
				v := r.uvarint()
				if v > 1 {
					r.uvarint()
				}
				if r.short {
					return nil, fmt.Errorf("list of %q: too few frequencies: %w", c.term, ErrDamaged)
				}
				tf, freqs = uint32(v>>1), freqs[r.at:]
			}
		}
		if c.dead == nil || !c.isDead(doc) {
			into = append(into, posting{c.first + doc, tf})
		}
	}
	c.ahead, c.freqs = nil, freqs
	return into, nil
}

// isDead tells whether a document was taken out; they are asked for in order.
func (c *cursor) isDead(doc uint32) bool {
	c.dead.AdvanceIfNeeded(doc)
	if !c.dead.HasNext() {
		c.dead = nil
		return false
	}
	return c.dead.PeekNext() == doc
}

// freqs gives how often a term stands in each of its documents, those that
// were taken out too, and how many words each has, for readFreq; and how many
// documents there are.
func (s *listSegment) freqs(field, term string) (freqs []byte, count int, err error) {
	list, ok, err := s.find(field, term)
	if !ok || err != nil {
		return nil, 0, err
	}
	if list.once {
		return binary.AppendUvarint([]byte{1 << 1}, list.words), 1, nil
	}
	if freqs, ok = s.chunks(list.freqsAt, 0, math.MaxUint64); !ok {
		return nil, 0, fmt.Errorf("%s: frequencies of %q: %w", s.segment.Path(), term, ErrDamaged)
	}
	return freqs, int(list.docs.GetCardinality()), nil
}

// readFreq reads how often a term stands in a document of how many words.
func readFreq(freqs []byte) (tf, words uint32, rest []byte, err error) {
	r := listReader{mem: freqs}
	v, w := r.uvarint(), r.uvarint()
	if r.short || v < 2 {
		return 0, 0, nil, fmt.Errorf("frequencies: %w", ErrDamaged)
	}
	return uint32(v >> 1), uint32(w), freqs[r.at:], nil
}
