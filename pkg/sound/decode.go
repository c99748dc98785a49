package sound

import (
	"encoding/binary"
	"math"
)

// Full scale of the integer formats. A 24-bit sample is decoded in the top
// bits of 32, so it shares the scale of 32-bit ones.
const (
	scale8  = 1.0 / (1 << 7)
	scale16 = 1.0 / (1 << 15)
	scale32 = 1.0 / (1 << 31)
)

// decode spreads interleaved bytes over the channels; raw holds whole frames.
// It returns how many float samples were no numbers (they become 0). Each
// loop runs over one channel, so that its stride is the only variable.
func (f format) decode(dst [][]float64, raw []byte) (bad int64) {
	width := f.container / 8
	stride := f.frameBytes()
	for c, d := range dst {
		b := raw[c*width:]
		switch {
		case f.float && width == 4:
			bad += decodeFloat32(d, b, stride)
		case f.float:
			bad += decodeFloat64(d, b, stride)
		case width == 1:
			decode8(d, b, stride)
		case width == 2:
			decode16(d, b, stride)
		case width == 3:
			decode24(d, b, stride)
		default:
			decode32(d, b, stride)
		}
	}
	return bad
}

// decode8: 8-bit WAV samples are unsigned, silence is 128.
func decode8(dst []float64, b []byte, stride int) {
	for i := range dst {
		dst[i] = float64(int(b[i*stride])-128) * scale8
	}
}

func decode16(dst []float64, b []byte, stride int) {
	at := 0
	for i := range dst {
		dst[i] = float64(int16(binary.LittleEndian.Uint16(b[at:]))) * scale16
		at += stride
	}
}

// decode24 loads four bytes at a time and shifts the stranger out; the last
// sample has none behind it.
func decode24(dst []float64, b []byte, stride int) {
	if stride == 3 {
		done := decode24Mono(dst, b)
		dst, b = dst[done:], b[3*done:]
	}
	n := len(dst) - 1
	if n < 0 {
		return
	}
	at := 0
	for i := range dst[:n] {
		dst[i] = float64(int32(binary.LittleEndian.Uint32(b[at:])<<8)) * scale32
		at += stride
	}
	last := b[n*stride:]
	v := uint32(last[0])<<8 | uint32(last[1])<<16 | uint32(last[2])<<24
	dst[n] = float64(int32(v)) * scale32
}

// decode24Mono takes eight samples from three loads, about twice as fast as
// one by one, and returns how many it did. Each sample is moved to the top of
// 32 bits, with zeros below.
func decode24Mono(dst []float64, b []byte) int {
	total := len(dst)
	for len(dst) >= 8 && len(b) >= 24 {
		d, s := dst[:8:8], b[:24:24]
		x, y, z := binary.LittleEndian.Uint64(s), binary.LittleEndian.Uint64(s[8:]), binary.LittleEndian.Uint64(s[16:])
		d[0] = float64(int32(x<<8)) * scale32
		d[1] = float64(int32(x>>16&^0xFF)) * scale32
		d[2] = float64(int32(x>>40&^0xFF|y<<24)) * scale32
		d[3] = float64(int32(y&^0xFF)) * scale32
		d[4] = float64(int32(y>>24&^0xFF)) * scale32
		d[5] = float64(int32(y>>48&^0xFF|z<<16)) * scale32
		d[6] = float64(int32(z>>8&^0xFF)) * scale32
		d[7] = float64(int32(z>>32&^0xFF)) * scale32
		dst, b = dst[8:], b[24:]
	}
	return total - len(dst)
}

func decode32(dst []float64, b []byte, stride int) {
	at := 0
	for i := range dst {
		dst[i] = float64(int32(binary.LittleEndian.Uint32(b[at:]))) * scale32
		at += stride
	}
}

func decodeFloat32(dst []float64, b []byte, stride int) (bad int64) {
	at := 0
	for i := range dst {
		v := binary.LittleEndian.Uint32(b[at:])
		// An exponent of all ones is an infinity or no number.
		if v&0x7F800000 == 0x7F800000 {
			v = 0
			bad++
		}
		dst[i] = float64(math.Float32frombits(v))
		at += stride
	}
	return bad
}

func decodeFloat64(dst []float64, b []byte, stride int) (bad int64) {
	at := 0
	for i := range dst {
		v := binary.LittleEndian.Uint64(b[at:])
		if v&0x7FF0000000000000 == 0x7FF0000000000000 {
			v = 0
			bad++
		}
		dst[i] = math.Float64frombits(v)
		at += stride
	}
	return bad
}
