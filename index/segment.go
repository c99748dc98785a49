package index

import (
	"bufio"
	"encoding/binary"
	"hash/crc32"
	"os"

	"github.com/RoaringBitmap/roaring/v2"
	bleveindex "github.com/blevesearch/bleve_index_api"
	"github.com/blevesearch/vellum"
	zap "github.com/blevesearch/zapx/v17"
)

// segment writes one segment file of bleve's index, in the zap format of
// version 17, for quotes that come in one after the other. bleve's own way
// makes a map per quote, small segments, and then merges those: four times
// the work. The format is described in zap.md of zapx; segment_test.go holds
// what is written here against what zapx writes itself.
type segment struct {
	file  *os.File
	out   countedWriter
	terms [segmentFields]map[string]*term
	codes [][codeBytes]byte // by document
	at    []uint64          // where each document is stored
	// bytes is how much memory the postings take.
	bytes int
	// The quote that is being added: the places of its terms, the terms, and
	// the memory of one posting.
	places []termPlace
	open   []*term
	one    []byte
	locs   []byte
}

// The fields, in the order of the file: _id first, the others by name.
const (
	segmentID = iota
	segmentFacts
	segmentSaid
	segmentFields
)

// term is a term of a segment with its postings so far: for each document its
// distance from the one before, then what goes into the file of it.
type term struct {
	text     string
	postings []byte
	docs     uint64
	next     uint32 // one after the last document
	// first and last place in the quote that is being added, plus 1.
	first, last int
}

// termPlace is a place of a term; next is the term's next place, plus 1.
type termPlace struct {
	word
	position, next int
}

func newSegment(path string) (*segment, error) {
	f, err := os.Create(path)
	if err != nil {
		return nil, err
	}
	s := &segment{file: f}
	s.out.under.file = f
	s.out.w = bufio.NewWriterSize(&s.out.under, 1<<18)
	for i := range s.terms {
		s.terms[i] = map[string]*term{}
	}
	return s, nil
}

// term finds or makes a term.
func (s *segment) term(field int, text string) *term {
	t, ok := s.terms[field][text]
	if !ok {
		t = &term{text: text}
		s.terms[field][text] = t
	}
	return t
}

// place notes a place of a term in the quote that comes next.
func (s *segment) place(t *term, w word, position int) {
	s.places = append(s.places, termPlace{word: w, position: position})
	n := len(s.places)
	if t.first == 0 {
		t.first = n
		s.open = append(s.open, t)
	} else {
		s.places[t.last-1].next = n
	}
	t.last = n
}

// add adds the quote of so many words whose places were noted. Its code fits.
func (s *segment) add(code string, facts []*term, words int) {
	doc := uint32(len(s.codes))
	var key [codeBytes]byte
	copy(key[:], code)
	s.codes = append(s.codes, key)
	s.store(code)
	put := binary.AppendUvarint
	for _, t := range s.open {
		freq := uint64(0)
		s.locs = s.locs[:0]
		for n := t.first; n != 0; n = s.places[n-1].next {
			p := &s.places[n-1]
			s.locs = put(s.locs, segmentSaid)
			s.locs = put(s.locs, uint64(p.position))
			s.locs = put(s.locs, uint64(p.start))
			s.locs = put(s.locs, uint64(p.end))
			s.locs = put(s.locs, 0) // array positions
			freq++
		}
		t.first, t.last = 0, 0
		s.one = put(s.one[:0], freq<<1|1)
		s.one = put(s.one, uint64(words)) // zap's norm: how long the field is
		s.one = put(s.one, uint64(len(s.locs)))
		s.post(t, doc, append(s.one, s.locs...))
	}
	for _, t := range facts {
		s.post(t, doc, append(s.one[:0], 0)) // no frequency
	}
	s.open, s.places = s.open[:0], s.places[:0]
}

func (s *segment) post(t *term, doc uint32, posting []byte) {
	before := len(t.postings)
	t.postings = binary.AppendUvarint(t.postings, uint64(doc+1-t.next))
	t.postings = append(t.postings, posting...)
	t.next = doc + 1
	t.docs++
	s.bytes += len(t.postings) - before
	s.one = posting[:0]
}

