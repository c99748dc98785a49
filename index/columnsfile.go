package index

import (
	"bufio"
	"encoding/binary"
	"math"

	bleveindex "github.com/blevesearch/bleve_index_api"
)

// makeColumns writes the columns file of a finished generation.
func makeColumns(l *ledger, reader bleveindex.IndexReader, path string) error {
	docs, err := l.numbered(reader)
	if err != nil {
		return err
	}
	return writeSynced(path, func(w *bufio.Writer) {
		out := columnsWriter{w: w, l: l, docs: docs, ranks: l.ranks()}
		var widths [arrayCount]byte
		for which := range widths {
			most := uint32(0)
			out.each(which, func(v uint32) { most = max(most, v) })
			widths[which] = 4
			switch {
			case most <= math.MaxUint8:
				widths[which] = 1
			case most <= math.MaxUint16:
				widths[which] = 2
			}
		}
		out.findRuns()
		out.head(widths[:])
		for which, width := range widths {
			out.each(which, func(v uint32) { out.put(v, int(width)) })
		}
		out.rest()
	})
}

// columnsWriter writes the parts of a columns file. The writer below keeps
// the first error.
type columnsWriter struct {
	w     *bufio.Writer
	l     *ledger
	docs  []uint32 // the row of each document
	ranks []uint32
	runs  []uint32 // the first document, the reel and the rank of each run
	four  [4]byte
}

// put writes a number in so many bytes.
func (c *columnsWriter) put(v uint32, width int) {
	binary.LittleEndian.PutUint32(c.four[:], v)
	_, _ = c.w.Write(c.four[:width])
}

func (c *columnsWriter) head(widths []byte) {
	words, pairs, hashes := uint64(0), 0, 0
	for _, n := range c.docs {
		if n != noRow {
			r := &c.l.rows[n]
			words += uint64(r.length)
			pairs += r.themes.len()
			hashes += r.sketch.len()
		}
	}
	put := binary.LittleEndian.AppendUint32
	var head []byte
	head = put(put(head, uint32(len(c.docs))), uint32(c.l.live()))
	head = binary.LittleEndian.AppendUint64(head, words)
	head = put(put(put(head, uint32(pairs)), uint32(len(c.runs)/3)), uint32(hashes))
	for i := range c.l.tables {
		names := c.l.tables[i].list()
		head = put(head, uint32(len(names)))
		for _, n := range names {
			head = append(put(head, uint32(len(n))), n...)
		}
	}
	head = append(head, widths...)
	_, _ = c.w.WriteString(columnsMagic)
	c.put(uint32(len(columnsMagic)+4+len(head)), 4)
	_, _ = c.w.Write(head)
}

// findRuns finds the runs of documents of one reel whose ranks go up as their
// numbers do; one that was taken out belongs to whatever is before it.
func (c *columnsWriter) findRuns() {
	for doc, n := range c.docs {
		if n == noRow {
			if doc == 0 {
				c.runs = append(c.runs, 0, 0, 0)
			}
			continue
		}
		reel, rank := c.l.rows[n].names[nameReel], c.ranks[n]
		if k := len(c.runs); k == 0 || c.runs[k-2] != reel || rank != c.runs[k-1]+uint32(doc)-c.runs[k-3] {
			c.runs = append(c.runs, uint32(doc), reel, rank)
		}
	}
}

// each gives the numbers of an array.
func (c *columnsWriter) each(which int, give func(uint32)) {
	sketchEnd := uint32(0)
	get := [arrayCount]func(*row) uint32{
		colRank:    nil, // not in the row
		colLength:  func(r *row) uint32 { return r.length },
		colSpeaker: func(r *row) uint32 { return r.names[nameSpeaker] },
		colReel:    func(r *row) uint32 { return r.names[nameReel] },
		colOrder:   func(r *row) uint32 { return uint32(r.order) },
		colDay:     func(r *row) uint32 { return r.names[nameDay] },
		colKind:    func(r *row) uint32 { return r.names[nameLanguage]<<8 | uint32(r.rating) },
		colSketch:  func(r *row) uint32 { sketchEnd += uint32(r.sketch.len()); return sketchEnd },
	}[which]
	none := &row{}
	for _, n := range c.docs {
		switch {
		case get == nil && n == noRow:
			give(noRank)
		case get == nil:
			give(c.ranks[n])
		case n == noRow:
			give(get(none))
		default:
			give(get(&c.l.rows[n]))
		}
	}
}

// rest writes the pairs, the runs, the codes and the sketches.
func (c *columnsWriter) rest() {
	for doc, n := range c.docs {
		if n == noRow {
			continue
		}
		for _, t := range c.l.themesOf(&c.l.rows[n]) {
			c.put(uint32(doc), 4)
			c.put(t, 4)
		}
	}
	for _, v := range c.runs {
		c.put(v, 4)
	}
	var noCode [codeBytes]byte
	for _, n := range c.docs {
		code := &noCode
		if n != noRow {
			code = &c.l.rows[n].code
		}
		_, _ = c.w.Write(code[:])
	}
	for _, n := range c.docs {
		if n == noRow {
			continue
		}
		for _, h := range c.l.sketchOf(&c.l.rows[n]) {
			c.put(uint32(h), 2)
		}
	}
}
