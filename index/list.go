package index

import (
	"encoding/binary"
	"fmt"
	"slices"
	"sync"

	"github.com/RoaringBitmap/roaring/v2"
	"github.com/blevesearch/bleve/v2/index/scorch"
	bleveindex "github.com/blevesearch/bleve_index_api"
	"github.com/blevesearch/vellum"
	zap "github.com/blevesearch/zapx/v17"
)

// lists reads the documents of a term in one go, straight from the files of
// the segments. bleve's iterators, made for jumping, take some ten times as
// long to read a list to its end. The format is in zap.md of zapx, version 17;
// list_test.go holds what is read here against what the iterators give.
type lists []listSegment

type listSegment struct {
	first   uint32 // number of its first document
	mem     []byte
	dead    *roaring.Bitmap // nil if none is
	segment *zap.Segment
	dicts   map[string]*vellum.FST // by field
	found   map[string]termList    // by field and term; see find
	lock    *sync.Mutex            // of both maps
}

// newLists knows the segments of a reader; nil if they are of another kind.
func newLists(reader bleveindex.IndexReader) lists {
	snapshot, ok := reader.(*scorch.IndexSnapshot)
	if !ok {
		return nil
	}
	var all lists
	first := uint64(0)
	for _, s := range snapshot.Segments() {
		z, ok := s.Segment().(*zap.Segment)
		if !ok || z.Version() != zap.Version || z.ChunkMode() != zap.DefaultChunkMode {
			return nil
		}
		all = append(all, listSegment{
			first: uint32(first), mem: z.Data(), dead: s.Deleted(), segment: z, dicts: map[string]*vellum.FST{}, found: map[string]termList{}, lock: &sync.Mutex{},
		})
		first += z.Count()
	}
	return all
}

// docs is the number of all documents, with those that were taken out.
func (l lists) docs() int {
	if len(l) == 0 {
		return 0
	}
	last := &l[len(l)-1]
	return int(last.first) + int(last.segment.NumDocs())
}

