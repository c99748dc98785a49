package desk

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"rushlight/pkg/bank"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// emptyBank makes a bank and opens it.
func emptyBank(t *testing.T) *Desk {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "bank")
	if _, err := New(t.Context(), dir, Options{}, NewOptions{}); err != nil {
		t.Fatal(err)
	}
	d, err := Open(t.Context(), Options{Bank: dir})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.Close() })
	return d
}

// cameraBank holds a sound reel S of 100 s with sayings of 2 s each second, and
// a camera that split its picture into C1 (0 to 40 s of S) and C2 (40 to 80 s),
// with a saying of its own.
func cameraBank(t *testing.T) *Desk {
	t.Helper()
	d := emptyBank(t)
	sec := timecode.Second
	_, err := d.change(t.Context(), "test", "test", func(tx *bank.Tx) error {
		for _, r := range []story.Recording{
			{Reel: "S", Essence: "s", Path: "/rushes/S.wav", Duration: 100 * sec, Originator: "recorder", Transcript: story.Transcript{Path: "/rushes/S.srt"}},
			{Reel: "C1", Essence: "c1", Path: "/rushes/C1.mov", Duration: 40 * sec},
			{Reel: "C2", Essence: "c2", Path: "/rushes/C2.mov", Duration: 40 * sec},
		} {
			r.SampleRate, r.Channels, r.Clock.Base = 48000, 1, timecode.Base{Rate: timecode.Rate25}
			if err := tx.PutRecording(r); err != nil {
				return err
			}
		}
		say := func(reel string, code story.Code, in timecode.Ticks) story.Quote {
			return story.Quote{Code: code, Reel: reel, Text: "The bell rang.", Span: timecode.Span{In: in, Out: in + 2*sec}}
		}
		if err := tx.PutQuotes("S", []story.Quote{say("S", "CCCCCC", 10*sec), say("S", "DDDDDW", 39*sec+sec/4), say("S", "FFFFFR", 60*sec), say("S", "GGGGGN", 90*sec)}); err != nil {
			return err
		}
		if err := tx.PutQuotes("C1", []story.Quote{say("C1", "HHHHHJ", 20*sec)}); err != nil {
			return err
		}
		for i, c := range []string{"C1", "C2"} {
			s := story.Sync{Picture: c, Sound: "S", Offset: timecode.Ticks(i) * 40 * sec, Confidence: 990 - 10*i, By: story.SyncBySound}
			if err := tx.PutSync(s); err != nil {
				return err
			}
		}
		return tx.PutSelects(story.Selects{Name: "cut", Items: []story.Item{{Code: "CCCCCC"}, {Code: "DDDDDW"}, {Code: "FFFFFR"}, {Code: "GGGGGN"}, {Code: "HHHHHJ"}}})
	})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// TestPictureOfSeveralFiles: a saying is seen in the file of the camera that
// holds it, or most of it, never behind a file's end.
func TestPictureOfSeveralFiles(t *testing.T) {
	d := cameraBank(t)
	hits, err := d.Show(t.Context(), []story.Code{"CCCCCC", "DDDDDW", "FFFFFR", "GGGGGN"}, 0)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []string{
		"C1 00:00:10:00 00:00:12:00 false", "C2 00:00:00:00 00:00:01:07 true", "C2 00:00:20:00 00:00:22:00 false", "none",
	} {
		got := "none"
		if p := hits[i].Picture; p != nil {
			got = strings.Join([]string{p.Reel, p.In.Timecode, p.Out.Timecode, map[bool]string{true: "true", false: "false"}[p.Part]}, " ")
		}
		if got != want {
			t.Errorf("%s is seen on %s, want %s", hits[i].Quote.Code, got, want)
		}
	}
	var b bytes.Buffer
	e, err := d.Export(t.Context(), ExportOptions{Selects: "cut", Form: "edl", Video: true, Out: Output{Path: "-", Stdout: &b}})
	if err != nil {
		t.Fatal(err)
	}
	var events []string
	for _, line := range strings.Split(b.String(), "\n") {
		if f := strings.Fields(line); len(f) == 8 && len(f[0]) == 3 {
			events = append(events, strings.Join(f[1:], " "))
		}
	}
	// Times by hand: item 2 is 39:06 to 41:07 of S (0.25 s is 6.25 frames), of
	// which C2 has what is from 40:00 on, 19 frames later.
	want := []string{
		"C1 V C 00:00:10:00 00:00:12:00 01:00:00:00 01:00:02:00",
		"S A C 00:00:10:00 00:00:12:00 01:00:00:00 01:00:02:00",
		"C2 V C 00:00:00:00 00:00:01:07 01:00:02:19 01:00:04:01",
		"S A C 00:00:39:06 00:00:41:07 01:00:02:00 01:00:04:01",
		"C2 V C 00:00:20:00 00:00:22:00 01:00:04:01 01:00:06:01",
		"S A C 00:01:00:00 00:01:02:00 01:00:04:01 01:00:06:01",
		"S A C 00:01:30:00 00:01:32:00 01:00:06:01 01:00:08:01",
		"C1 B C 00:00:20:00 00:00:22:00 01:00:08:01 01:00:10:01",
	}
	if got := strings.Join(events, "\n"); got != strings.Join(want, "\n") {
		t.Errorf("got\n%s\nwant\n%s", got, strings.Join(want, "\n"))
	}
	notes := strings.Join(e.Notes, "\n")
	for _, want := range []string{"item 2 (DDDDDW): the picture begins 0:00.8 later: C2, which holds most of it", "item 4 (GGGGGN): no picture"} {
		if !strings.Contains(notes, want) {
			t.Errorf("no note %q in\n%s", want, notes)
		}
	}
}

func TestPlaces(t *testing.T) {
	if got, want := places([]int{1, 4, 5, 6, 8, 9}), "2, 5 to 7, 9 to 10"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestVideoOnlyWherePictureIs: OpenTimelineIO has the picture of a camera's own
// reel as a clip of its own; forms that hold no picture refuse it.
func TestVideoOnlyWherePictureIs(t *testing.T) {
	d := cameraBank(t)
	_, err := d.change(t.Context(), "test", "test", func(tx *bank.Tx) error {
		return tx.PutSelects(story.Selects{Name: "own", Items: []story.Item{{Code: "HHHHHJ"}}})
	})
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	if _, err := d.Export(t.Context(), ExportOptions{Selects: "own", Form: "otio", Video: true, Out: Output{Path: "-", Stdout: &b}}); err != nil {
		t.Fatal(err)
	}
	for _, kind := range []string{`"kind": "Video"`, `"kind": "Audio"`} {
		if strings.Count(b.String(), kind) != 1 {
			t.Errorf("%d of %s in the timeline, want 1", strings.Count(b.String(), kind), kind)
		}
	}
	for _, form := range []string{"paper", "csv", "wav"} {
		_, err := d.Export(t.Context(), ExportOptions{Selects: "cut", Form: form, Video: true, Out: Output{Path: "-", Stdout: &b}})
		if err == nil || !strings.Contains(err.Error(), "has no picture") {
			t.Errorf("%s with picture: got %v, want it refused", form, err)
		}
	}
}

// TestSyncOverSeveralSoundReels: a camera that ran on while the recorder was
// stopped is lined up with each of the recorder's files. They are made of the
// sample's, whose camera starts 7.4 s earlier (samples/README.md).
func TestSyncOverSeveralSoundReels(t *testing.T) {
	day, rushes := filepath.Join("..", "..", "samples", "day2"), t.TempDir()
	cut := func(name, from string, in, out timecode.Ticks) {
		t.Helper()
		_, err := sound.WriteStringout(t.Context(), filepath.Join(rushes, name), []sound.Piece{{Path: filepath.Join(day, from), In: in, Out: out}}, sound.StringoutOptions{Bits: 16})
		if err != nil {
			t.Fatal(err)
		}
	}
	sec := timecode.Second
	cut("D2-A.wav", "D2-INT2.wav", 0, 40*sec)
	cut("D2-B.wav", "D2-INT2.wav", 45*sec, 90*sec)
	cut("D2-CAM.wav", "D2-CAM.wav", 0, 85*sec)
	d := emptyBank(t)
	if _, err := d.Ingest(t.Context(), IngestOptions{Paths: []string{rushes}}); err != nil {
		t.Fatal(err)
	}
	for _, list := range []func() ([]Synced, error){
		func() ([]Synced, error) { return d.Sync(t.Context(), SyncOptions{Pictures: []string{"D2-CAM"}}) },
		func() ([]Synced, error) { return d.Syncs(t.Context()) },
	} {
		got, err := list()
		if err != nil {
			t.Fatal(err)
		}
		at := map[string]float64{}
		for _, s := range got {
			t.Log(s.What)
			if s.Sync != nil {
				at[s.Sync.Sound] = s.Sync.Offset.Seconds()
			}
		}
		if a, b := at["D2-A"], at["D2-B"]; len(at) != 2 || a < -7.41 || a > -7.39 || b < -52.41 || b > -52.39 {
			t.Errorf("D2-CAM begins at %v, want −7.4 of D2-A and −52.4 of D2-B", at)
		}
	}
}

// TestOtherDay: a recorder's reel whose name says "D2" may be of the camera's
// date; two dates, or two labels, are two days.
func TestOtherDay(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want bool
	}{
		{"D2", "2026-05-02", false},
		{"2026-05-02", "D2", false},
		{"D1", "D2", true},
		{"2026-05-01", "2026-05-02", true},
		{"D2", "D2", false},
		{"", "D2", false},
		{"2026-05-01", "", false},
	} {
		if got := otherDay(c.a, c.b); got != c.want {
			t.Errorf("otherDay(%q, %q) = %t, want %t", c.a, c.b, got, c.want)
		}
	}
}

// TestApartBy: recordings are likeliest of one event where their timecodes run
// together.
func TestApartBy(t *testing.T) {
	at := func(start, length timecode.Ticks) story.Recording {
		return story.Recording{Clock: timecode.Clock{Start: start * timecode.Minute}, Duration: length * timecode.Minute}
	}
	cam := at(60, 10)
	for _, c := range []struct {
		sound story.Recording
		want  timecode.Ticks
	}{{at(65, 10), 0}, {at(50, 11), 0}, {at(75, 10), 5}, {at(40, 10), 10}, {at(0, 10), 0}} {
		if a, b := apartBy(cam, c.sound), apartBy(c.sound, cam); a != c.want*timecode.Minute || b != a {
			t.Errorf("%s from %s: got %s and %s, want %s", c.sound.Duration, c.sound.Clock.Start, a, b, c.want*timecode.Minute)
		}
	}
}

// TestDescribeSync: where timecode puts a camera otherwise than what is heard,
// both are told, and which way they differ.
func TestDescribeSync(t *testing.T) {
	s := story.Sync{Picture: "C", Sound: "S", Offset: timecode.FromMillis(-7400), DriftPPB: 40_100, Confidence: 996, HasTimecode: true}
	for ms, want := range map[int64]string{
		0:    "",
		-520: "; its timecode puts it 00:00:00.520 earlier",
		2040: "; its timecode puts it 00:00:02.040 later",
	} {
		s.Disagreement = timecode.FromMillis(ms)
		if got, want := describeSync(s), "begins 00:00:07.400 before S, clock 40.1 ppm fast, sure 100 %"+want; got != want {
			t.Errorf("got %q, want %q", got, want)
		}
	}
	s.Disagreement, s.Offset, s.DriftPPB = 0, 120*timecode.Second-2*timecode.Millisecond/1000, -49
	if got, want := describeSync(s), "begins 00:02:00.000 after S, clocks alike, sure 100 %"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	s.DriftPPB = -50
	if got, want := describeSync(s), "begins 00:02:00.000 after S, clock 0.1 ppm slow, sure 100 %"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// TestExportSplit: a cut of more events than old lists number becomes several
// lists, which read back, one after the other, as the same items; nothing is
// written if one of them would write over something.
func TestExportSplit(t *testing.T) {
	d := cameraBank(t)
	var items []story.Item
	for range 250 {
		items = append(items, story.Item{Code: "CCCCCC"}, story.Item{Code: "DDDDDW"}, story.Item{Code: "GGGGGN"})
	}
	_, err := d.change(t.Context(), "test", "test", func(tx *bank.Tx) error {
		return tx.PutSelects(story.Selects{Name: "long", Items: items})
	})
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	opt := ExportOptions{Selects: "long", Form: "edl", Video: true, Split: true, Out: Output{Path: filepath.Join(dir, "long.edl")}}
	second := filepath.Join(dir, "long_2.edl")
	if err := os.WriteFile(second, []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Export(t.Context(), opt); err == nil {
		t.Error("wrote over a list that is there")
	}
	if files, _ := os.ReadDir(dir); len(files) != 1 {
		t.Errorf("%d files, want the one that was there", len(files))
	}
	if err := os.Remove(second); err != nil {
		t.Fatal(err)
	}
	e, err := d.Export(t.Context(), opt)
	// Two of three items have a picture: 1250 events.
	if err != nil || len(e.Files) != 2 || e.Files[1] != second || e.File != e.Files[0] {
		t.Fatalf("got %v, %v, want two files", e.Files, err)
	}
	var got []story.Code
	for _, file := range e.Files {
		r, err := d.ReadSelects(t.Context(), ReadSelectsOptions{File: file})
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range r.Missed {
			t.Errorf("%s: %s", filepath.Base(file), m)
		}
		for _, it := range r.Selects.Items {
			got = append(got, it.Code)
		}
	}
	if len(got) != len(items) {
		t.Fatalf("%d items read back, want %d", len(got), len(items))
	}
	for i, it := range items {
		if got[i] != it.Code {
			t.Fatalf("item %d: got %s, want %s", i+1, got[i], it.Code)
		}
	}
}
