package sound

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"strings"
)

// Limits on what a header can make us do. None of them bounds the sound.
const (
	maxChunks   = 1 << 16
	maxMetadata = 4 << 20 // bytes read of one metadata chunk
	maxNotes    = 40
	searchBytes = 1 << 20 // how far a lost data chunk is looked for
)

const unknownSize = 0xFFFFFFFF

// layout walks the chunks of one file. It never trusts a size: every size is
// held against the bytes really there before anything is read, skipped or
// allocated.
//
// RIFF: Microsoft/IBM Multimedia Programming Interface 1.0 (1991). RF64: EBU
// Tech 3306; BW64: ITU-R BS.2088, which keeps RF64's ds64 chunk.
type layout struct {
	r    io.ReaderAt
	size int64
	name string

	info      Info
	format    format
	hasFormat bool
	hasData   bool
	dataBytes int64 // bytes of sound, partial last frame included
	missing   int64 // bytes of sound that the header claims and the file lacks

	ds64    ds64
	hasDS64 bool

	cues      []cue
	labels    map[uint32]labels
	stampRate int // of the iXML time stamp; 0 if not given
	bextAt    int64
	more      int // notes beyond maxNotes
}

// ds64 carries the 64-bit sizes of RF64 and BW64.
type ds64 struct {
	data  uint64
	table map[string]uint64
}

// note keeps one line about what was wrong and was got over.
func (l *layout) note(offset int64, text string, args ...any) {
	if len(l.info.Notes) >= maxNotes {
		l.more++
		return
	}
	l.info.Notes = append(l.info.Notes, fmt.Sprintf("byte %d: ", offset)+fmt.Sprintf(text, args...))
}

func (l *layout) fail(kind error, offset int64, problem, hint string) error {
	return &FileError{Name: l.name, Offset: offset, Problem: problem, Hint: hint, Err: kind}
}

// bytesAt reads n bytes; the caller has made sure that they are there.
func (l *layout) bytesAt(off int64, n int) ([]byte, error) {
	b := make([]byte, n)
	if err := readFull(l.r, b, off); err != nil {
		return nil, readError(l.name, off, err)
	}
	return b, nil
}

// readFull is ReadAt for all of b: io.EOF with a full buffer is no error.
func readFull(r io.ReaderAt, b []byte, off int64) error {
	n, err := r.ReadAt(b, off)
	if n == len(b) {
		return nil
	}
	if err == nil {
		return io.ErrUnexpectedEOF
	}
	return err
}

func readError(name string, off int64, err error) error {
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		return &FileError{
			Name: name, Offset: off, Err: ErrTruncated,
			Problem: "the file ended while it was being read",
			Hint:    "copy it again once the copy or recording has finished",
		}
	}
	return &FileError{
		Name: name, Offset: off, Err: err,
		Problem: "reading failed",
		Hint:    "check the disk or card, or copy the file elsewhere first",
	}
}

// parse reads everything but the samples.
func (l *layout) parse() error {
	off, err := l.head()
	if err != nil {
		return err
	}
	if err := l.walk(off); err != nil {
		return err
	}
	if err := l.complete(); err != nil {
		return err
	}
	l.info.Markers = l.markers()
	if l.more > 0 {
		l.info.Notes = append(l.info.Notes, fmt.Sprintf("and %d more like these", l.more))
	}
	return nil
}

// head checks the first twelve bytes.
func (l *layout) head() (int64, error) {
	if l.size == 0 {
		return 0, l.fail(ErrEmpty, 0, "the file has no bytes", "copy it again from the card")
	}
	b, err := l.bytesAt(0, int(min(12, l.size)))
	if err != nil {
		return 0, err
	}
	id := string(b[:min(4, len(b))])
	switch {
	case id == "RIFX" || id == "FFIR":
		return 0, l.fail(ErrFormat, 0, "big-endian WAV ("+id+") is not supported", convertHint)
	case id == "RIFF" || id == "RF64" || id == "BW64":
	case len(b) < 4 && strings.HasPrefix("RIFF", id):
	default:
		return 0, l.fail(ErrNotWave, 0, fmt.Sprintf("it starts with %q, want RIFF, RF64 or BW64", printable(b)), kindHint(b))
	}
	if len(b) < 12 {
		return 0, l.fail(ErrTruncated, l.size, fmt.Sprintf("only %d bytes of header", len(b)), "copy it again from the card")
	}
	if form := string(b[8:12]); form != "WAVE" {
		return 0, l.fail(ErrNotWave, 8, fmt.Sprintf("RIFF file of type %q, want WAVE", printable(b[8:12])), kindHint(b))
	}
	l.info.Container = id
	return 12, nil
}

// walk visits every chunk once.
func (l *layout) walk(off int64) error {
	for range maxChunks {
		rest := l.size - off
		if rest < 8 {
			if rest > 0 && !allZero(l, off, rest) {
				l.note(off, "%d bytes after the last chunk left out", rest)
			}
			return nil
		}
		b, err := l.bytesAt(off, 8)
		if err != nil {
			return err
		}
		id, claimed := string(b[:4]), int64(binary.LittleEndian.Uint32(b[4:]))
		if !plausible(b[:4]) {
			if l.hasData {
				l.note(off, "%d bytes after the last chunk left out", rest)
				return nil
			}
			l.note(off, "%q is no chunk name", printable(b[:4]))
			next, err := l.search(off)
			if err != nil || next < 0 {
				return err
			}
			off = next
			continue
		}
		next, err := l.take(id, off+8, claimed)
		if err != nil || next < 0 {
			return err
		}
		off = next
	}
	l.note(off, "more than %d chunks: the rest left out", maxChunks)
	return nil
}

