package sound

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"rushlight/pkg/timecode"
)

// Defaults of a stringout (common practice, no source).
const (
	defaultBits      = 24
	defaultCrossfade = 10 * timecode.Millisecond
	// edgeFade is how far a fade may reach into the words themselves where
	// there is no handle: enough against a click, too short to hear.
	edgeFade = timecode.Millisecond
)

// ErrPiece is wrapped by every error about a piece that can't be laid.
var ErrPiece = errors.New("piece can't be used")

// Piece is one span of a source file to be laid into a stringout.
type Piece struct {
	Path string
	// In and Out are the span in the source, from its start.
	In, Out timecode.Ticks
	// Lead and Tail are the handles asked before In and after Out; what the
	// file doesn't have is left out.
	Lead, Tail timecode.Ticks
	GainDB     float64
	// Channels are those to use, from 0; nil means all. As many as the output
	// has are kept one for one; one goes to every output channel; else their
	// plain average does.
	Channels []int
	// Turned are those of them that are mixed with opposite polarity.
	Turned []int
}

// StringoutOptions says how to write; the zero value is the highest sample
// rate of the sources, 24 bit, 1 channel, 10 ms crossfade, no gap. A negative Crossfade
// cuts hard.
type StringoutOptions struct {
	SampleRate, Bits, Channels int
	Crossfade, Gap             timecode.Ticks
	Progress                   func(done, total timecode.Ticks)
	// Fill gives what the gap after a piece (counted from 0) is filled with
	// instead of digital silence: room tone, crossfaded with the pieces on
	// both sides. Nil, as function or as source, is silence. A source that is
	// an io.Closer is closed.
	Fill func(piece int) (FillSource, error)
}

// FillSource is a stream of blocks to fill a gap, mixed and resampled like a
// piece. What it lacks in length is silence.
type FillSource interface {
	Info() Info
	Next() (Block, error)
}

// Placed tells where a piece came to lie.
type Placed struct {
	// Start and End are the output frames of the piece's own in and out,
	// without handles.
	Start, End int64
	// In and Out are the span in the source, Lead and Tail the handles
	// really given.
	In, Out    timecode.Ticks
	Lead, Tail timecode.Ticks
}

// StringoutReport tells what was written.
type StringoutReport struct {
	SampleRate, Channels, Bits int
	Frames                     int64
	Placed                     []Placed
	Notes                      []string
}

// WriteStringout lays the pieces end to end into a new WAV file at path: each
// with its handles, joined by equal-power crossfades that lie wholly within
// the handles, so that no word is lost. Where a handle is shorter than the
// crossfade, or a gap is asked for, both sides fade instead. Samples that are
// not mixed, resampled or faded come through bit for bit.
//
// The file is written beside its place and renamed when it is complete; after
// an error or when ctx ends nothing is left. A file already at path is
// replaced, unless it is one of the sources. Errors: ErrPiece with the number
// of the piece, those of Open, and the system's own.
func WriteStringout(ctx context.Context, path string, pieces []Piece, opt StringoutOptions) (StringoutReport, error) {
	p, err := newPlan(ctx, pieces, opt)
	if err != nil {
		return StringoutReport{}, err
	}
	if err := p.spares(path); err != nil {
		return StringoutReport{}, err
	}
	err = replaceFile(path, func(w io.WriteSeeker) error { return p.lay(ctx, w) })
	if err != nil {
		return StringoutReport{}, err
	}
	return p.report, nil
}

// spares makes sure that path is none of the sources.
func (p *plan) spares(path string) error {
	there, err := os.Stat(path)
	if err != nil {
		return nil
	}
	for _, c := range p.cuts {
		if st, err := os.Stat(c.piece.Path); err == nil && os.SameFile(st, there) {
			return fmt.Errorf("%s is one of the recordings: a stringout is never written over a source; give another name", path)
		}
	}
	return nil
}

// replaceFile writes a file beside path and renames it when write succeeded. A
// link stays: what it points to is written.
func replaceFile(path string, write func(io.WriteSeeker) error) (err error) {
	if real, err := filepath.EvalSymlinks(path); err == nil {
		path = real
	}
	f, err := os.CreateTemp(filepath.Dir(path), "."+filepath.Base(path)+".*.part")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, os.Remove(f.Name()))
		}
	}()
	err = write(f)
	if err == nil {
		err = f.Chmod(0o644)
	}
	if err == nil {
		err = f.Sync()
	}
	if cerr := f.Close(); err == nil {
		err = cerr
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), path)
}
