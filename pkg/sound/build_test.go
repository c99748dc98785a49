package sound

import (
	"bytes"
	"encoding/binary"
	"errors"
	"io"
	"math"
)

// Builders of tiny files, byte by byte, so that every fault can be made.

var le = binary.LittleEndian

// errFull is what a full disk says.
var errFull = errors.New("no space left")

// wave is a file under construction.
type wave struct{ b []byte }

// newWave begins a file; finish writes the size.
func newWave(id string) *wave {
	return &wave{append([]byte(id), 0, 0, 0, 0, 'W', 'A', 'V', 'E')}
}

// chunk adds a chunk that claims its true size, with pad byte.
func (w *wave) chunk(id string, body []byte) *wave {
	w.b = appendChunk(w.b, id, body)
	return w
}

// claim adds a chunk that claims another size, without pad byte.
func (w *wave) claim(id string, size uint32, body []byte) *wave {
	w.b = append(w.b, id...)
	w.b = le.AppendUint32(w.b, size)
	return w.raw(body)
}

func (w *wave) raw(b []byte) *wave {
	w.b = append(w.b, b...)
	return w
}

func (w *wave) finish() []byte {
	if string(w.b[:4]) == "RIFF" {
		le.PutUint32(w.b[4:], uint32(len(w.b)-8))
	} else {
		le.PutUint32(w.b[4:], unknownSize)
	}
	return w.b
}

// fmtChunk is the body of a plain fmt chunk.
func fmtChunk(tag, channels, rate, bits int) []byte {
	return fmtAligned(tag, channels, rate, bits, channels*((bits+7)/8))
}

func fmtAligned(tag, channels, rate, bits, align int) []byte {
	b := le.AppendUint16(nil, uint16(tag))
	b = le.AppendUint16(b, uint16(channels))
	b = le.AppendUint32(b, uint32(rate))
	b = le.AppendUint32(b, uint32(rate*align))
	b = le.AppendUint16(b, uint16(align))
	return le.AppendUint16(b, uint16(bits))
}

// fmtExtensible is WAVE_FORMAT_EXTENSIBLE with a subformat's tag.
func fmtExtensible(tag uint32, tail string, channels, rate, bits, valid int, mask uint32) []byte {
	b := fmtChunk(tagExtensible, channels, rate, bits)
	b = le.AppendUint16(b, 22)
	b = le.AppendUint16(b, uint16(valid))
	b = le.AppendUint32(b, mask)
	b = le.AppendUint32(b, tag)
	return append(b, tail...)
}

// ds64Chunk is the body of a ds64 chunk without a table.
func ds64Chunk(riff, data, frames uint64) []byte {
	b := le.AppendUint64(nil, riff)
	b = le.AppendUint64(b, data)
	b = le.AppendUint64(b, frames)
	return le.AppendUint32(b, 0)
}

// ramp16 is n samples 1, 2, 3 … of 16 bits; their values are rampValue(i).
func ramp16(n int) []byte {
	var b []byte
	for i := range n {
		b = le.AppendUint16(b, uint16(i+1))
	}
	return b
}

func rampValue(i int) float64 { return float64(i+1) / 32768 }

// ramp24 is the same in 24 bits, with the same values.
func ramp24(n int) []byte {
	var b []byte
	for i := range n {
		v := (i + 1) << 8
		b = append(b, byte(v), byte(v>>8), byte(v>>16))
	}
	return b
}

func float32s(v ...float64) []byte {
	var b []byte
	for _, f := range v {
		b = le.AppendUint32(b, math.Float32bits(float32(f)))
	}
	return b
}

func float64s(v ...float64) []byte {
	var b []byte
	for _, f := range v {
		b = le.AppendUint64(b, math.Float64bits(f))
	}
	return b
}

// sparse is a huge file of which only some runs of bytes are kept; the rest
// reads as zero.
type sparse struct {
	size int64
	runs map[int64][]byte
}

func (s sparse) ReadAt(p []byte, off int64) (int, error) {
	if off >= s.size {
		return 0, io.EOF
	}
	n := int(min(int64(len(p)), s.size-off))
	clear(p[:n])
	for at, b := range s.runs {
		lo, hi := max(at, off), min(at+int64(len(b)), off+int64(n))
		if lo < hi {
			copy(p[lo-off:hi-off], b[lo-at:hi-at])
		}
	}
	if n < len(p) {
		return n, io.EOF
	}
	return n, nil
}

func open(b []byte) (*Reader, error) {
	return NewReader(bytes.NewReader(b), int64(len(b)), "test.wav")
}

// memory is an io.WriteSeeker that can run full.
type memory struct {
	b    []byte
	pos  int
	full int // bytes it takes in all; 0 for no limit
	took int
}

func (m *memory) Write(p []byte) (int, error) {
	m.took += len(p)
	if m.full > 0 && m.took > m.full {
		return 0, errFull
	}
	if grow := m.pos + len(p) - len(m.b); grow > 0 {
		m.b = append(m.b, make([]byte, grow)...)
	}
	m.pos += copy(m.b[m.pos:], p)
	return len(p), nil
}

func (m *memory) Seek(off int64, whence int) (int64, error) {
	switch whence {
	case io.SeekCurrent:
		off += int64(m.pos)
	case io.SeekEnd:
		off += int64(len(m.b))
	}
	m.pos = int(off)
	return off, nil
}
