package bank

import (
	"encoding/binary"
	"fmt"
	"math"

	"rushlight/pkg/timecode"
)

// The blobs of a bank are varints (encoding/binary), counts before lists, and
// strings as length and bytes. Times are stored as differences, which are
// small.

// writer appends values to a blob.
type writer struct{ b []byte }

func (w *writer) uint(v uint64) { w.b = binary.AppendUvarint(w.b, v) }
func (w *writer) int(v int64)   { w.b = binary.AppendVarint(w.b, v) }

func (w *writer) string(s string) {
	w.uint(uint64(len(s)))
	w.b = append(w.b, s...)
}

// float stores the bits: infinities and NaN come back as they were.
func (w *writer) float(f float64) {
	w.b = binary.LittleEndian.AppendUint64(w.b, math.Float64bits(f))
}

// span stores in as the difference to last, and the length; it returns in.
func (w *writer) span(s timecode.Span, last timecode.Ticks) timecode.Ticks {
	w.int(int64(s.In - last))
	w.int(int64(s.Length()))
	return s.In
}

// scanner takes values from a blob; the first failure sticks.
type scanner struct {
	b   []byte
	bad bool
}

func (s *scanner) uint() uint64 {
	v, n := binary.Uvarint(s.b)
	return take(s, v, n)
}

func (s *scanner) int() int64 {
	v, n := binary.Varint(s.b)
	return take(s, v, n)
}

func take[T int64 | uint64](s *scanner, v T, n int) T {
	if n <= 0 {
		s.bad, s.b = true, nil
		return 0
	}
	s.b = s.b[n:]
	return v
}

func (s *scanner) bytes(n uint64) []byte {
	if n > uint64(len(s.b)) {
		s.bad, s.b = true, nil
		return nil
	}
	v := s.b[:n:n]
	s.b = s.b[n:]
	return v
}

func (s *scanner) string() string { return string(s.bytes(s.uint())) }

func (s *scanner) float() float64 {
	v := s.bytes(8)
	if v == nil {
		return 0
	}
	return math.Float64frombits(binary.LittleEndian.Uint64(v))
}

func (s *scanner) span(last timecode.Ticks) timecode.Span {
	in := last + timecode.Ticks(s.int())
	return timecode.Span{In: in, Out: in + timecode.Ticks(s.int())}
}

// count reads the length of a list whose items take at least one byte each.
func (s *scanner) count() int {
	n := s.uint()
	if n > uint64(len(s.b)) {
		s.bad, s.b = true, nil
		return 0
	}
	return int(n)
}

// end is the error of the whole: bytes missing, or bytes left.
func (s *scanner) end(what string) error {
	if s.bad || len(s.b) > 0 {
		return fmt.Errorf("%w: %s can't be read", ErrDamaged, what)
	}
	return nil
}
