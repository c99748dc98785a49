package sound

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
)

// media is a Stream that ffmpeg decodes.
type media struct {
	*mediaInfo
	ctx    context.Context
	name   string
	ffmpeg string
	format format

	d     *decoder // nil if none runs
	at    int64    // frame that it gives next
	began int64    // frame that it gave first
	pos   int64    // frame that Next gives
	whole bool     // the true length is known
	lost  bool     // jumps go wrong in this file
	bad   int64    // float samples that were no numbers
	last  []string // notes of the last end
	short bool

	raw  []byte
	buf  [][]float64
	view [][]float64

	hash   *fileHash
	noHash bool
	closed bool
}

// runUp is how many seconds before a wanted frame decoding begins: lossy
// codecs need what came before. Frames no further ahead than that many are
// reached by reading on.
const runUp, readOn = 1, 10

func openMedia(ctx context.Context, path string) (Stream, error) {
	exe, err := findDecoder("ffmpeg", path)
	if err != nil {
		return nil, err
	}
	p, err := probe(ctx, path)
	if err != nil {
		return nil, err
	}
	info, err := p.describe(path)
	if err != nil {
		return nil, err
	}
	m := &media{
		mediaInfo: info, ctx: ctx, name: path, ffmpeg: exe,
		format: format{float: true, channels: info.info.Channels, rate: info.info.SampleRate, container: 32, valid: 32},
	}
	frames := max(1, blockBytes/m.format.frameBytes())
	m.raw = make([]byte, frames*m.format.frameBytes())
	m.buf, m.view = planes(info.info.Channels, frames), make([][]float64, info.info.Channels)
	if info.info.Frames <= 0 {
		m.note("the file doesn't say how long it is: counted")
		if err := m.count(); err != nil {
			return nil, errors.Join(err, m.Close())
		}
		m.short = true
	}
	return m, nil
}

// Info is what the file says; Frames are those really there once the end was
// reached.
func (m *media) Info() Info {
	info := m.info
	info.Notes = append(slices.Clip(info.Notes), m.last...)
	info.Unfinished = info.Unfinished || m.short
	if m.bad > 0 {
		info.Notes = append(info.Notes, fmt.Sprintf("%d float samples were no numbers: read as 0", m.bad))
	}
	return info
}

// SeekFrame moves to a frame; the decoder follows at the next Next.
func (m *media) SeekFrame(frame int64) error {
	if frame < 0 || frame > m.info.Frames {
		return fmt.Errorf("%s: seek to frame %d: want 0 to %d", m.name, frame, m.info.Frames)
	}
	m.pos = frame
	return nil
}

// Next gives the next block.
func (m *media) Next() (Block, error) {
	switch {
	case m.closed:
		return Block{}, fmt.Errorf("%s: %w", m.name, os.ErrClosed)
	case m.ctx.Err() != nil:
		return Block{}, m.ctx.Err()
	case m.whole && m.pos >= m.info.Frames:
		return Block{}, io.EOF
	}
	if err := m.reach(); err != nil {
		return Block{}, err
	}
	n, err := m.fill(len(m.buf[0]))
	if err != nil {
		return Block{}, err
	}
	if n == 0 {
		if err := m.end(); err != nil {
			return Block{}, err
		}
		return m.Next()
	}
	b := Block{Start: m.pos, Samples: m.view}
	m.pos = m.at
	return b, nil
}

// reach makes the decoder stand at pos, as far as the file goes.
func (m *media) reach() error {
	rate := int64(m.info.SampleRate)
	if m.d == nil || m.at > m.pos || m.pos-m.at > readOn*rate && m.seekable() {
		if err := m.restart(); err != nil {
			return err
		}
	}
	for m.at < m.pos {
		n, err := m.fill(int(min(m.pos-m.at, int64(len(m.buf[0])))))
		if err != nil || n == 0 {
			return err
		}
	}
	return nil
}

func (m *media) restart() error {
	m.stop()
	from := max(0, m.pos-runUp*int64(m.info.SampleRate))
	if !m.seekable() {
		from = 0
	}
	if from == 0 {
		m.bad = 0
		if m.pos == 0 {
			m.startHash()
		}
	}
	d, err := startDecoder(m.ctx, m.ffmpeg, m.decodeArgs(m.name, from))
	if err != nil {
		return fmt.Errorf("%s: %w", m.name, err)
	}
	m.d, m.at, m.began = d, from, from
	return nil
}

