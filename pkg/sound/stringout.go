package sound

import (
	"context"

	"rushlight/pkg/timecode"
)

// Piece is one span of a source file to be laid into a stringout.
type Piece struct {
	Path string
	// In and Out are the span in the source, from its start.
	In, Out timecode.Ticks
	// Lead and Tail are the handles asked before In and after Out; what the
	// file doesn't have is left out.
	Lead, Tail timecode.Ticks
	GainDB     float64
	// Channels are those to use, from 0; nil means all.
	Channels []int
}

// StringoutOptions says how to write; the zero value is the highest sample
// rate of the sources, 24 bit, 1 channel, 10 ms crossfade, no gap.
type StringoutOptions struct {
	SampleRate, Bits, Channels int
	Crossfade, Gap             timecode.Ticks
	Progress                   func(done, total timecode.Ticks)
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

// WriteStringout lays the pieces end to end into a new WAV file at path.
func WriteStringout(ctx context.Context, path string, pieces []Piece, opt StringoutOptions) (StringoutReport, error) {
	return StringoutReport{}, errNotBuilt
}
