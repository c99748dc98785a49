package sound

import (
	"fmt"
	"io"
)

// riffHead is what stands before the first chunk: "RIFF", size, "WAVE".
const riffHead = 12

// splice lets an encoder that knows only fmt and data write a file that has
// more chunks before them: what it writes behind its first twelve bytes lands
// behind the chunks already there.
type splice struct {
	w    io.WriteSeeker
	base int64 // where the file begins in w
	gap  int64 // bytes of the chunks in between
	pos  int64 // as the encoder sees it
	at   int64 // where w really is
	end  int64 // real end of what was written
	err  error // the first one: the encoder's own errors hide it
}

func newSplice(w io.WriteSeeker, chunks []byte) (*splice, error) {
	base, err := w.Seek(0, io.SeekCurrent)
	if err != nil {
		return nil, fmt.Errorf("writing WAV: the target can't seek: %w", err)
	}
	s := &splice{w: w, base: base, at: base, gap: int64(len(chunks))}
	if err := s.patch(riffHead, chunks); err != nil {
		return nil, err
	}
	return s, nil
}

// patch writes b at a real offset of the file. After an error it gives that
// error again.
func (s *splice) patch(off int64, b []byte) error {
	if s.err == nil {
		s.err = s.put(off, b)
	}
	return s.err
}

func (s *splice) put(off int64, b []byte) error {
	if s.at != s.base+off {
		if _, err := s.w.Seek(s.base+off, io.SeekStart); err != nil {
			return err
		}
		s.at = s.base + off
	}
	n, err := s.w.Write(b)
	s.at += int64(n)
	s.end = max(s.end, s.at-s.base)
	if err == nil && n < len(b) {
		err = io.ErrShortWrite
	}
	return err
}

// cause is the target's own error behind one of the encoder's.
func (s *splice) cause(err error) error {
	if err != nil && s.err != nil {
		return s.err
	}
	return err
}

// Write is the encoder's.
func (s *splice) Write(b []byte) (int, error) {
	off := s.pos
	if off >= riffHead {
		off += s.gap
	}
	if err := s.patch(off, b); err != nil {
		return 0, err
	}
	s.pos += int64(len(b))
	return len(b), nil
}

// Seek is the encoder's; it never seeks relative to where it is.
func (s *splice) Seek(off int64, whence int) (int64, error) {
	switch whence {
	case io.SeekStart:
		s.pos = off
	case io.SeekEnd:
		s.pos = s.end - s.gap + off
	default:
		return s.pos, fmt.Errorf("seek from %d not supported", whence)
	}
	return s.pos, nil
}