// seekable tells whether ffmpeg finds a frame exactly. MP4, MXF, AIFF and CAF
// count their sound in samples and say where it lies. In the others the way to
// a frame is from the start: Matroska rounds time to milliseconds, and into
// FLAC ffmpeg 5.1 was seen to jump to the end.
func (m *media) seekable() bool {
	switch m.container {
	case "mov,mp4,m4a,3gp,3g2,mj2", "mxf", "aiff", "caf":
		return !m.lost
	}
	return false
}

// fill decodes up to n frames into view.
func (m *media) fill(n int) (int, error) {
	frame := m.format.frameBytes()
	got, err := m.d.read(m.raw[:n*frame], frame)
	if m.ctx.Err() != nil {
		return 0, m.ctx.Err()
	}
	if err != nil {
		return 0, readError(m.name, -1, err)
	}
	n = got / frame
	for c := range m.buf {
		m.view[c] = m.buf[c][:n]
	}
	if n > 0 {
		m.bad += m.format.decode(m.view, m.raw[:got])
	}
	m.at += int64(n)
	return n, nil
}

// end is called when the decoder gives no more. io.EOF, unless it was killed
// or never gave anything.
func (m *media) end() error {
	<-m.d.done
	d := m.d
	m.stop()
	if m.ctx.Err() != nil {
		return m.ctx.Err()
	}
	said := d.said.text(m.name)
	switch {
	case d.killed():
		m.short = true
		return &FileError{
			Name: m.name, Offset: -1, Err: ErrTruncated, Hint: "try again",
			Problem: fmt.Sprintf("ffmpeg was stopped from outside after %s: %v", m.seconds(m.at), d.err),
		}
	case m.at == 0 && said == "" && d.err == nil:
		return &FileError{Name: m.name, Offset: -1, Err: ErrEmpty, Problem: "a header, but no samples", Hint: "the recording may have failed: look at the card again"}
	case m.at == 0:
		return notMedia(m.name, said)
	case m.at == m.began:
		// It jumped behind the end. Either the sound ends before that, or the
		// jump went wrong: only reading from the start tells.
		m.lost = true
		return nil
	}
	m.settle(said, d.err != nil)
	return io.EOF
}

func (m *media) seconds(frames int64) string {
	return Info{Frames: frames, SampleRate: m.info.SampleRate}.Duration().String()
}

// settle holds the length found against the one claimed.
func (m *media) settle(said string, failed bool) {
	claimed := m.info.Frames
	if m.whole {
		return
	}
	m.whole, m.info.Frames = true, m.at
	rate := int64(m.info.SampleRate)
	if said != "" {
		m.last = append(m.last, "ffmpeg says: "+said)
	}
	// Less than 50 ms is how containers round and codecs fill their last packet.
	if off := m.at - claimed; claimed > 0 && max(off, -off) > rate/20 {
		m.last = append(m.last, fmt.Sprintf("the file claims %s of sound, %s could be decoded", m.seconds(claimed), m.seconds(m.at)))
		m.short = off < 0 && (!m.guessed || said != "")
	}
	m.short = m.short || failed
}

// count decodes everything to know how long it is, and goes back to the start.
func (m *media) count() error {
	m.whole = false
	hash := m.noHash
	m.noHash = true
	defer func() { m.noHash = hash }()
	m.pos = 0
	for {
		_, err := m.Next()
		if errors.Is(err, io.EOF) {
			m.pos = 0
			return nil
		}
		if err != nil {
			return err
		}
	}
}

func (m *media) stop() {
	if m.d != nil {
		m.d.stop()
		m.d = nil
	}
}

// SkipEssence saves the pass over the file's bytes.
func (m *media) SkipEssence() { m.noHash = true }

// Essence is the SHA-256 of the whole file; it waits until that is known.
func (m *media) Essence() (string, error) {
	if m.noHash || m.closed {
		return "", &FileError{Name: m.name, Offset: -1, Err: ErrNotSequential, Problem: "nobody asked for it in time", Hint: "use EssenceMedia(path)"}
	}
	m.startHash()
	return m.hash.wait()
}

func (m *media) startHash() {
	if m.hash == nil && !m.noHash {
		m.hash = newFileHash(m.ctx, m.name)
	}
}

// Close ends the decoder.
func (m *media) Close() error {
	m.closed = true
	m.stop()
	if m.hash != nil {
		m.hash.stop()
	}
	return nil
}
