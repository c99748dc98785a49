package index

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	bleveindex "github.com/blevesearch/bleve_index_api"

	"rushlight/pkg/story"
)

// ledger gathers, while a generation is made, what its columns will hold of
// each quote. bleve numbers the documents: only when it is done do rows get
// the numbers of their documents.
type ledger struct {
	rows   []row
	at     map[[codeBytes]byte]uint32
	tables [nameTables]table
	hashes []uint16 // all sketches
	themes []uint32 // those of all rows
	dead   int
}

// row is one quote; names are numbers in the ledger's tables. There is no
// pointer in it, so that the collector needn't look at a million of them.
type row struct {
	code           [codeBytes]byte
	order          int32
	length         uint32
	names          [nameTables]uint32 // themes are not here
	rating         uint8
	dead           bool
	sketch, themes extent // among the ledger's hashes and themes
}

// extent is a part of a list, its end excluded.
type extent struct{ start, end uint32 }

func (e extent) len() int { return int(e.end - e.start) }

// sketchOf and themesOf give what a row's extents stand for.
func (l *ledger) sketchOf(r *row) []uint16 { return l.hashes[r.sketch.start:r.sketch.end] }
func (l *ledger) themesOf(r *row) []uint32 { return l.themes[r.themes.start:r.themes.end] }

// table numbers names in the order of first appearance, from 1: 0 is "".
type table struct {
	names []string
	at    map[string]uint32
}

func (t *table) number(name string) uint32 {
	if name == "" {
		return 0
	}
	if n, ok := t.at[name]; ok {
		return n
	}
	if t.at == nil {
		t.at, t.names = map[string]uint32{}, []string{""}
	}
	n := uint32(len(t.names))
	name = strings.Clone(name) // or the whole quote could be kept
	t.names = append(t.names, name)
	t.at[name] = n
	return n
}

// list gives the names by number.
func (t *table) list() []string {
	if t.names == nil {
		return []string{""}
	}
	return t.names
}

// codeKey is a code as columns keep it.
func codeKey(code string) (k [codeBytes]byte, err error) {
	if len(code) > codeBytes {
		return k, fmt.Errorf("code %q: longer than %d letters", code, codeBytes)
	}
	copy(k[:], code)
	return k, nil
}

// put notes a cleaned quote, in place of one with the same code.
func (l *ledger) put(q story.Quote, language string, words int, hints sketch) error {
	code, err := codeKey(string(q.Code))
	if err != nil {
		return err
	}
	r := row{
		code:   code,
		order:  int32(min(max(q.Order, math.MinInt32), math.MaxInt32)),
		length: uint32(words), rating: uint8(min(max(q.Rating, 0), math.MaxUint8)),
	}
	r.names[nameSpeaker] = l.tables[nameSpeaker].number(q.Speaker)
	r.names[nameReel] = l.tables[nameReel].number(q.Reel)
	r.names[nameDay] = l.tables[nameDay].number(q.Day)
	r.names[nameLanguage] = l.tables[nameLanguage].number(language)
	var themes []uint32
	for _, t := range q.Themes {
		themes = append(themes, l.tables[nameTheme].number(t))
	}
	l.add(r, themes, hints)
	return nil
}

func (l *ledger) add(r row, themes []uint32, hints sketch) {
	if l.at == nil {
		l.at = map[[codeBytes]byte]uint32{}
	}
	l.drop(r.code)
	r.sketch.start, r.themes.start = uint32(len(l.hashes)), uint32(len(l.themes))
	l.hashes, l.themes = append(l.hashes, hints...), append(l.themes, themes...)
	r.sketch.end, r.themes.end = uint32(len(l.hashes)), uint32(len(l.themes))
	l.at[r.code] = uint32(len(l.rows))
	l.rows = append(l.rows, r)
}

// drop takes a quote out.
func (l *ledger) drop(code [codeBytes]byte) {
	if n, ok := l.at[code]; ok {
		l.rows[n].dead = true
		l.dead++
		delete(l.at, code)
	}
}

// live is the number of quotes.
func (l *ledger) live() int { return len(l.rows) - l.dead }

// takeFrom takes in all quotes of an older generation except those in gone;
// changed ones are put in their place later.
func (l *ledger) takeFrom(path string, gone []story.Code) error {
	c, err := openColumns(path)
	if err != nil {
		return err
	}
	if err := l.take(c); err != nil {
		_ = c.close()
		return fmt.Errorf("%s: %w", path, err)
	}
	for _, code := range gone {
		if key, err := codeKey(string(code)); err == nil {
			l.drop(key)
		}
	}
	return c.close()
}

