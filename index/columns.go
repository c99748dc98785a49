package index

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"os"
	"slices"

	"github.com/blevesearch/mmap-go"

	"rushlight/pkg/story"
)

// columns holds, beside the inverted index, what is needed of every hit: its
// place in the order of reels, its length, who says it, in which reel, with
// which themes, its sketch, and its code. Counts over all hits are then one
// pass over small arrays; bleve's own facets and stored fields read a
// compressed block per document.
//
// The file: the magic, counts, names, then arrays of little-endian numbers, one
// entry per document number (dead numbers have rank noRank), each array as wide
// as its greatest number needs (1, 2 or 4 bytes), the pairs of document and
// theme in document order and the runs of documents next to each other in a
// reel (the first document, the reel, the document's rank), 4 bytes each, the codes, 8 bytes each, and all
// sketches, 2 bytes a word. It is mapped, not read: a search touches only what
// it needs. An update takes what it doesn't change from the file of the
// generation before.
type columns struct {
	data    mmap.MMap
	arrays  [arrayCount]column
	docs    int
	live    int
	words   uint64 // sum of lengths of live documents
	names   [nameTables][]string
	langs   []string // the languages of the bank, sorted
	pairs   int
	runs    int
	hashes  int
	pairsAt int
	runsAt  int
	codesAt int
}

// column is an array of numbers of so many bytes.
type column struct {
	data  []byte
	width int
}

// at gives the number of a document.
func (c column) at(doc uint32) uint32 {
	switch c.width {
	case 1:
		return uint32(c.data[doc])
	case 2:
		return uint32(binary.LittleEndian.Uint16(c.data[doc*2:]))
	}
	return binary.LittleEndian.Uint32(c.data[doc*4:])
}

const (
	columnsMagic = "RLCOL03\n"
	noRank       = ^uint32(0)
	codeBytes    = 8
)

// The arrays, in file order.
const (
	colRank = iota
	colLength
	colSpeaker
	colReel
	colOrder  // int32: place in the reel as the bank has it
	colDay    // name of the day
	colKind   // language << 8 | rating
	colSketch // where the sketch ends; it starts where the last one ended
	arrayCount
)

// The name tables; 0 is "", not known.
const (
	nameSpeaker = iota
	nameReel
	nameTheme
	nameDay
	nameLanguage
	nameTables
)

// ErrDamaged is wrapped by errors about an index whose files don't make sense;
// building it anew helps.
var ErrDamaged = errors.New("index is damaged")

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
	if len(c.data) < start+28 || string(c.data[:len(columnsMagic)]) != columnsMagic {
		return errors.New("columns file: too short or wrong magic")
	}
	end := int(binary.LittleEndian.Uint32(c.data[len(columnsMagic):]))
	if end > len(c.data) || end < start+28 {
		return errors.New("columns file: head too long or too short")
	}
	head := []byte(c.data[start:end])
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
	c.pairs, c.runs, c.hashes = u32(), u32(), u32()
	for i := range c.names {
		c.names[i] = list()
	}
	for _, l := range c.names[nameLanguage] {
		if l != "" {
			c.langs = append(c.langs, l)
		}
	}
	slices.Sort(c.langs)
	if short || len(head) != arrayCount {
		return errors.New("columns file: head too long or too short")
	}
	widths := 0
	for _, w := range head {
		widths += int(w)
	}
	want := end + c.docs*(widths+codeBytes) + c.pairs*8 + c.runs*12 + c.hashes*2
	if want != len(c.data) {
		return fmt.Errorf("columns file: %d bytes, want %d", len(c.data), want)
	}
	for i, w := range head {
		if w != 1 && w != 2 && w != 4 {
			return fmt.Errorf("columns file: numbers of %d bytes", w)
		}
		c.arrays[i] = column{c.data[end : end+c.docs*int(w)], int(w)}
		end += c.docs * int(w)
	}
	c.pairsAt, c.runsAt, c.codesAt = end, end+c.pairs*8, end+c.pairs*8+c.runs*12
	return nil
}

// array gives one of the arrays.
func (c *columns) array(which int) column { return c.arrays[which] }

// themePairs gives the pairs of document and theme, one after the other.
func (c *columns) themePairs() column { return column{c.data[c.pairsAt:c.runsAt], 4} }

// reelRuns gives the first document, the reel and the rank of each run.
func (c *columns) reelRuns() column { return column{c.data[c.runsAt:c.codesAt], 4} }

// rank gives the rank of a document that wasn't taken out: the runs are few,
// where the array of ranks would be looked at all over.
func (c *columns) rank(doc uint32) uint32 {
	runs := c.reelRuns()
	low, high := uint32(0), uint32(c.runs) // the last run that begins at doc or before
	for high-low > 1 {
		if mid := (low + high) / 2; runs.at(3*mid) <= doc {
			low = mid
		} else {
			high = mid
		}
	}
	return runs.at(3*low+2) + doc - runs.at(3*low)
}

// code gives the code of a document.
func (c *columns) code(doc uint32) story.Code {
	start := c.codesAt + int(doc)*codeBytes
	return story.Code(bytes.TrimRight(c.data[start:start+codeBytes], "\x00"))
}

// name gives a name by its number.
func (c *columns) name(which int, n uint32) (string, error) {
	if int(n) >= len(c.names[which]) {
		return "", fmt.Errorf("columns file: name %d of %d: %w", n, len(c.names[which]), ErrDamaged)
	}
	return c.names[which][n], nil
}

// rating and language give what colKind holds.
func (c *columns) rating(doc uint32) uint8    { return uint8(c.array(colKind).at(doc)) }
func (c *columns) language(doc uint32) uint32 { return c.array(colKind).at(doc) >> 8 }

// sketch gives the sketch of a document; nil if it has no telling word.
func (c *columns) sketch(doc uint32) sketch {
	ends := c.array(colSketch)
	first, last := uint32(0), ends.at(doc)
	if doc > 0 {
		first = ends.at(doc - 1)
	}
	if first >= last || int(last) > c.hashes {
		return nil
	}
	start := c.codesAt + c.docs*codeBytes
	out := make(sketch, 0, last-first)
	for k := start + int(first)*2; k < start+int(last)*2; k += 2 {
		out = append(out, binary.LittleEndian.Uint16(c.data[k:]))
	}
	return out
}

// themes lists the themes of a document.
func (c *columns) themes(doc uint32) []string {
	pairs := c.themePairs()
	low, high := 0, c.pairs
	for low < high {
		if mid := (low + high) / 2; pairs.at(uint32(2*mid)) < doc {
			low = mid + 1
		} else {
			high = mid
		}
	}
	var out []string
	for ; low < c.pairs && pairs.at(uint32(2*low)) == doc; low++ {
		out = append(out, c.names[nameTheme][pairs.at(uint32(2*low+1))])
	}
	return out
}

func (c *columns) close() error { return c.data.Unmap() }
