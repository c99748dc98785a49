package sound

import "io"

// aheadBytes is about how much is read at once. Two such buffers exist: while
// one is decoded, the other is filled and hashed.
const aheadBytes = 512 << 10

// ahead reads and hashes one buffer in advance, beside whoever works on the
// samples. One goroutine at most runs; it ends with its buffer, so a Reader
// that is dropped without Close leaves nothing behind.
type ahead struct {
	src   io.ReaderAt
	name  string
	start int64 // byte of frame 0
	frame int64 // bytes
	total int64 // frames in the file

	hash    *essence
	now     fill // being decoded
	later   fill // being filled, or filled, if there is one
	ready   bool // there is one
	spare   []byte
	busy    chan struct{} // nil if no goroutine runs
	decoded int64         // frames of now that were handed out
}

// fill is one buffer: frames from pos on, or the error of reading them.
type fill struct {
	pos, n int64
	raw    []byte
	err    error
}

func newAhead(l *layout) *ahead {
	a := &ahead{
		src: l.r, name: l.name, start: l.info.DataOffset, frame: int64(l.format.frameBytes()), total: l.info.Frames,
		hash: newEssence(),
	}
	size := min(max(1, aheadBytes/a.frame), a.total) * a.frame
	a.now.raw = make([]byte, 0, size)
	a.spare = make([]byte, 0, size)
	return a
}

// take gives up to most frames from pos on; none at the end. The bytes are
// valid until the next call.
func (a *ahead) take(pos, most int64) ([]byte, error) {
	if a.now.err != nil || pos != a.now.pos+a.decoded || a.decoded == a.now.n {
		if err := a.advance(pos); err != nil {
			return nil, err
		}
	}
	n := min(most, a.now.n-a.decoded)
	from := a.decoded * a.frame
	a.decoded += n
	return a.now.raw[from : from+n*a.frame], nil
}

// advance makes now the buffer that begins at pos and starts on the one
// behind it.
func (a *ahead) advance(pos int64) error {
	a.wait()
	if a.ready && a.later.pos == pos {
		a.now, a.spare = a.later, a.now.raw
	} else {
		a.now = a.read(pos, a.now.raw)
	}
	a.decoded, a.ready = 0, false
	if a.now.err != nil {
		return a.now.err
	}
	if next := pos + a.now.n; next < a.total {
		done := make(chan struct{})
		a.busy, a.ready = done, true
		go func() {
			a.later = a.read(next, a.spare)
			close(done)
		}()
	}
	return nil
}

// wait lets the goroutine end.
func (a *ahead) wait() {
	if a.busy != nil {
		<-a.busy
		a.busy = nil
	}
}

// read fills a buffer and hashes it.
func (a *ahead) read(pos int64, buf []byte) fill {
	f := fill{pos: pos, n: min(int64(cap(buf))/a.frame, a.total-pos)}
	f.raw = buf[:f.n*a.frame]
	off := a.start + pos*a.frame
	if err := readFull(a.src, f.raw, off); err != nil {
		a.hash.spoil()
		f.err = readError(a.name, off, err)
		return f
	}
	a.hash.add(pos, f.n, f.raw)
	return f
}
