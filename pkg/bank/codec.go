package bank

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"fmt"
	"io"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// maxEnvelope is the longest envelope that is read back: 1,000 hours.
const maxEnvelope = 360_000_000

func packWords(words []story.Word) []byte {
	if len(words) == 0 {
		return []byte{}
	}
	w := writer{b: make([]byte, 0, 16*len(words))}
	w.uint(uint64(len(words)))
	var last timecode.Ticks
	for _, x := range words {
		last = w.span(x.Span, last)
		w.string(x.Text)
	}
	return w.b
}

func unpackWords(b []byte) ([]story.Word, error) {
	if len(b) == 0 {
		return nil, nil
	}
	s := scanner{b: b}
	words := make([]story.Word, s.count())
	// All texts share one string.
	whole := string(b)
	var last timecode.Ticks
	for i := range words {
		words[i].Span = s.span(last)
		last = words[i].In
		n := s.uint()
		start := len(b) - len(s.b)
		words[i].Text = whole[start : start+len(s.bytes(n))]
	}
	return words, s.end("the words of a quote")
}

func packNames(names []string) []byte {
	if len(names) == 0 {
		return []byte{}
	}
	var w writer
	w.uint(uint64(len(names)))
	for _, n := range names {
		w.string(n)
	}
	return w.b
}

func unpackNames(b []byte) ([]string, error) {
	if len(b) == 0 {
		return nil, nil
	}
	s := scanner{b: b}
	names := make([]string, s.count())
	for i := range names {
		names[i] = s.string()
	}
	return names, s.end("the track names of a recording")
}

func packMarkers(markers []story.Marker) []byte {
	if len(markers) == 0 {
		return []byte{}
	}
	var w writer
	w.uint(uint64(len(markers)))
	for _, m := range markers {
		w.int(int64(m.At))
		w.string(m.Label)
	}
	return w.b
}

func unpackMarkers(b []byte) ([]story.Marker, error) {
	if len(b) == 0 {
		return nil, nil
	}
	s := scanner{b: b}
	markers := make([]story.Marker, s.count())
	for i := range markers {
		markers[i].At = ticks(s.int())
		markers[i].Label = s.string()
	}
	return markers, s.end("the markers of a recording")
}

// packEnvelope stores, deflated, the two lengths and then the low and the
// high bytes of the differences between neighbours, folded so that small ones
// of either sign have a high byte of 0. The recordings in samples/ come to 2.8
// bytes per step of 10 ms together, 2.3 (a scratch track) to 3.5 (a slate of
// 1.5 s) each.
func packEnvelope(e story.Envelope) []byte {
	var out bytes.Buffer
	out.Grow(3*len(e.RMS) + 1024)
	w := writer{}
	w.uint(uint64(len(e.RMS)))
	w.uint(uint64(len(e.Peak)))
	out.Write(w.b)
	// Level 1 only: the data is noise in its low byte, more effort gains
	// little. The error is that of a level out of range.
	z, _ := flate.NewWriter(&out, flate.BestSpeed)
	for _, list := range [][]int16{e.RMS, e.Peak} {
		for shift := 0; shift <= 8; shift += 8 {
			deflateSteps(z, list, shift)
		}
	}
	_ = z.Close() // a bytes.Buffer takes everything
	return out.Bytes()
}

// deflateSteps writes one byte of each folded difference in list, in blocks so
// that ten hours need little room.
func deflateSteps(z *flate.Writer, list []int16, shift int) {
	var last int16
	block := make([]byte, 0, 1<<14)
	for part := range slices.Chunk(list, cap(block)) {
		block = block[:0]
		for _, v := range part {
			d := v - last
			last = v
			block = append(block, byte((uint16(d<<1)^uint16(d>>15))>>shift))
		}
		_, _ = z.Write(block)
	}
}

func unpackEnvelope(b []byte) (story.Envelope, error) {
	bad := func(err error) (story.Envelope, error) {
		return story.Envelope{}, fmt.Errorf("%w: an envelope can't be read: %v", ErrDamaged, err)
	}
	n, used := binary.Uvarint(b)
	if used <= 0 || n > maxEnvelope {
		return bad(io.ErrUnexpectedEOF)
	}
	m, used2 := binary.Uvarint(b[used:])
	if used2 <= 0 || m > maxEnvelope {
		return bad(io.ErrUnexpectedEOF)
	}
	if most := 1032 * uint64(len(b)); 2*(n+m) > most { // deflate can't say more in so few bytes (RFC 1951, recalled)
		return bad(io.ErrUnexpectedEOF)
	}
	z := flate.NewReader(bytes.NewReader(b[used+used2:]))
	e := story.Envelope{}
	for _, list := range []struct {
		n  uint64
		to *[]int16
	}{{n, &e.RMS}, {m, &e.Peak}} {
		steps, err := inflateSteps(z, int(list.n))
		if err != nil {
			return bad(err)
		}
		*list.to = steps
	}
	return e, nil
}

// inflateSteps is the reverse of deflateSteps for both bytes; nil for none.
func inflateSteps(z io.Reader, n int) ([]int16, error) {
	if n == 0 {
		return nil, nil
	}
	out := make([]int16, n)
	block := make([]byte, 1<<14)
	for shift := 0; shift <= 8; shift += 8 {
		for part := range slices.Chunk(out, len(block)) {
			if _, err := io.ReadFull(z, block[:len(part)]); err != nil {
				return nil, err
			}
			for i, v := range block[:len(part)] {
				part[i] |= int16(v) << shift
			}
		}
	}
	var last int16
	for i, v := range out {
		f := uint16(v)
		last += int16(f>>1) ^ -int16(f&1)
		out[i] = last
	}
	return out, nil
}
