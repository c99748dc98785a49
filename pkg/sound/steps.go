package sound

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"runtime"
	"sync"
)

// Step is what a short stretch of all channels holds: the sum of the squares
// of its samples and the highest square, full scale 1.
type Step struct {
	First, Frames int64
	Squares, Top  float64
}

// stepsBytes is about how much one goroutine takes at once.
const stepsBytes = 512 << 10

// Steps measures the whole file from frame 0 in steps, on all processors and
// without making float samples of it: for a first look at a long recording.
// ends(n) is the frame at which step n, counted from 0, is over; it must grow.
// tell is called once for each step, by several goroutines and in any order;
// ctx is looked at between pieces of about half a megabyte.
//
// It knows integer samples of 16 and 24 bits; for others ok is false and
// nothing was read. Where Next stands doesn't change. Errors: as Next.
func (r *Reader) Steps(ctx context.Context, ends func(n int64) int64, tell func(n int64, s Step)) (ok bool, err error) {
	sum := stepSum(r.format)
	if sum == nil {
		return false, nil
	}
	m := &stepMeter{reader: r, ends: ends, tell: tell, sum: sum, frame: int64(r.format.frameBytes())}
	var wait sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		wait.Go(func() {
			for m.piece(ctx) {
			}
		})
	}
	wait.Wait()
	return true, m.err
}

// stepMeter hands pieces of whole steps to whoever asks.
type stepMeter struct {
	reader *Reader
	ends   func(int64) int64
	tell   func(int64, Step)
	sum    func([]byte) (squares, top float64)
	frame  int64 // bytes

	mu   sync.Mutex
	next int64 // step
	at   int64 // frame at which it begins
	err  error
	free [][]byte
}

// claim takes the next piece: its first step, and the frames from and to.
func (m *stepMeter) claim(ctx context.Context) (step, from, to int64, buf []byte, ok bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	total := m.reader.info.Frames
	if m.err == nil && ctx.Err() != nil {
		m.err = fmt.Errorf("%s: stopped at frame %d: %w", m.reader.name, m.at, ctx.Err())
	}
	if m.err != nil || m.at >= total {
		return 0, 0, 0, nil, false
	}
	step, from, to = m.next, m.at, m.at
	for to < total && (to-from)*m.frame < stepsBytes {
		to = min(m.ends(m.next), total)
		m.next++
	}
	m.at = to
	if n := len(m.free); n > 0 {
		buf, m.free = m.free[n-1], m.free[:n-1]
	}
	return step, from, to, buf, true
}

// piece measures one piece; false when there is none left.
func (m *stepMeter) piece(ctx context.Context) bool {
	step, from, to, buf, ok := m.claim(ctx)
	if !ok {
		return false
	}
	size := (to - from) * m.frame
	if int64(cap(buf)) < size {
		buf = make([]byte, size)
	}
	buf = buf[:size]
	off := m.reader.info.DataOffset + from*m.frame
	err := readFull(m.reader.ahead.src, buf, off)
	for at := from; at < to && err == nil; step++ {
		end := min(m.ends(step), to)
		s := Step{First: at, Frames: end - at}
		s.Squares, s.Top = m.sum(buf[(at-from)*m.frame : (end-from)*m.frame])
		m.tell(step, s)
		at = end
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	m.free = append(m.free, buf)
	if err != nil && m.err == nil {
		m.err = readError(m.reader.name, off, err)
	}
	return err == nil
}

// stepSum is the function that sums the samples of a format, nil if it has
// none. Which channel a sample belongs to doesn't matter.
func stepSum(f format) func([]byte) (squares, top float64) {
	switch {
	case f.float:
	case f.container == 16:
		return squares16
	case f.container == 24:
		return squares24
	}
	return nil
}

// squares16 sums whole numbers: exact for up to 2^33 samples.
func squares16(b []byte) (squares, top float64) {
	var sum, high int64
	for ; len(b) >= 8; b = b[8:] {
		x := binary.LittleEndian.Uint64(b)
		v0, v1, v2, v3 := int64(int16(x)), int64(int16(x>>16)), int64(int16(x>>32)), int64(x)>>48
		v0, v1, v2, v3 = v0*v0, v1*v1, v2*v2, v3*v3
		sum += v0 + v1 + v2 + v3
		high = max(high, max(v0, v1), max(v2, v3))
	}
	for ; len(b) >= 2; b = b[2:] {
		v := int64(int16(binary.LittleEndian.Uint16(b)))
		sum += v * v
		high = max(high, v*v)
	}
	return float64(sum) * (scale16 * scale16), float64(high) * (scale16 * scale16)
}

// wide24 is for how many samples of 24 bits a sum of squares surely fits in
// 64: each square is at most 2^46.
const wide24 = 1 << 17

// squares24 takes eight samples from three loads.
func squares24(b []byte) (squares, top float64) {
	const scale = 1.0 / (1 << 23)
	var high int64
	for len(b) > 0 {
		part := b[:min(len(b), 3*wide24)]
		b = b[len(part):]
		var sum int64
		for ; len(part) >= 24; part = part[24:] {
			s := part[:24:24]
			x, y, z := binary.LittleEndian.Uint64(s), binary.LittleEndian.Uint64(s[8:]), binary.LittleEndian.Uint64(s[16:])
			v0, v1 := int64(x<<40)>>40, int64(x<<16)>>40
			v2, v3 := int64(int32(uint32(x>>48)<<8|uint32(y)<<24))>>8, int64(y<<32)>>40
			v4, v5 := int64(y<<8)>>40, int64(int32(uint32(y>>56)<<8|uint32(z)<<16))>>8
			v6, v7 := int64(z<<24)>>40, int64(z)>>40
			v0, v1, v2, v3 = v0*v0, v1*v1, v2*v2, v3*v3
			v4, v5, v6, v7 = v4*v4, v5*v5, v6*v6, v7*v7
			sum += v0 + v1 + v2 + v3 + v4 + v5 + v6 + v7
			high = max(high, max(max(v0, v1), max(v2, v3)), max(max(v4, v5), max(v6, v7)))
		}
		for ; len(part) >= 3; part = part[3:] {
			v := int64(int32(uint32(part[0])<<8|uint32(part[1])<<16|uint32(part[2])<<24)) >> 8
			sum += v * v
			high = max(high, v*v)
		}
		squares += float64(sum)
	}
	return squares * (scale * scale), float64(high) * (scale * scale)
}

// Highest is the highest sample of a step, 0 to 1 for whole numbers.
func (s Step) Highest() float64 { return math.Sqrt(s.Top) }
