package bank

import (
	"bytes"
	"compress/flate"
	"encoding/binary"
	"fmt"
	"io"

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
	w := writer{}
	w.uint(uint64(len(e.RMS)))
	w.uint(uint64(len(e.Peak)))
	out.Write(w.b)
	// Level 1 only: the data is noise in its low byte, more effort gains
	// little. The error is that of a level out of range.
	z, _ := flate.NewWriter(&out, flate.BestSpeed)
	for _, list := range [][]int16{e.RMS, e.Peak} {
		low, high := make([]byte, len(list)), make([]byte, len(list))
		var last int16
		for i, v := range list {
			d := v - last
			last = v
			f := uint16(d<<1) ^ uint16(d>>15)
			low[i], high[i] = byte(f), byte(f>>8)
		}
		// A bytes.Buffer takes everything.
		_, _ = z.Write(low)
		_, _ = z.Write(high)
	}
	_ = z.Close()
	return out.Bytes()
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
	raw := make([]byte, 0, min(2*(n+m), uint64(len(b))*4+64))
	buf := bytes.NewBuffer(raw)
	z := flate.NewReader(bytes.NewReader(b[used+used2:]))
	if got, err := io.Copy(buf, io.LimitReader(z, int64(2*(n+m)))); err != nil {
		return bad(err)
	} else if got < int64(2*(n+m)) {
		return bad(io.ErrUnexpectedEOF)
	}
	all := buf.Bytes()
	list := func(n uint64) []int16 {
		if n == 0 {
			return nil
		}
		low, high := all[:n], all[n:2*n]
		all = all[2*n:]
		out := make([]int16, n)
		var last int16
		for i := range out {
			f := uint16(low[i]) | uint16(high[i])<<8
			last += int16(f>>1) ^ -int16(f&1)
			out[i] = last
		}
		return out
	}
	return story.Envelope{RMS: list(n), Peak: list(m)}, nil
}