// occurrences gives the places of a term in each of docs, which are in order.
func (l lists) occurrences(field, term string, docs []uint32) ([][]place, error) {
	out := make([][]place, len(docs))
	k := 0
	for i := range l {
		end := len(docs)
		if i+1 < len(l) {
			end, _ = slices.BinarySearch(docs, l[i+1].first)
		}
		if k == end {
			continue
		}
		list, ok, err := l[i].find(field, term)
		if err != nil {
			return nil, err
		}
		for ; k < end; k++ {
			if !ok {
				continue
			}
			if out[k], err = l[i].places(list, docs[k]-l[i].first); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// dict is the dictionary of a field, nil if the segment has no such field.
func (s *listSegment) dict(field string) (*vellum.FST, error) {
	if d, ok := s.dicts[field]; ok {
		return d, nil
	}
	at, err := s.segment.DictAddr(field)
	if err != nil {
		return nil, nil // no quote of it has one
	}
	r := listReader{mem: s.mem, at: at}
	d, err := vellum.Load(r.bytes(r.uvarint()))
	if r.short || err != nil {
		return nil, fmt.Errorf("dictionary of %s: %w", field, ErrDamaged)
	}
	s.dicts[field] = d
	return d, nil
}

// termList is a term's list in a segment.
type termList struct {
	docs              *roaring.Bitmap
	freqsAt, placesAt uint64
	once              bool   // docs is all: one document with the term once, its place not kept
	words             uint64 // of the document, where once
}

// foundMost is how many lists are remembered.
const foundMost = 100

// find finds a term's list; false if there is none. A search asks for a list
// more than once.
func (s *listSegment) find(field, term string) (l termList, ok bool, err error) {
	key := field + term
	s.lock.Lock()
	defer s.lock.Unlock()
	if l, ok = s.found[key]; ok {
		return l, l.docs != nil, nil
	}
	if l, ok, err = s.lookUp(field, term); err == nil && len(s.found) < foundMost {
		s.found[key] = l
	}
	return l, ok, err
}

func (s *listSegment) lookUp(field, term string) (l termList, ok bool, err error) {
	dict, err := s.dict(field)
	if dict == nil || err != nil {
		return l, false, err
	}
	at, known, err := dict.Get([]byte(term))
	if !known || err != nil {
		return l, false, err
	}
	l.docs = roaring.New()
	if at&zap.FSTValEncodingMask == zap.FSTValEncoding1Hit {
		doc, words := zap.FSTValDecode1Hit(at)
		l.docs.Add(uint32(doc))
		l.once, l.words = true, words
		if doc >= s.segment.NumDocs() {
			return l, false, fmt.Errorf("list of %q: %w", term, ErrDamaged)
		}
		return l, true, nil
	}
	r := listReader{mem: s.mem, at: at}
	l.freqsAt, l.placesAt = r.uvarint(), r.uvarint()
	if _, err := l.docs.FromBuffer(r.bytes(r.uvarint())); err != nil || r.short ||
		!l.docs.IsEmpty() && uint64(l.docs.Maximum()) >= s.segment.NumDocs() {
		return l, false, fmt.Errorf("list of %q: %w", term, ErrDamaged)
	}
	return l, true, nil
}

// chunks gives the bytes of the chunks from one to another; to may be beyond
// the last.
func (s *listSegment) chunks(at, from, to uint64) ([]byte, bool) {
	r := listReader{mem: s.mem, at: at}
	start, end := uint64(0), uint64(0)
	for n, count := uint64(0), r.uvarint(); n < count && !r.short; n++ {
		e := r.uvarint()
		if n < from {
			start = e
		}
		if n < to {
			end = e
		}
	}
	b := r.bytes(end)
	if r.short || start > end {
		return nil, false
	}
	return b[start:], true
}

// places finds where a term stands in a document.
func (s *listSegment) places(l termList, doc uint32) ([]place, error) {
	if l.once || !l.docs.Contains(doc) {
		return nil, nil
	}
	// The chunk mode 1026: about 1,024 postings in a chunk.
	size := s.segment.NumDocs() / (l.docs.GetCardinality()/1024 + 1)
	chunk := uint64(doc) / max(size, 1)
	before := l.docs.Rank(doc) - 1
	if first := uint32(chunk * size); first > 0 {
		before -= l.docs.Rank(first - 1)
	}
	freqs, ok1 := s.chunks(l.freqsAt, chunk, chunk+1)
	places, ok2 := s.chunks(l.placesAt, chunk, chunk+1)
	f, p := listReader{mem: freqs}, listReader{mem: places}
	for ; before > 0 && !f.short; before-- {
		v := f.uvarint()
		if v > 1 {
			f.uvarint()
		}
		if v&1 != 0 {
			p.bytes(p.uvarint())
		}
	}
	var out []place
	if f.uvarint()&1 != 0 {
		own := p.bytes(p.uvarint())
		for r := (listReader{mem: own}); r.at < uint64(len(own)); {
			r.uvarint() // field
			out = append(out, place{r.uvarint(), int(r.uvarint()), int(r.uvarint())})
			for n := r.uvarint(); n > 0 && !r.short; n-- {
				r.uvarint() // array position
			}
			if r.short {
				p.short = true
				break
			}
		}
	}
	if !ok1 || !ok2 || f.short || p.short {
		return nil, fmt.Errorf("%s: places: %w", s.segment.Path(), ErrDamaged)
	}
	return out, nil
}

// listReader reads numbers and bytes; short tells that there were too few.
type listReader struct {
	mem   []byte
	at    uint64
	short bool
}

func (r *listReader) uvarint() uint64 {
	if r.at < uint64(len(r.mem)) && r.mem[r.at] < 0x80 { // nearly always
		r.at++
		return uint64(r.mem[r.at-1])
	}
	if r.at < uint64(len(r.mem)) {
		if v, n := binary.Uvarint(r.mem[r.at:]); n > 0 {
			r.at += uint64(n)
			return v
		}
	}
	r.short = true
	return 0
}

func (r *listReader) bytes(n uint64) []byte {
	if r.short || n > uint64(len(r.mem))-r.at {
		r.short = true
		return nil
	}
	r.at += n
	return r.mem[r.at-n : r.at]
}
