package desk

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func TestDayOf(t *testing.T) {
	for _, c := range []struct{ reel, path, date, want string }{
		{"D2-INT2", "/rushes/day9/D2-INT2.wav", "2026-05-02", "D2"},
		{"T0042", "/rushes/Day 03/T0042.wav", "2026-05-02", "D3"},
		{"T0042", "/rushes/card/T0042.wav", "2026-05-02", "2026-05-02"},
		{"day-12_ferry", "/x/y.wav", "", "D12"},
		{"D2000", "/x/y.wav", "", ""},
		{"DAWN", "/x/y.wav", "", ""},
		{"D0", "/x/y.wav", "", "D0"},
		{"A001_C001", "/rushes/Day 02/SOUND/CARDA/A001_C001.wav", "2026-05-04", "D2"},
		{"Entretien-1", "/rushes/Jour 12/Entretien 1.wav", "2026-05-04", "D12"},
		{"A001_C001", "/DCIM/D750/A001_C001.mov", "2026-05-04", "2026-05-04"},
	} {
		if got := dayOf(c.reel, c.path, c.date); got != c.want {
			t.Errorf("dayOf(%q, %q, %q) = %q, want %q", c.reel, c.path, c.date, got, c.want)
		}
	}
}

func TestByStem(t *testing.T) {
	recs := []story.Recording{
		{Reel: "D1-INT1"},
		{Reel: "D1-INT10"},
		{Reel: "T7", Tape: "FERRY_A"},
		{Reel: "D1"},
		{Reel: "REC_0001", Path: "/a/REC_0001.wav"},
		{Reel: "b-REC_0001", Path: "/b/REC_0001.wav"},
	}
	for stem, want := range map[string]string{
		"D1-INT1": "D1-INT1", "d1_int1": "D1-INT1", "D1-INT1.en": "D1-INT1", "D1-INT1 v2": "D1-INT1",
		"D1-INT10": "D1-INT10", "D1-INT100": "D1", "D1-INT2": "D1", "ferry_a": "T7", "FerryA-words": "T7", "other": "",
		"D12": "", "rec0001_corrected": "REC_0001 b-REC_0001", "b-REC_0001": "b-REC_0001",
	} {
		var got []string
		for _, r := range byStem(recs, stem) {
			got = append(got, r.Reel)
		}
		if strings.Join(got, " ") != want {
			t.Errorf("byStem(%q) = %q, want %q", stem, got, want)
		}
	}
}

func TestMeter(t *testing.T) {
	var b bytes.Buffer
	now := time.Unix(0, 0)
	m := NewMeter(&b, func() time.Time { return now })
	m.Begin("hearing D2-INT2", 100)
	now = now.Add(400 * time.Millisecond)
	m.Reached(1)
	if b.Len() != 0 {
		t.Errorf("shown within the first half second: %q", b.String())
	}
	now = now.Add(10 * time.Second)
	m.Reached(25)
	now = now.Add(time.Millisecond)
	m.Reached(26)
	m.End()
	// 10.4 s for a quarter: 31.2 s left, rounded up.
	if got, want := b.String(), "\r\x1b[Khearing D2-INT2  25 %  0:32 left\r\x1b[K"; got != want {
		t.Errorf("meter wrote %q, want %q", got, want)
	}
	long := meterLine(strings.Repeat("x", 200), 1, 1000000, 10*time.Hour)
	if n := len([]rune(long)); n > 79 {
		t.Errorf("line of %d columns: %s", n, long)
	}
	if got, want := meterLine("hearing a\x1b[2Jb", 1, 2, time.Second), "hearing a\uFFFD[2Jb  50 %  0:01 left"; got != want {
		t.Errorf("a name that steers the terminal: %q, want %q", got, want)
	}
}

func TestOutputWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "cut.edl")
	full := errors.New("no space left on device")
	err := Output{Path: path}.write(func(w io.Writer) error {
		if _, err := w.Write([]byte("half")); err != nil {
			return err
		}
		return full
	})
	if !errors.Is(err, full) {
		t.Fatalf("error %v, want the writer's", err)
	}
	if entries, _ := os.ReadDir(dir); len(entries) != 0 {
		t.Errorf("left behind: %v", entries)
	}
	write := func(text string, force bool) error {
		return Output{Path: path, Force: force}.write(func(w io.Writer) error {
			_, err := io.WriteString(w, text)
			return err
		})
	}
	if err := write("one", false); err != nil {
		t.Fatal(err)
	}
	if err := write("two", false); err == nil || Hint(err) == "" {
		t.Errorf("written over without --force: %v, hint %q", err, Hint(err))
	}
	if got, _ := os.ReadFile(path); string(got) != "one" {
		t.Errorf("file holds %q, want one", got)
	}
	if err := write("three", true); err != nil {
		t.Fatal(err)
	}
	if got, _ := os.ReadFile(path); string(got) != "three" {
		t.Errorf("file holds %q, want three", got)
	}
	if err := (Output{Path: filepath.Join(dir, "no", "cut.edl")}).check(); err == nil {
		t.Error("a missing folder is no error")
	}
}

// strip of four seconds: one talks, both talk, a pause, silence at the end.
func TestStrip(t *testing.T) {
	s := timecode.Second
	l := Listened{Heard: story.Heard{
		Duration: 4 * s, FloorDBFS: -60,
		Turns: []story.Turn{
			{Speaker: "Ines Corrigan", Span: timecode.Span{In: 0, Out: 2 * s}},
			{Speaker: "Joss Adeyemi", Span: timecode.Span{In: s, Out: 2 * s}},
		},
		Pauses: []timecode.Span{{In: 2 * s, Out: 3 * s}},
	}}
	for i := range 400 {
		v := int16(-6000)
		if i < 200 {
			v = -2000
		}
		l.Heard.Envelope.RMS = append(l.Heard.Envelope.RMS, v)
	}
	rows, step := l.Strip()
	if len(rows) != 1 || step != s/4 {
		t.Fatalf("%d rows of %s columns, want 1 of 0.25 s", len(rows), step)
	}
	if got, want := string(rows[0].Who), "IIII&&&&----    "; got != want {
		t.Errorf("who talks: %q, want %q", got, want)
	}
	for i, v := range rows[0].Levels {
		if want := map[bool]int{true: 8, false: 0}[i < 8]; v != want {
			t.Errorf("level of column %d is %d, want %d", i, v, want)
		}
	}
	hours := Listened{Heard: story.Heard{Duration: 11 * timecode.Hour}}
	if rows, _ := hours.Strip(); len(rows) > 6 {
		t.Errorf("%d rows, want at most 6", len(rows))
	}
}

func TestSigns(t *testing.T) {
	turn := func(name string, n timecode.Ticks) story.Turn {
		return story.Turn{Speaker: name, Span: timecode.Span{In: 0, Out: n}}
	}
	l := Listened{Heard: story.Heard{Turns: []story.Turn{turn("Ines", 9), turn("Ida", 8), turn("Voice 1", 7), turn("Voice 2", 6), turn("", 5)}}}
	got := l.Signs()
	want := map[string]rune{"Ines": 'I', "Ida": 'D', "Voice 1": '1', "Voice 2": '2', "": 'A'}
	for name, r := range want {
		if got[name] != r {
			t.Errorf("sign of %q is %q, want %q", name, got[name], r)
		}
	}
}

// What a rule said it says still: OR binds loosest in a query.
func TestEitherRule(t *testing.T) {
	for _, c := range []struct{ rule, want string }{
		{"", "ring OR rings"},
		{"ferry NOT bridge", "ferry NOT bridge OR ring OR rings"},
		{"rings OR ferry", "rings OR ferry OR ring"},
		{"ring OR rings", "ring OR rings"},
		{"(bell OR ring OR rope) landing", "(bell OR ring OR rope) landing OR ring OR rings"},
	} {
		if got := eitherRule(c.rule, []string{"ring", "rings"}); got != c.want {
			t.Errorf("%q: got %q, want %q", c.rule, got, c.want)
		}
	}
}
