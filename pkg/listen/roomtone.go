package listen

import (
	"context"
	"errors"

	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// RoomTone finds the stretches of at least min without speech or events, best
// first.
func RoomTone(h story.Heard, min timecode.Ticks) []timecode.Span { return nil }

// ToneSource is a recording that can be read from any frame; *sound.Reader is
// one.
type ToneSource interface {
	Source
	SeekFrame(frame int64) error
	Close() error
}

// Tone is a stream of room tone.
type Tone struct{ info sound.Info }

// MakeTone makes room tone.
func MakeTone(ctx context.Context, open func() (ToneSource, error), spans []timecode.Span, length timecode.Ticks) (*Tone, error) {
	return nil, errors.New("listen: room tone: not built yet")
}

// Info is that of the source with the tone's length.
func (t *Tone) Info() sound.Info { return t.info }

// Next is the next block.
func (t *Tone) Next() (sound.Block, error) { return sound.Block{}, errors.New("not built yet") }

// Close closes the source.
func (t *Tone) Close() error { return nil }
