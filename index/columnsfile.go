package index

import (
	"bufio"
	"encoding/binary"

	bleveindex "github.com/blevesearch/bleve_index_api"
)

// makeColumns writes the columns file of a finished generation.
func makeColumns(l *ledger, reader bleveindex.IndexReader, path string) error {
	docs, err := l.numbered(reader)
	if err != nil {
		return err
	}
	return writeSynced(path, func(w *bufio.Writer) {
		out := columnsWriter{w: w}
		out.head(l, docs)
		out.arrays(l, docs)
		out.rest(l, docs)
	})
}

// columnsWriter writes the parts of a columns file. The writer below keeps
// the first error.
type columnsWriter struct {
	w    *bufio.Writer
	four [4]byte
}

func (c *columnsWriter) put(v uint32) {
	binary.LittleEndian.PutUint32(c.four[:], v)
	_, _ = c.w.Write(c.four[:])
}

func (c *columnsWriter) head(l *ledger, docs []uint32) {
	words, pairs, hashes := uint64(0), 0, 0
	for _, n := range docs {
		if n != noRow {
			r := &l.rows[n]
			words += uint64(r.length)
			pairs += r.themes.len()
			hashes += r.sketch.len()
		}
	}
	put := binary.LittleEndian.AppendUint32
	var head []byte
	head = put(put(head, uint32(len(docs))), uint32(l.live()))
	head = binary.LittleEndian.AppendUint64(head, words)
	head = put(put(head, uint32(pairs)), uint32(hashes))
	for i := range l.tables {
		names := l.tables[i].list()
		head = put(head, uint32(len(names)))
		for _, n := range names {
			head = append(put(head, uint32(len(n))), n...)
		}
	}
	_, _ = c.w.WriteString(columnsMagic)
	c.put(uint32(len(columnsMagic) + 4 + len(head)))
	_, _ = c.w.Write(head)
}

// arrays writes the arrays of one entry per document.
func (c *columnsWriter) arrays(l *ledger, docs []uint32) {
	ranks := l.ranks()
	sketchEnd := uint32(0)
	none := &row{}
	for _, get := range [arrayCount]func(*row) uint32{
		colRank:    nil, // not in the row
		colLength:  func(r *row) uint32 { return r.length },
		colSpeaker: func(r *row) uint32 { return r.names[nameSpeaker] },
		colReel:    func(r *row) uint32 { return r.names[nameReel] },
		colOrder:   func(r *row) uint32 { return uint32(r.order) },
		colDay:     func(r *row) uint32 { return r.names[nameDay] },
		colKind:    func(r *row) uint32 { return r.names[nameLanguage]<<8 | uint32(r.rating) },
		colSketch:  func(r *row) uint32 { sketchEnd += uint32(r.sketch.len()); return sketchEnd },
	} {
		for _, n := range docs {
			switch {
			case get == nil && n == noRow:
				c.put(noRank)
			case get == nil:
				c.put(ranks[n])
			case n == noRow:
				c.put(get(none))
			default:
				c.put(get(&l.rows[n]))
			}
		}
	}
}

// rest writes the pairs, the codes and the sketches.
func (c *columnsWriter) rest(l *ledger, docs []uint32) {
	for doc, n := range docs {
		if n == noRow {
			continue
		}
		for _, t := range l.themesOf(&l.rows[n]) {
			c.put(uint32(doc))
			c.put(t)
		}
	}
	var noCode [codeBytes]byte
	for _, n := range docs {
		code := &noCode
		if n != noRow {
			code = &l.rows[n].code
		}
		_, _ = c.w.Write(code[:])
	}
	for _, n := range docs {
		if n == noRow {
			continue
		}
		for _, h := range l.sketchOf(&l.rows[n]) {
			binary.LittleEndian.PutUint16(c.four[:], h)
			_, _ = c.w.Write(c.four[:2])
		}
	}
}
