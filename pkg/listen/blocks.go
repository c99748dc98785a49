package listen

import (
	"context"
	"errors"
	"fmt"
	"io"

	"rushlight/pkg/timecode"
)

// checkSource is ErrSource for a source that can't be heard.
func checkSource(src Source) error {
	if info := src.Info(); info.Channels < 1 || info.SampleRate < 1 {
		return fmt.Errorf("listen: %w: got %d channels at %d Hz", ErrSource, info.Channels, info.SampleRate)
	}
	return nil
}

// eachBlock hands hear the blocks of a source to its end, or until hear gives
// false; progress, if set, is called about once for each second of sound.
// Errors: of src and ctx with the place, ErrSource for a source that can't be
// heard and a block with other channels than it said.
func eachBlock(ctx context.Context, src Source, progress func(done timecode.Ticks), hear func(samples [][]float64) bool) error {
	if err := checkSource(src); err != nil {
		return err
	}
	info := src.Info()
	frames, told := int64(0), int64(0)
	for {
		at := timecode.FromSamples(frames, info.SampleRate)
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("listen: stopped at %s: %w", at, err)
		}
		b, err := src.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("listen: at %s: %w", at, err)
		}
		if len(b.Samples) != info.Channels {
			return fmt.Errorf("listen: at %s: %w: block with %d channels, want %d", at, ErrSource, len(b.Samples), info.Channels)
		}
		frames += int64(len(b.Samples[0]))
		if !hear(b.Samples) {
			return nil
		}
		if progress != nil && frames-told >= int64(info.SampleRate) {
			told = frames
			progress(timecode.FromSamples(frames, info.SampleRate))
		}
	}
}
