package listen

import (
	"context"
	"path/filepath"
	"testing"

	"rushlight/pkg/sound"
	"rushlight/pkg/timecode"
)

// The demo's camera track: starts 7.4 s before the recorder, its clock 40 ppm
// fast, 8 bit (samples/README.md).
func TestSynchroniseSamples(t *testing.T) {
	open := func(name string) SyncSource {
		return func() (SyncReader, error) { return sound.Open(filepath.Join("..", "..", "samples", "day2", name)) }
	}
	s, err := Synchronise(context.Background(), open("D2-INT2.wav"), open("D2-CAM.wav"), SyncOptions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, w := range s.Windows {
		t.Logf("%s %.6f peak %.1f used %v", w.At, w.Offset.Seconds(), w.Peak, w.Used)
	}
	t.Logf("found %v, offset %.6f s, %.3f ppm, confidence %.2f, overlap %s", s.Found, s.Offset.Seconds(), s.DriftPPM, s.Confidence, s.Overlap)
	_ = timecode.Second
}
