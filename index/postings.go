package index

import (
	"bytes"
	"encoding/binary"
	"math"
	"slices"
	"strings"

	"github.com/RoaringBitmap/roaring/v2"
	"github.com/blevesearch/vellum"
	zap "github.com/blevesearch/zapx/v17"
)

// termWriter writes postings and dictionaries.
type termWriter struct {
	out    *countedWriter
	docs   uint64 // in the segment
	fst    *vellum.Builder
	dict   bytes.Buffer
	bits   *roaring.Bitmap
	list   []uint32
	roar   bytes.Buffer
	freqs  chunks
	places chunks
}

// codes writes the terms of _id: each stands in one document, once, which
// goes into the dictionary itself.
func (e *termWriter) codes(codes [][codeBytes]byte) error {
	order := make([]uint32, len(codes))
	for i := range order {
		order[i] = uint32(i)
	}
	slices.SortFunc(order, func(a, b uint32) int { return bytes.Compare(codes[a][:], codes[b][:]) })
	for _, doc := range order {
		if err := e.fst.Insert(bytes.TrimRight(codes[doc][:], "\x00"), zap.FSTValEncode1Hit(uint64(doc), 1)); err != nil {
			return err
		}
	}
	return nil
}

// terms writes the postings of all terms of a field.
func (e *termWriter) terms(known map[string]*term) error {
	sorted := make([]*term, 0, len(known))
	for _, t := range known {
		if t.docs > 0 {
			sorted = append(sorted, t)
		}
	}
	slices.SortFunc(sorted, func(a, b *term) int { return strings.Compare(a.text, b.text) })
	for _, t := range sorted {
		at, err := e.postings(t)
		if err != nil {
			return err
		}
		if err := e.fst.Insert([]byte(t.text), at); err != nil {
			return err
		}
		t.postings = nil // the term itself may be remembered for long
	}
	return nil
}

// postings writes the postings of a term and tells where they are.
func (e *termWriter) postings(t *term) (uint64, error) {
	// The chunk mode 1026: about 1,024 postings in a chunk.
	size := e.docs / (t.docs/1024 + 1)
	e.freqs.reset(size, e.docs)
	e.places.reset(size, e.docs)
	e.list = e.list[:0]
	next := uint64(0)
	for rest := t.postings; len(rest) > 0; {
		skip, n := binary.Uvarint(rest)
		rest = rest[n:]
		next += skip
		doc := next - 1
		e.list = append(e.list, uint32(doc))
		freq, n := binary.Uvarint(rest)
		if freq>>1 > 0 {
			_, m := binary.Uvarint(rest[n:])
			n += m
		}
		e.freqs.add(doc, rest[:n])
		rest = rest[n:]
		if freq&1 != 0 {
			length, n := binary.Uvarint(rest)
			n += int(length)
			e.places.add(doc, rest[:n])
			rest = rest[n:]
		}
	}
	freqsAt, placesAt := e.freqs.write(e.out), e.places.write(e.out)
	at := e.out.n
	e.out.uvarint(freqsAt)
	e.out.uvarint(placesAt)
	e.bits.Clear()
	e.bits.AddMany(e.list)
	e.roar.Reset()
	if _, err := e.bits.WriteTo(&e.roar); err != nil {
		return 0, err
	}
	e.out.uvarint(uint64(e.roar.Len()))
	e.out.write(e.roar.Bytes())
	return at, nil
}

// dictionary ends a field: it writes its dictionary, and tells where the
// field starts.
func (e *termWriter) dictionary() (uint64, error) {
	if err := e.fst.Close(); err != nil {
		return 0, err
	}
	at := e.out.n
	e.out.uvarint(uint64(e.dict.Len()))
	e.out.write(e.dict.Bytes())
	e.dict.Reset()
	start := e.out.n
	e.out.uvarint(math.MaxUint64) // no doc values: neither start
	e.out.uvarint(math.MaxUint64) // nor end
	e.out.uvarint(at)
	return start, e.fst.Reset(&e.dict)
}

// chunks holds what is written of a term's documents, size document numbers
// in a chunk.
type chunks struct {
	size uint64
	lens []uint64
	data []byte
}

func (c *chunks) reset(size, docs uint64) {
	n := int((docs-1)/size + 1)
	c.size, c.data = size, c.data[:0]
	c.lens = slices.Grow(c.lens[:0], n)[:n]
	clear(c.lens)
}

func (c *chunks) add(doc uint64, b []byte) {
	c.lens[doc/c.size] += uint64(len(b))
	c.data = append(c.data, b...)
}

// write writes the chunks and tells where; 0 if there is nothing to write.
func (c *chunks) write(out *countedWriter) uint64 {
	if len(c.data) == 0 {
		return 0
	}
	at := out.n
	out.uvarint(uint64(len(c.lens)))
	end := uint64(0)
	for _, n := range c.lens {
		end += n
		out.uvarint(end)
	}
	out.write(c.data)
	return at
}
