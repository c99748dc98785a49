package timedtext

import (
	"bytes"
	"errors"
	"testing"
	"time"

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

// A slip in one time code costs no words, nor does one frame too many (Tech
// 3264: TCI and TCO are bytes 5 to 12 of a TTI block of 128, behind a GSI block
// of 1024).
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
	d, err := with(8, 26)
	if want := whole.Cues[1].In + 24*timecode.Second/25; err != nil || len(d.Cues) != 3 || d.Cues[1].In != want || len(d.Repairs) != len(whole.Repairs)+1 {
		t.Errorf("frame 26 at 25: got %v, %v, want an in of %s, reported", d, err, want)
	}
	// No time code at all: nothing says when anything was said.
	b := bytes.Clone(file.Bytes())
	for at := 1024; at < len(b); at += 128 {
		b[at+5], b[at+9] = 99, 99
	}
	var parse *ParseError
	if _, err := Read(bytes.NewReader(b), ReadOptions{Name: "ferry.stl"}); !errors.As(err, &parse) || parse.Hint == "" || parse.Byte == 0 {
		t.Errorf("no time code at all: got %v, want an error with a way out", err)
	}
}

// A header that says 25 over time codes that count 30 (each sixth has a frame
// beyond 24), and drop-frame asked for where the codes have labels that it
// skips (00:01:00:00, SMPTE ST 12-1), are seen by the codes.
func TestSTLOtherRate(t *testing.T) {
	doc := &Document{Base: timecode.Base{Rate: timecode.Rate30}}
	for i := range 30 {
		in := timecode.Ticks(i)*4*timecode.Second + timecode.Rate30.Ticks(int64(i))
		doc.Cues = append(doc.Cues, Cue{Span: timecode.Span{In: in, Out: in + 2*timecode.Second}, Lines: Text("The bell rang.")})
	}
	var file bytes.Buffer
	if _, err := Write(&file, doc, STL, WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	b := bytes.Clone(file.Bytes())
	copy(b[3:], "STL25.01")
	got, err := Read(bytes.NewReader(b), ReadOptions{Name: "ferry.stl"})
	if err != nil || len(got.Cues) != 30 || got.Base.Rate != timecode.Rate30 || len(got.Repairs) != 1 {
		t.Fatalf("30 frames as 25: got %v, %v", got, err)
	}
	for i, c := range got.Cues {
		if c.Span != doc.Cues[i].Span {
			t.Errorf("cue %d: got %v, want %v", i, c.Span, doc.Cues[i].Span)
		}
	}
	drop := timecode.Base{Rate: timecode.Rate2997, Drop: true}
	doc.Cues = append(doc.Cues[:1], Cue{Span: timecode.Span{In: timecode.Rate30.Ticks(1800), Out: timecode.Rate30.Ticks(1860)}, Lines: Text("Nobody crossed.")})
	file.Reset()
	if _, err := Write(&file, doc, STL, WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	got, err = Read(&file, ReadOptions{Name: "ferry.stl", Base: drop})
	if err != nil || len(got.Cues) != 2 || got.Base.Drop || got.Cues[1].In != timecode.Rate2997.Ticks(1800) || len(got.Repairs) != 1 {
		t.Errorf("00:01:00:00 in drop-frame: got %v, %v, want frame 1800 without drop", got, err)
	}
}

// One document gives the same bytes on any day: the dates of the header (Tech
// 3264: CD and RD, bytes 224 to 235) are the document's own, else the caller's.
func TestSTLDates(t *testing.T) {
	doc := &Document{Base: timecode.Base{Rate: timecode.Rate25}, Cues: []Cue{{Span: timecode.Span{In: 0, Out: timecode.Second}, Lines: Text("The bell.")}}}
	for _, c := range []struct {
		own  string
		made time.Time
		want string
	}{
		{"", time.Time{}, "000101000101"},
		{"", time.Date(2026, 5, 9, 23, 0, 0, 0, time.UTC), "260509260509"},
		{"990203", time.Date(2026, 5, 9, 0, 0, 0, 0, time.UTC), "990203990203"},
	} {
		doc.Metadata = map[string]string{"CD": c.own}
		var out bytes.Buffer
		if _, err := Write(&out, doc, STL, WriteOptions{Made: c.made}); err != nil {
			t.Fatal(err)
		}
		if got := string(out.Bytes()[224:236]); got != c.want {
			t.Errorf("own %q, made %v: got %s, want %s", c.own, c.made, got, c.want)
		}
	}
}
