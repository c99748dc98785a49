package sound

import (
	"crypto/sha256"
	"encoding/hex"
	"hash"
)

// essence hashes frames as long as they come in order.
type essence struct {
	h      hash.Hash
	read   int64 // frames hashed from the start without a gap
	spoilt bool
	off    bool // nobody asks for it
}

func newEssence() *essence { return &essence{h: sha256.New()} }

func (e *essence) spoil() { e.spoilt = true }

// add hashes n frames that begin at frame pos. Frames out of order spoil the
// hash; frame 0 begins anew.
func (e *essence) add(pos, n int64, raw []byte) {
	if e.off {
		return
	}
	if pos == 0 {
		e.h.Reset()
		e.read, e.spoilt = 0, false
	}
	if e.spoilt || pos != e.read {
		e.spoilt = true
		return
	}
	e.read += n
	e.h.Write(raw)
}

// sum is the hash so far, the frames in it, and whether they are all in order.
func (e *essence) sum() (sum string, read int64, ok bool) {
	return hex.EncodeToString(e.h.Sum(nil)), e.read, !e.spoilt && !e.off
}

// essence hashes the sound in a pass of its own.
func (l *layout) essence() (string, error) {
	h := sha256.New()
	left := l.info.Frames * int64(l.format.frameBytes())
	off := l.info.DataOffset
	buf := make([]byte, min(left, 1<<20))
	for left > 0 {
		b := buf[:min(left, int64(len(buf)))]
		if err := readFull(l.r, b, off); err != nil {
			return "", readError(l.name, off, err)
		}
		h.Write(b)
		off += int64(len(b))
		left -= int64(len(b))
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