// take handles one chunk whose body begins at body and returns where the next
// one begins, -1 for none.
func (l *layout) take(id string, body, claimed int64) (int64, error) {
	if id == "data" {
		return l.takeData(body, claimed)
	}
	if big, ok := l.ds64.table[id]; ok && claimed == unknownSize {
		claimed = clampSize(big)
	}
	size := min(claimed, l.size-body)
	if size < claimed {
		l.note(body-8, "chunk %q claims %d bytes, the file has %d", id, claimed, size)
	}
	if err := l.metadata(id, body, size); err != nil {
		return -1, err
	}
	if size < claimed {
		if l.hasData {
			return -1, nil
		}
		return l.search(body)
	}
	return l.after(id, body, size)
}

// metadata reads the body of a chunk that we know; size bytes are there.
func (l *layout) metadata(id string, body, size int64) error {
	var parse func(int64, []byte) error
	switch id {
	case "ds64":
		parse = l.takeDS64
	case "fmt ":
		parse = l.takeFormat
	case "bext":
		parse = l.takeBroadcast
	case "iXML":
		parse = l.takeProduction
	case "cue ":
		parse = l.takeCues
	case "LIST":
		parse = l.takeList
	default:
		return nil
	}
	if size > maxMetadata {
		l.note(body-8, "chunk %q is %d bytes long: only the first %d read", id, size, maxMetadata)
		size = maxMetadata
	}
	b, err := l.bytesAt(body, int(size))
	if err != nil {
		return err
	}
	return parse(body, b)
}

// takeDS64 reads the 64-bit sizes (EBU Tech 3306: riffSize, dataSize,
// sampleCount, then a table of other long chunks).
func (l *layout) takeDS64(body int64, b []byte) error {
	if len(b) < 16 {
		l.note(body-8, "ds64 of %d bytes, want 28: not used", len(b))
		return nil
	}
	l.hasDS64 = true
	l.ds64.data = binary.LittleEndian.Uint64(b[8:])
	if len(b) < 28 {
		return nil
	}
	n := int(min(binary.LittleEndian.Uint32(b[24:]), uint32(len(b)-28)/12, 1024))
	l.ds64.table = make(map[string]uint64, n)
	for i := range n {
		e := b[28+12*i:]
		l.ds64.table[string(e[:4])] = binary.LittleEndian.Uint64(e[4:])
	}
	return nil
}

// after is where the chunk behind one of odd size begins. The standard asks
// for a pad byte; some programs leave it out.
func (l *layout) after(id string, body, size int64) (int64, error) {
	end := body + size
	if size%2 == 0 || l.size-end < 9 {
		return end + size%2, nil
	}
	b, err := l.bytesAt(end, 5)
	if err != nil {
		return -1, err
	}
	if b[0] != 0 && (knownChunk(b[:4]) || plausible(b[:4]) && !plausible(b[1:])) {
		l.note(end, "chunk %q has an odd size and no pad byte", id)
		return end, nil
	}
	return end + 1, nil
}

// search looks for a lost data chunk from off on: some writers claim more for
// a chunk before it than there is.
func (l *layout) search(off int64) (int64, error) {
	b, err := l.bytesAt(off, int(min(searchBytes, l.size-off)))
	if err != nil {
		return -1, err
	}
	text := string(b)
	for at := 0; ; at++ {
		i := strings.Index(text[at:], "data")
		if i < 0 {
			return -1, nil
		}
		at += i
		if at+8 > len(b) {
			return -1, nil
		}
		claimed := int64(binary.LittleEndian.Uint32(b[at+4:]))
		rest := l.size - off - int64(at) - 8
		if claimed <= rest || claimed == unknownSize {
			l.note(off+int64(at), "sound data found by searching")
			return off + int64(at), nil
		}
	}
}

func allZero(l *layout, off, n int64) bool {
	b, err := l.bytesAt(off, int(n))
	if err != nil {
		return false
	}
	return strings.Trim(string(b), "\x00") == ""
}

// plausible tells whether four bytes can be a chunk's name: printable ASCII.
func plausible(b []byte) bool {
	for _, c := range b[:4] {
		if c < 0x20 || c > 0x7e {
			return false
		}
	}
	return b[0] != ' '
}

func clampSize(v uint64) int64 {
	if v > math.MaxInt64 {
		return math.MaxInt64
	}
	return int64(v)
}

// printable shows foreign bytes in a message.
func printable(b []byte) string {
	if len(b) > 8 {
		b = b[:8]
	}
	return strings.Map(func(r rune) rune {
		if r < 0x20 || r > 0x7e {
			return '.'
		}
		return r
	}, string(b))
}

// kindHint names what the file is instead, where its first bytes tell.
func kindHint(b []byte) string {
	s := string(b)
	convert := "convert it to WAV: ffmpeg -i IN -c:a pcm_s24le OUT.wav"
	switch {
	case strings.HasPrefix(s, "fLaC"):
		return "this is FLAC; " + convert
	case strings.HasPrefix(s, "FORM"):
		return "this is AIFF; " + convert
	case strings.HasPrefix(s, "ID3"), len(b) > 1 && b[0] == 0xFF && b[1]&0xE0 == 0xE0:
		return "this is MPEG audio; " + convert
	case strings.HasPrefix(s, "OggS"):
		return "this is Ogg; " + convert
	case len(s) >= 8 && s[4:8] == "ftyp":
		return "this is MP4 or QuickTime; " + convert
	case strings.HasPrefix(s, "RIFF"), strings.HasPrefix(s, "riff"):
		return convert
	}
	return "is it sound at all? If so, " + convert
}
