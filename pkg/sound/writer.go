package sound

import (
	"errors"
	"io"
)

var errNotBuilt = errors.New("not built yet")

// WriterOptions says what to write.
type WriterOptions struct {
	SampleRate, Bits, Channels int
	Broadcast                  *Broadcast
}

// Writer writes a WAV file.
type Writer struct{}

func NewWriter(w io.WriteSeeker, opt WriterOptions) (*Writer, error) { return nil, errNotBuilt }

func (w *Writer) Write(samples [][]float64) error { return errNotBuilt }

func (w *Writer) Close() error { return errNotBuilt }