func (l *ledger) take(c *columns) error {
	var numbers [nameTables][]uint32 // of c's names here
	for which, names := range c.names {
		numbers[which] = make([]uint32, len(names))
		for i := range names {
			numbers[which][i] = noRow
		}
	}
	number := func(which int, old uint32) (uint32, error) {
		name, err := c.name(which, old)
		if err != nil {
			return 0, err
		}
		if numbers[which][old] == noRow { // names that nobody has any more are left out
			numbers[which][old] = l.tables[which].number(name)
		}
		return numbers[which][old], nil
	}
	l.rows = slices.Grow(l.rows, c.live)
	l.hashes = slices.Grow(l.hashes, c.hashes)
	if l.at == nil {
		l.at = make(map[[codeBytes]byte]uint32, c.live)
	}
	ranks, orders, lengths := c.array(colRank), c.array(colOrder), c.array(colLength)
	named := [...]struct {
		which int
		array column
	}{{nameSpeaker, c.array(colSpeaker)}, {nameReel, c.array(colReel)}, {nameDay, c.array(colDay)}}
	pairs, p := c.themePairs(), uint32(0)
	var themes []uint32
	for d := range uint32(c.docs) {
		if ranks.at(d) == noRank {
			continue
		}
		r := row{order: int32(orders.at(d)), length: lengths.at(d), rating: c.rating(d)}
		copy(r.code[:], c.code(d))
		var err error
		themes = themes[:0]
		for _, n := range named {
			if r.names[n.which], err = number(n.which, n.array.at(d)); err != nil {
				return err
			}
		}
		if r.names[nameLanguage], err = number(nameLanguage, c.language(d)); err != nil {
			return err
		}
		for ; int(p) < c.pairs && pairs.at(2*p) <= d; p++ {
			if pairs.at(2*p) < d {
				continue
			}
			t, err := number(nameTheme, pairs.at(2*p+1))
			if err != nil {
				return err
			}
			themes = append(themes, t)
		}
		l.add(r, themes, c.sketch(d))
	}
	return nil
}

// noRow is the row of a document that was replaced or taken out.
const noRow = ^uint32(0)

// numbered finds the row of each document of a finished generation.
func (l *ledger) numbered(reader bleveindex.IndexReader) ([]uint32, error) {
	ids, err := reader.DocIDReaderAll()
	if err != nil {
		return nil, err
	}
	defer ids.Close()
	docs := make([]uint32, 0, len(l.rows))
	live, guess, ok := 0, uint32(0), true
	for {
		id, err := ids.Next()
		if err != nil {
			return nil, err
		}
		if id == nil {
			break
		}
		code, err := reader.ExternalID(id)
		if err != nil {
			return nil, err
		}
		key, err := codeKey(code)
		if err != nil {
			return nil, err
		}
		// Most documents come in the order of rows.
		n := guess
		if int(n) >= len(l.rows) || l.rows[n].dead || l.rows[n].code != key {
			n, ok = l.at[key]
		}
		guess = n + 1
		if !ok {
			return nil, fmt.Errorf("quote %s is in the index but not in its columns: %w", code, ErrDamaged)
		}
		for len(docs) < int(id.Value()) {
			docs = append(docs, noRow)
		}
		docs = append(docs, n)
		live++
	}
	if live != l.live() {
		return nil, fmt.Errorf("%d quotes in the index, %d in its columns: %w", live, l.live(), ErrDamaged)
	}
	return docs, nil
}

// ranks gives each row its place in the order of reel and order, and code
// where both are the same; noRank where it is not alive.
func (l *ledger) ranks() []uint32 {
	reels := l.tables[nameReel].list()
	sorted := make([]uint32, len(reels))
	for i := range sorted {
		sorted[i] = uint32(i)
	}
	slices.SortFunc(sorted, func(a, b uint32) int { return strings.Compare(reels[a], reels[b]) })
	place := make([]uint32, len(reels))
	for i, n := range sorted {
		place[n] = uint32(i)
	}
	ranks := make([]uint32, len(l.rows))
	order := make([]uint32, 0, len(l.rows))
	for i := range l.rows {
		ranks[i] = noRank
		if !l.rows[i].dead {
			order = append(order, uint32(i))
		}
	}
	slices.SortFunc(order, func(a, b uint32) int {
		x, y := &l.rows[a], &l.rows[b]
		if c := cmp.Or(cmp.Compare(place[x.names[nameReel]], place[y.names[nameReel]]), cmp.Compare(x.order, y.order)); c != 0 {
			return c
		}
		return bytes.Compare(x.code[:], y.code[:])
	})
	for rank, i := range order {
		ranks[i] = uint32(rank)
	}
	return ranks
}
