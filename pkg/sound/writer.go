package sound

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"

	"github.com/go-audio/audio"
	"github.com/go-audio/wav"
)

// WriterOptions says what to write: integer PCM of 8, 16, 24 or 32 bits, 1 to
// 64 channels. A Broadcast becomes a bext chunk before the sound.
type WriterOptions struct {
	SampleRate, Bits, Channels int
	Broadcast                  *Broadcast
}

const (
	ds64Bytes = 28
	maxRIFF   = 0xFFFFFFFF
	// writeFrames is how many frames go to the encoder at once.
	writeFrames = 4096
)

// Writer writes a WAV file. Beyond 4 GiB it becomes RF64 (EBU Tech 3306): a
// JUNK chunk at the front keeps the room. Nothing is valid before Close.
type Writer struct {
	s       *splice
	enc     *wav.Encoder
	opt     WriterOptions
	buf     *audio.IntBuffer
	frames  int64
	clipped int64
	limit   int64 // largest RIFF size; smaller in tests
	err     error
	closed  bool
}

// NewWriter begins a file at the place where w stands. The caller closes w
// after the Writer.
func NewWriter(w io.WriteSeeker, opt WriterOptions) (*Writer, error) {
	switch opt.Bits {
	case 8, 16, 24, 32:
	default:
		return nil, fmt.Errorf("%w: writing %d bits, want 8, 16, 24 or 32", ErrFormat, opt.Bits)
	}
	if opt.Channels < 1 || opt.Channels > maxChannels {
		return nil, fmt.Errorf("%w: writing %d channels, want 1 to %d", ErrFormat, opt.Channels, maxChannels)
	}
	if opt.SampleRate < 1 || opt.SampleRate > maxSampleRate {
		return nil, fmt.Errorf("%w: writing at %d Hz, want 1 to %d", ErrFormat, opt.SampleRate, maxSampleRate)
	}
	chunks := appendChunk(nil, "JUNK", make([]byte, ds64Bytes))
	if opt.Broadcast != nil {
		chunks = appendChunk(chunks, "bext", encodeBroadcast(*opt.Broadcast))
	}
	s, err := newSplice(w, chunks)
	if err != nil {
		return nil, err
	}
	out := &Writer{s: s, opt: opt, limit: maxRIFF}
	// The encoder sets aside memory for a minute at the rate it is made with.
	out.enc = wav.NewEncoder(s, 1, opt.Bits, opt.Channels, tagPCM)
	out.enc.SampleRate = opt.SampleRate
	out.buf = &audio.IntBuffer{
		Format: &audio.Format{NumChannels: opt.Channels, SampleRate: opt.SampleRate}, SourceBitDepth: opt.Bits,
		Data: make([]int, 0, writeFrames*opt.Channels),
	}
	if err := out.enc.Write(out.buf); err != nil {
		return nil, fmt.Errorf("writing WAV header: %w", s.cause(err))
	}
	return out, nil
}

func appendChunk(b []byte, id string, body []byte) []byte {
	b = append(b, id...)
	b = binary.LittleEndian.AppendUint32(b, uint32(len(body)))
	b = append(b, body...)
	if len(body)%2 == 1 {
		b = append(b, 0)
	}
	return b
}

// Write adds samples[channel][i], full scale ±1.0, each rounded to the
// nearest step. What lies beyond full scale is clamped and counted (Clipped);
// what is no number becomes 0. After an error every further call gives it.
func (w *Writer) Write(samples [][]float64) error {
	switch {
	case w.err != nil:
		return w.err
	case w.closed:
		return errors.New("writing WAV: the writer is closed")
	case len(samples) != w.opt.Channels:
		return fmt.Errorf("writing WAV: got %d channels, want %d", len(samples), w.opt.Channels)
	}
	for c := range samples {
		if len(samples[c]) != len(samples[0]) {
			return fmt.Errorf("writing WAV: channel %d has %d samples, channel 0 %d", c, len(samples[c]), len(samples[0]))
		}
	}
	for from := 0; from < len(samples[0]); from += writeFrames {
		n := min(writeFrames, len(samples[0])-from)
		w.quantise(samples, from, n)
		if err := w.enc.Write(w.buf); err != nil {
			w.err = fmt.Errorf("writing WAV: %w", w.s.cause(err))
			return w.err
		}
		w.frames += int64(n)
	}
	return nil
}

// quantise fills the encoder's buffer.
func (w *Writer) quantise(samples [][]float64, from, n int) {
	full := math.Ldexp(1, w.opt.Bits-1)
	offset := 0
	if w.opt.Bits == 8 {
		offset = 128 // 8-bit WAV is unsigned
	}
	data := w.buf.Data[:n*w.opt.Channels]
	for c, s := range samples {
		for i, v := range s[from : from+n] {
			v = math.RoundToEven(v * full)
			switch {
			case v > full-1:
				// +1.0 itself has no step of its own: one step less is no clipping.
				if v > full {
					w.clipped++
				}
				v = full - 1
			case v < -full:
				v = -full
				w.clipped++
			case v != v:
				v = 0
			}
			data[i*w.opt.Channels+c] = int(v) + offset
		}
	}
	w.buf.Data = data
}

// Clipped is how many samples lay beyond full scale so far.
func (w *Writer) Clipped() int64 { return w.clipped }

// Frames is how many frames were written so far.
func (w *Writer) Frames() int64 { return w.frames }

// Close writes the sizes into the header.
func (w *Writer) Close() error {
	if w.closed || w.err != nil {
		return w.err
	}
	w.closed = true
	if w.err = w.finish(); w.err != nil {
		w.err = fmt.Errorf("closing WAV: %w", w.err)
	}
	return w.err
}

// finish replaces the encoder's sizes: it knows neither the chunks before it
// nor sizes above 32 bits, and leaves out the pad byte.
func (w *Writer) finish() error {
	data := w.frames * int64(w.opt.Channels*w.opt.Bits/8)
	if err := w.enc.Close(); err != nil {
		return w.s.cause(err)
	}
	start := riffHead + w.s.gap + 24 + 8
	if data%2 == 1 {
		if err := w.s.patch(start+data, []byte{0}); err != nil {
			return err
		}
	}
	riff := start + data + data%2 - 8
	le := binary.LittleEndian
	if riff <= w.limit {
		if err := w.s.patch(4, le.AppendUint32(nil, uint32(riff))); err != nil {
			return err
		}
		return w.s.patch(start-4, le.AppendUint32(nil, uint32(data)))
	}
	head := le.AppendUint32([]byte("RF64"), unknownSize)
	if err := w.s.patch(0, head); err != nil {
		return err
	}
	ds := le.AppendUint64(nil, uint64(riff))
	ds = le.AppendUint64(ds, uint64(data))
	ds = le.AppendUint64(ds, uint64(w.frames))
	ds = le.AppendUint32(ds, 0)
	if err := w.s.patch(riffHead, appendChunk(nil, "ds64", ds)); err != nil {
		return err
	}
	return w.s.patch(start-4, le.AppendUint32(nil, unknownSize))
}
