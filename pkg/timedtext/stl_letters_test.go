package timedtext

import (
	"bytes"
	"errors"
	"testing"

	"rushlight/pkg/timecode"
)

// A text in a script that Tech 3264 has no table for is refused instead of
// being written as question marks.
func TestSTLRefusesOtherScripts(t *testing.T) {
	doc := &Document{Base: timecode.Base{Rate: timecode.Rate25}, Cues: []Cue{{
		Span: timecode.Span{In: timecode.Second, Out: 3 * timecode.Second}, Lines: Text("渡し船の鐘が鳴る。"),
	}}}
	var out bytes.Buffer
	var parse *ParseError
	if _, err := Write(&out, doc, STL, WriteOptions{}); !errors.As(err, &parse) || parse.Hint == "" {
		t.Errorf("got %v, want an error with a way out", err)
	}
	for _, text := range []string{"Die Fähre läutet – „niemand“.", "Паром звонит.", "Η καμπάνα χτυπά."} {
		doc.Cues[0].Lines = Text(text)
		if _, err := Write(&out, doc, STL, WriteOptions{}); err != nil {
			t.Errorf("%s: %v", text, err)
		}
	}
}
