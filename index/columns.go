package index

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"slices"
	"strconv"
	"strings"

	bleveindex "github.com/blevesearch/bleve_index_api"
	"github.com/blevesearch/mmap-go"

	"rushlight/pkg/story"
)

// columns holds, beside the inverted index, what is needed of every hit: its
// place in the order of reels, its length, who says it, in which reel, with
// which themes, and its code. Counts over all hits are then one pass over
// small arrays; bleve's own facets read a compressed block per document.
//
// The file: the magic, counts, names, then arrays of little-endian uint32, one
// entry per document number (dead numbers have rank noRank), the pairs of
// document and theme in document order, and the codes, 8 bytes each. It is
// mapped, not read: a search touches only what it needs.
type columns struct {
	data     mmap.MMap
	docs     int
	live     int
	words    uint64 // sum of lengths of live documents
	names    [3][]string
	langs    []string
	pairs    int
	arraysAt int
}

const (
	columnsMagic = "RLCOL01\n"
	noRank       = ^uint32(0)
	codeBytes    = 8
)

// The arrays, in file order.
const (
	colRank = iota
	colLength
	colSpeaker
	colReel
	colThemes // pairs of document and theme
)

// The name tables.
const (
	nameSpeaker = iota
	nameReel
	nameTheme
)

// ErrDamaged is wrapped by errors about an index whose files don't make sense;
// building it anew helps.
var ErrDamaged = errors.New("index is damaged")

// row is one document while columns are made.
type row struct {
	live    bool
	reel    string
	order   int
	length  uint32
	speaker uint32
	reelNo  uint32
	themes  []uint32
	code    string
}

// makeColumns reads the facts of every document of a finished generation and
// writes the columns file.
func makeColumns(reader bleveindex.IndexReader, path string) error {
	rows, names, langs, err := readRows(reader)
	if err != nil {
		return err
	}
	ranks, live, words := rankRows(rows)
	put := binary.LittleEndian.AppendUint32
	var head []byte
	list := func(names []string) {
		head = put(head, uint32(len(names)))
		for _, n := range names {
			head = append(put(head, uint32(len(n))), n...)
		}
	}
	var pairs []byte
	for doc, r := range rows {
		for _, t := range r.themes {
			pairs = put(put(pairs, uint32(doc)), t)
		}
	}
	head = put(put(head, uint32(len(rows))), uint32(live))
	head = binary.LittleEndian.AppendUint64(head, words)
	head = put(head, uint32(len(pairs)/8))
	for _, n := range names {
		list(n)
	}
	list(langs)
	start := put([]byte(columnsMagic), uint32(len(columnsMagic)+4+len(head)))
	body, err := columnsBody(rows, ranks)
	if err != nil {
		return err
	}
	arrays, codes := body[:len(rows)*16], body[len(rows)*16:]
	return writeSynced(path, start, head, arrays, pairs, codes)
}

// columnsBody lays out the arrays of one entry per document, then the codes.
func columnsBody(rows []row, ranks []uint32) ([]byte, error) {
	body := make([]byte, 0, len(rows)*(16+codeBytes))
	for _, get := range []func(int) uint32{
		func(i int) uint32 { return ranks[i] },
		func(i int) uint32 { return rows[i].length },
		func(i int) uint32 { return rows[i].speaker },
		func(i int) uint32 { return rows[i].reelNo },
	} {
		for i := range rows {
			body = binary.LittleEndian.AppendUint32(body, get(i))
		}
	}
	for _, r := range rows {
		var c [codeBytes]byte
		if len(r.code) > codeBytes {
			return nil, fmt.Errorf("code %q: longer than %d letters", r.code, codeBytes)
		}
		copy(c[:], r.code)
		body = append(body, c[:]...)
	}
	return body, nil
}

// rankRows gives each live row its place in the order of reel and order, and
// code where both are the same.
func rankRows(rows []row) (ranks []uint32, live int, words uint64) {
	byPlace := make([]int, 0, len(rows))
	ranks = make([]uint32, len(rows))
	for i, r := range rows {
		ranks[i] = noRank
		if r.live {
			byPlace = append(byPlace, i)
			words += uint64(r.length)
		}
	}
	slices.SortFunc(byPlace, func(a, b int) int {
		x, y := &rows[a], &rows[b]
		if c := strings.Compare(x.reel, y.reel); c != 0 {
			return c
		}
		if x.order != y.order {
			return x.order - y.order
		}
		return strings.Compare(x.code, y.code)
	})
	for rank, i := range byPlace {
		ranks[i] = uint32(rank)
	}
	return ranks, len(byPlace), words
}

// table numbers names in the order of first appearance.
type table struct {
	names []string
	at    map[string]uint32
}

func (t *table) number(name []byte) uint32 {
	if n, ok := t.at[string(name)]; ok {
		return n
	}
	if t.at == nil {
		t.at = map[string]uint32{}
	}
	n := uint32(len(t.names))
	t.names = append(t.names, string(name))
	t.at[t.names[n]] = n
	return n
}

