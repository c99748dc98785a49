package timedtext

import (
	"bytes"
	"errors"
	"testing"

	"rushlight/pkg/timecode"
)

// Reading ends with the caller's error, whenever it comes, in every format.
func TestReadStops(t *testing.T) {
	doc := &Document{Base: at25}
	for i := range 50 {
		in := timecode.Ticks(i) * 2 * timecode.Second
		doc.Cues = append(doc.Cues, Cue{Span: timecode.Span{In: in, Out: in + timecode.Second}, Lines: []Line{{{Text: "The bell rang.", Speaker: "Ines"}}}})
	}
	over := errors.New("over")
	for _, f := range Formats() {
		if !f.Written() {
			continue
		}
		var file bytes.Buffer
		if _, err := Write(&file, doc, f, WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		for after := 0; ; after++ {
			left := after
			d, err := Read(bytes.NewReader(file.Bytes()), ReadOptions{As: f, Stop: func() error {
				if left--; left < 0 {
					return over
				}
				return nil
			}})
			if err == nil && len(d.Cues) == len(doc.Cues) && after > 0 {
				break // asked no more often than this
			}
			if !errors.Is(err, over) || d != nil {
				t.Fatalf("%s, stopped after %d: got %v, %v", f, after, d, err)
			}
		}
	}
}
