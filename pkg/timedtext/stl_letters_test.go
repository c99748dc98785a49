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

// A slip in one time code costs no words; a frame that only another rate has
// means that all times are wrong, and refuses the file (Tech 3264: TCI and TCO
// are bytes 5 to 12 of a TTI block of 128, behind a GSI block of 1024).
func TestSTLImpossibleTimeCode(t *testing.T) {
	doc := &Document{Base: timecode.Base{Rate: timecode.Rate25}}
	for i, text := range []string{"The bell rang.", "Nobody crossed.", "The rope held."} {
		in := timecode.Ticks(1+3*i) * timecode.Second
		doc.Cues = append(doc.Cues, Cue{Span: timecode.Span{In: in, Out: in + 2*timecode.Second}, Lines: Text(text)})
	}
	var file bytes.Buffer
	if _, err := Write(&file, doc, STL, WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	const second = 1024 + 128
	with := func(at int, value byte) (*Document, error) {
		b := bytes.Clone(file.Bytes())
		b[second+at] = value
		return Read(bytes.NewReader(b), ReadOptions{Name: "ferry.stl"})
	}
	whole, err := with(0, file.Bytes()[second])
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name  string
		at    int
		value byte
	}{{"frame of in", 8, 30}, {"minute of in", 6, 60}, {"hour of out", 9, 24}, {"frame of out", 12, 99}} {
		d, err := with(c.at, c.value)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if len(d.Cues) != 3 || d.Cues[1].Plain() != "Nobody crossed." || d.Cues[2].Span != whole.Cues[2].Span {
			t.Errorf("%s: %+v, want three subtitles, the third untouched", c.name, d.Cues)
			continue
		}
		if len(d.Repairs) != len(whole.Repairs)+1 || d.Repairs[len(d.Repairs)-1].Byte != second {
			t.Errorf("%s: repairs %v, want one more, at byte %d", c.name, d.Repairs, second)
		}
		got, was := d.Cues[1], whole.Cues[1]
		if c.at < 9 && (got.In != whole.Cues[0].Out || got.Out != was.Out) {
			t.Errorf("%s: %v, want in at the out before", c.name, got.Span)
		}
		if c.at >= 9 && (!got.OpenEnd || got.In != was.In) {
			t.Errorf("%s: %v open %v, want an open end", c.name, got.Span, got.OpenEnd)
		}
	}
	var parse *ParseError
	if _, err := with(8, 26); !errors.As(err, &parse) || parse.Hint == "" {
		t.Errorf("frame 26 at 25 fps: got %v, want an error with a way out", err)
	}
}