// rowTables numbers the names that rows hold.
type rowTables struct {
	names [3]table
	langs table
}

// readRows reads the facts of each live document.
func readRows(reader bleveindex.IndexReader) (rows []row, names [3][]string, langs []string, err error) {
	ids, err := reader.DocIDReaderAll()
	if err != nil {
		return nil, names, nil, err
	}
	defer ids.Close()
	values, err := reader.DocValueReader([]string{fieldFacts})
	if err != nil {
		return nil, names, nil, err
	}
	var tables rowTables
	tables.names[nameSpeaker].number(nil) // 0: nobody known
	for {
		id, err := ids.Next()
		if err != nil {
			return nil, names, nil, err
		}
		if id == nil {
			break
		}
		r := row{live: true}
		if err := values.VisitDocValues(id, func(_ string, fact []byte) { r.take(fact, &tables) }); err != nil {
			return nil, names, nil, err
		}
		if r.code, err = reader.ExternalID(id); err != nil {
			return nil, names, nil, err
		}
		for len(rows) < int(id.Value()) {
			rows = append(rows, row{}) // dead
		}
		rows = append(rows, r)
	}
	for i := range tables.names {
		names[i] = tables.names[i].names
	}
	slices.Sort(tables.langs.names)
	return rows, names, tables.langs.names, nil
}

// take takes in one fact.
func (r *row) take(fact []byte, tables *rowTables) {
	if len(fact) == 0 {
		return
	}
	rest := fact[1:]
	switch fact[0] {
	case factReel:
		r.reelNo = tables.names[nameReel].number(rest)
		r.reel = tables.names[nameReel].names[r.reelNo]
	case factSpeaker:
		r.speaker = tables.names[nameSpeaker].number(rest)
	case factTheme:
		r.themes = append(r.themes, tables.names[nameTheme].number(rest))
	case factOrder:
		r.order, _ = strconv.Atoi(string(rest))
	case factWords:
		n, _ := strconv.ParseUint(string(rest), 10, 32)
		r.length = uint32(n)
	case factLanguage:
		tables.langs.number(rest)
	}
}

// openColumns maps a columns file and reads its head.
func openColumns(path string) (*columns, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	c := &columns{}
	if c.data, err = mmap.Map(f, mmap.RDONLY, 0); err != nil {
		return nil, fmt.Errorf("%s: %w: %w", path, ErrDamaged, err)
	}
	if err := c.readHead(); err != nil {
		_ = c.close()
		return nil, fmt.Errorf("%s: %w: %w", path, ErrDamaged, err)
	}
	return c, nil
}

func (c *columns) readHead() error {
	const start = len(columnsMagic) + 4
	if len(c.data) < start+20 || string(c.data[:len(columnsMagic)]) != columnsMagic {
		return errors.New("columns file: too short or wrong magic")
	}
	c.arraysAt = int(binary.LittleEndian.Uint32(c.data[len(columnsMagic):]))
	if c.arraysAt > len(c.data) || c.arraysAt < start+20 {
		return errors.New("columns file: head too long or too short")
	}
	head := []byte(c.data[start:c.arraysAt])
	short := false
	u32 := func() int {
		if len(head) < 4 {
			short = true
			return 0
		}
		n := binary.LittleEndian.Uint32(head)
		head = head[4:]
		return int(n)
	}
	list := func() []string {
		n := u32()
		var names []string
		for i := 0; i < n && !short; i++ {
			l := u32()
			if l > len(head) {
				short = true
				break
			}
			names = append(names, string(head[:l]))
			head = head[l:]
		}
		return names
	}
	c.docs, c.live = u32(), u32()
	c.words = binary.LittleEndian.Uint64(head)
	head = head[8:]
	c.pairs = u32()
	for i := range c.names {
		c.names[i] = list()
	}
	c.langs = list()
	want := c.arraysAt + c.docs*(4*4+codeBytes) + c.pairs*8
	if short || want != len(c.data) {
		return fmt.Errorf("columns file: %d bytes, want %d", len(c.data), want)
	}
	return nil
}

// array gives one of the arrays.
func (c *columns) array(which int) []byte {
	start := c.arraysAt + which*c.docs*4
	if which == colThemes {
		return c.data[start : start+c.pairs*8]
	}
	return c.data[start : start+c.docs*4]
}

func at(array []byte, doc uint32) uint32 { return binary.LittleEndian.Uint32(array[doc*4:]) }

// code gives the code of a document.
func (c *columns) code(doc uint32) story.Code {
	start := c.arraysAt + c.docs*16 + c.pairs*8 + int(doc)*codeBytes
	return story.Code(bytes.TrimRight(c.data[start:start+codeBytes], "\x00"))
}

func (c *columns) close() error { return c.data.Unmap() }
