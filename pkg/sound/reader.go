package sound

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
)

// blockBytes is about how many bytes of the file make a block.
const blockBytes = 128 << 10

// Block is a run of samples: Samples[channel][i], full scale ±1.0 (float
// files may go beyond). Start is the frame of the first one. The slices are
// valid until the next call to Next; every channel is equally long and never
// empty.
type Block struct {
	Start   int64
	Samples [][]float64
}

// Reader reads one file as a stream of blocks in constant memory. It isn't
// safe for use by two goroutines at once.
type Reader struct {
	ahead  *ahead
	closer io.Closer
	name   string
	info   Info
	format format

	pos    int64 // next frame
	frames int   // per block
	buf    [][]float64
	view   [][]float64

	// gap is set where reading jumped since frame 0.
	gap bool
	bad int64 // float samples that were no numbers
}

// Open opens a file read-only. A file that is no usable WAV gives a
// *FileError that wraps one of the errors of this package; one that can't be
// opened, the system's own error. Close closes the file.
func Open(path string) (*Reader, error) {
	f, size, err := openFile(path)
	if err != nil {
		return nil, err
	}
	r, err := NewReader(f, size, path)
	if err != nil {
		f.Close()
		return nil, err
	}
	r.closer = f
	return r, nil
}

func openFile(path string) (*os.File, int64, error) {
	st, err := os.Stat(path)
	if err != nil {
		return nil, 0, err
	}
	if !st.Mode().IsRegular() {
		return nil, 0, &FileError{
			Name: path, Offset: -1, Err: ErrNotWave,
			Problem: "not a regular file but " + modeName(st.Mode()), Hint: "give the path of a WAV file",
		}
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, 0, err
	}
	return f, st.Size(), nil
}

func modeName(m fs.FileMode) string {
	switch {
	case m.IsDir():
		return "a folder"
	case m&fs.ModeNamedPipe != 0:
		return "a pipe"
	}
	return "a device"
}

// NewReader reads size bytes of r as a WAV file; name is for messages. The
// caller keeps r and closes it after the Reader.
func NewReader(r io.ReaderAt, size int64, name string) (*Reader, error) {
	l, err := parse(r, size, name)
	if err != nil {
		return nil, err
	}
	return newReader(l), nil
}

func parse(r io.ReaderAt, size int64, name string) (*layout, error) {
	l := &layout{r: r, size: size, name: name}
	if err := l.parse(); err != nil {
		return nil, err
	}
	return l, nil
}

func newReader(l *layout) *Reader {
	r := &Reader{ahead: newAhead(l), name: l.name, info: l.info, format: l.format}
	r.frames = max(1, int(min(int64(blockBytes/r.format.frameBytes()), r.info.Frames)))
	r.buf = make([][]float64, r.info.Channels)
	r.view = make([][]float64, r.info.Channels)
	all := make([]float64, r.frames*r.info.Channels)
	for c := range r.buf {
		r.buf[c] = all[c*r.frames : (c+1)*r.frames : (c+1)*r.frames]
	}
	return r
}

// Info is what the file says of itself. Its notes grow with what Next meets:
// after the last block they are complete.
func (r *Reader) Info() Info {
	info := r.info
	if r.bad > 0 {
		info.Notes = append(slices.Clip(info.Notes), fmt.Sprintf("byte %d: %d float samples were no numbers: read as 0", info.DataOffset, r.bad))
	}
	return info
}

// Next reads the next block, io.EOF after the last. Any other error is of the
// reading itself: a file that became shorter gives ErrTruncated.
func (r *Reader) Next() (Block, error) {
	if r.pos >= r.info.Frames {
		return Block{}, io.EOF
	}
	raw, err := r.ahead.take(r.pos, int64(r.frames))
	if err != nil {
		return Block{}, err
	}
	if r.pos == 0 {
		r.bad, r.gap = 0, false
	}
	n := len(raw) / r.format.frameBytes()
	for c := range r.buf {
		r.view[c] = r.buf[c][:n]
	}
	r.bad += r.format.decode(r.view, raw)
	b := Block{Start: r.pos, Samples: r.view}
	r.pos += int64(n)
	return b, nil
}

// SeekFrame moves to a frame: 0 to Frames, where Next gives io.EOF. (It is not
// called Seek because go vet holds that name for io.Seeker.)
func (r *Reader) SeekFrame(frame int64) error {
	if frame < 0 || frame > r.info.Frames {
		return fmt.Errorf("%s: seek to frame %d: want 0 to %d", r.name, frame, r.info.Frames)
	}
	if frame != r.pos {
		r.pos, r.gap = frame, true
	}
	return nil
}

// SkipEssence saves the time of hashing where nobody will ask for Essence. It
// is for before the first Next.
func (r *Reader) SkipEssence() { r.ahead.hash.off = true }

// Close closes the file that Open opened. A second Close does nothing.
func (r *Reader) Close() error {
	r.ahead.wait()
	c := r.closer
	r.closer = nil
	if c == nil {
		return nil
	}
	return c.Close()
}

// Essence is the SHA-256, in hex, of the bytes of all whole frames, as Next
// read them from frame 0 to the end. ErrNotSequential if it didn't.
func (r *Reader) Essence() (hash string, err error) {
	r.ahead.wait()
	sum, read, ok := r.ahead.hash.sum()
	if !ok || r.gap || read != r.info.Frames || r.pos != read {
		return "", &FileError{
			Name: r.name, Offset: -1, Err: ErrNotSequential,
			Problem: fmt.Sprintf("%d of %d frames", r.pos, r.info.Frames), Hint: "read from the start to the end, or use Essence(path)",
		}
	}
	return sum, nil
}

// Essence reads a file only to know it: the SHA-256, in hex, of the bytes of
// its sound, and what its header says. Same errors as Open and Next.
func Essence(path string) (hash string, info Info, err error) {
	f, size, err := openFile(path)
	if err != nil {
		return "", Info{}, err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	l, err := parse(f, size, path)
	if err != nil {
		return "", Info{}, err
	}
	hash, err = l.essence()
	return hash, l.info, err
}
