package desk

import (
	"testing"

	"rushlight/pkg/timecode"
)

// A file's start is counted in samples; the frame it was set to comes back at
// every rate, whichever way the count was rounded.
func TestStartOnFrame(t *testing.T) {
	for _, rate := range []timecode.Rate{timecode.Rate23976, timecode.Rate25, timecode.Rate2997, timecode.Rate5994} {
		for _, samples := range []int{44100, 48000} {
			for n := int64(107_892); n < 108_100; n++ {
				for _, round := range []timecode.Rounding{timecode.Nearest, timecode.Floor} {
					start := timecode.FromSamples(rate.Ticks(n).Samples(samples, round), samples)
					c := timecode.Clock{Base: timecode.Base{Rate: rate}, Start: start}
					c.Start = onFrame(c, samples)
					if got, want := c.In(0).Timecode, c.Base.Label(n); got != want {
						t.Fatalf("%s frames/s, %d Hz: got %s, want %s", rate, samples, got, want)
					}
				}
			}
		}
	}
	c := timecode.Clock{Base: timecode.Base{Rate: timecode.Rate25}, Start: timecode.FromSamples(1000, 48000)}
	if got := onFrame(c, 48000); got != c.Start {
		t.Errorf("a start between two frames: moved from %d to %d", c.Start, got)
	}
}
