package sound

import (
	"errors"
	"io"
	"testing"
)

// drain reads a Reader to its end and holds it to the contract of Next:
// blocks follow each other without a gap, channels are equally long and not
// empty, io.EOF stays io.EOF, and Info's frame count is kept.
func drain(t testing.TB, r *Reader) [][]float64 {
	t.Helper()
	info := r.Info()
	out := make([][]float64, info.Channels)
	for next := int64(0); ; {
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			if next != info.Frames {
				t.Fatalf("read %d frames, Info says %d", next, info.Frames)
			}
			if _, err := r.Next(); !errors.Is(err, io.EOF) {
				t.Fatalf("after the end: got %v, want io.EOF", err)
			}
			return out
		}
		if err != nil {
			t.Fatal(err)
		}
		if b.Start != next || len(b.Samples) != info.Channels || len(b.Samples[0]) == 0 {
			t.Fatalf("got block at %d with %d channels, want %d with %d", b.Start, len(b.Samples), next, info.Channels)
		}
		for c, s := range b.Samples {
			if len(s) != len(b.Samples[0]) {
				t.Fatalf("channel %d has %d samples, channel 0 %d", c, len(s), len(b.Samples[0]))
			}
			out[c] = append(out[c], s...)
		}
		next += int64(len(b.Samples[0]))
	}
}