// store writes the stored fields of a document: the code, and an empty block
// for all others, which takes one byte compressed.
func (s *segment) store(code string) {
	s.at = append(s.at, s.out.n)
	s.one = binary.AppendUvarint(s.one[:0], uint64(len(code)))
	meta := len(s.one)
	s.out.uvarint(uint64(meta))
	s.out.uvarint(uint64(len(code) + 1))
	s.out.write(s.one[:meta])
	s.out.string(code)
	s.out.write([]byte{0})
}

// finish writes the rest of the file and closes it. There is at least one
// quote.
func (s *segment) finish() error {
	stored := s.out.n
	for _, at := range s.at {
		s.out.u64(at)
	}
	s.out.uvarint(0) // no nested documents
	var starts [segmentFields]uint64
	e := &termWriter{out: &s.out, docs: uint64(len(s.codes)), bits: roaring.New()}
	var err error
	if e.fst, err = vellum.New(&e.dict, &vellum.BuilderOpts{Encoder: 1, RegistryTableSize: 0, RegistryMRUSize: 1}); err != nil {
		return err
	}
	for field := range starts {
		if field == segmentID {
			err = e.codes(s.codes)
		} else {
			err = e.terms(s.terms[field])
		}
		if err == nil {
			starts[field], err = e.dictionary()
		}
		if err != nil {
			return err
		}
		s.terms[field] = nil
	}
	s.foot(stored, starts)
	s.codes, s.at, s.places = nil, nil, nil
	if err := s.out.w.Flush(); err != nil {
		return err
	}
	if _, err := s.file.Write(binary.BigEndian.AppendUint32(nil, s.out.under.sum)); err != nil {
		return err
	}
	if err := s.file.Sync(); err != nil {
		return err
	}
	return s.file.Close()
}

// foot writes the table of fields and the footer without its check sum.
func (s *segment) foot(stored uint64, starts [segmentFields]uint64) {
	var at [segmentFields]uint64
	for field, f := range [segmentFields]struct {
		name    string
		options bleveindex.FieldIndexingOptions
	}{
		segmentID: {fieldID, optionsID}, segmentFacts: {fieldFacts, optionsFacts}, segmentSaid: {fieldSaid, optionsSaid},
	} {
		at[field] = s.out.n
		s.out.uvarint(uint64(len(f.name)))
		s.out.string(f.name)
		s.out.uvarint(uint64(f.options))
		s.out.uvarint(1) // one section
		s.out.write(binary.BigEndian.AppendUint16(nil, zap.SectionInvertedTextIndex))
		s.out.u64(starts[field])
	}
	table := s.out.n
	s.out.uvarint(segmentFields)
	for _, a := range at {
		s.out.u64(a)
	}
	s.out.u32(0) // no writer's name
	s.out.u64(uint64(len(s.codes)))
	s.out.u64(stored)
	s.out.u64(table)
	s.out.u32(zap.DefaultChunkMode)
	s.out.u32(zap.Version)
}

// abandon closes the file of a segment that is not wanted any more.
func (s *segment) abandon() { _ = s.file.Close() }

// countedWriter knows where in the file it is. The first error is kept below
// and comes out when it is flushed.
type countedWriter struct {
	w     *bufio.Writer
	under summedFile
	n     uint64
	eight [binary.MaxVarintLen64]byte
}

func (c *countedWriter) write(b []byte) {
	_, _ = c.w.Write(b)
	c.n += uint64(len(b))
}

func (c *countedWriter) string(s string) {
	_, _ = c.w.WriteString(s)
	c.n += uint64(len(s))
}

func (c *countedWriter) uvarint(v uint64) { c.write(c.eight[:binary.PutUvarint(c.eight[:], v)]) }

func (c *countedWriter) u64(v uint64) {
	binary.BigEndian.PutUint64(c.eight[:], v)
	c.write(c.eight[:8])
}

func (c *countedWriter) u32(v uint32) {
	binary.BigEndian.PutUint32(c.eight[:], v)
	c.write(c.eight[:4])
}

// summedFile keeps the check sum of what is written.
type summedFile struct {
	file *os.File
	sum  uint32
}

func (f *summedFile) Write(b []byte) (int, error) {
	n, err := f.file.Write(b)
	f.sum = crc32.Update(f.sum, crc32.IEEETable, b[:n])
	return n, err
}
