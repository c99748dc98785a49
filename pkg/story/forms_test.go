package story

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/timecode"
)

var update = flag.Bool("update", false, "write the golden files")

// golden compares the JSON form of v with a file.
func golden(t *testing.T, name string, v any) []byte {
	t.Helper()
	got, err := json.MarshalIndent(v, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	got = append(got, '\n')
	path := filepath.Join("testdata", name+".json")
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, want) {
		t.Errorf("%s: got\n%swant\n%s", path, got, want)
	}
	return got
}

// fields tells whether the JSON object holds all these names.
func fields(t *testing.T, data []byte, names ...string) {
	t.Helper()
	var m map[string]json.RawMessage
	if err := json.Unmarshal(data, &m); err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		if _, ok := m[n]; !ok {
			t.Errorf("the form lacks %q, on which others rely", n)
		}
	}
}

func aQuote() Quote {
	return Quote{
		Code: "KRTWHC", Reel: "D2-INT2", Day: "D2", Speaker: "Ines Corrigan",
		Span: timecode.Span{In: timecode.FromMillis(12_480), Out: timecode.FromMillis(15_010)},
		Text: "Nobody rings a bridge.", Language: "en", InBy: FromPause, OutBy: FromShare,
		Themes: []string{"bell", Strong}, Rating: 4, Note: "look at the far bank",
		Clock: timecode.Clock{Base: timecode.Base{Rate: timecode.Rate25}, Start: 10 * timecode.Hour},
	}
}

// The names are fixed by the architecture's decision 8.
func TestQuoteForm(t *testing.T) {
	names := []string{"code", "reel", "speaker", "in", "out", "text", "themes", "rating", "note"}
	fields(t, golden(t, "quote", aQuote()), names...)
	fields(t, golden(t, "quote-bare", Quote{}), names...)
	q := aQuote()
	if !q.IsStrong() || (Quote{Themes: []string{"bell"}}).IsStrong() {
		t.Error("strong is what carries the mark")
	}
	var form struct{ In, Out timecode.Moment }
	data, err := json.Marshal(q)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(data, &form); err != nil {
		t.Fatal(err)
	}
	if form.In != (timecode.Moment{Seconds: 12.48, Timecode: "10:00:12:12", Ticks: 8805888000}) || form.Out.Timecode != "10:00:15:01" {
		t.Errorf("got in %+v, out %+v", form.In, form.Out)
	}
}

func TestSelectsForm(t *testing.T) {
	q := aQuote()
	item := Item{ID: 3, Code: q.Code, Reel: q.Reel, Span: q.Span, Speaker: q.Speaker, Text: q.Text, Clock: q.Clock}
	short := item
	short.ID, short.Trimmed, short.Out, short.Note = 4, true, short.In+timecode.Second, "only the look"
	lost := Item{ID: 5, Code: "KRTWHC", Reel: "D1-WILF", Text: "Gone.", Lost: true, Span: timecode.Span{In: 5 * timecode.Second, Out: 2 * timecode.Second}}
	s := Selects{Name: "opening", Target: 5 * timecode.Second, Items: []Item{item, short, lost}}
	// 10:00:12:12 to 10:00:15:01 is 64 frames of 40 ms, the short one is 25.
	if got, want := s.RunningTime(), timecode.FromMillis(64*40+25*40); got != want {
		t.Errorf("running time: got %s, want %s", got, want)
	}
	fields(t, golden(t, "selects", s), "name", "items", "running_seconds", "target_seconds", "over_seconds")
	fields(t, golden(t, "selects-empty", Selects{Name: "none"}), "name", "items", "running_seconds")
}

func TestOtherForms(t *testing.T) {
	fields(t, golden(t, "recurring", Recurring{
		Term: "bell", Count: 41, Reels: []string{"D2-INT2"}, Speakers: []string{"Ines Corrigan"}, Keyness: 120.5, Dispersion: 0.4,
		First: "KRTWHC", Quotes: []Code{"KRTWHC"}, Forms: []string{"bell", "bells"},
	}), "term", "count", "reels", "speakers", "keyness", "dispersion", "first", "quotes")
	fields(t, golden(t, "talk", TalkShares([]Turn{
		{Speaker: "Ines", Span: timecode.Span{Out: 3 * timecode.Second}}, {Speaker: "Joss", Span: timecode.Span{Out: timecode.Second}},
	})[0]), "speaker", "seconds", "share")
}

func TestTalkShares(t *testing.T) {
	turn := func(who string, in, out timecode.Ticks) Turn {
		return Turn{Speaker: who, Span: timecode.Span{In: in * timecode.Second, Out: out * timecode.Second}}
	}
	got := TalkShares([]Turn{turn("Joss", 0, 2), turn("Ines", 1, 5), turn("Joss", 6, 8), turn("Wilf", 9, 9), turn("Petra", 9, 11)})
	want := []Talk{
		{"Ines", 4 * timecode.Second, 4, 0.4},
		{"Joss", 4 * timecode.Second, 4, 0.4},
		{"Petra", 2 * timecode.Second, 2, 0.2},
	}
	if !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if got := TalkShares(nil); len(got) != 0 {
		t.Errorf("nobody talks: got %v", got)
	}
	rapid.Check(t, func(t *rapid.T) {
		var turns []Turn
		for range rapid.IntRange(0, 8).Draw(t, "turns") {
			in := timecode.Ticks(rapid.Int64Range(0, 50).Draw(t, "in"))
			turns = append(turns, turn(rapid.SampledFrom([]string{"Ines", "Joss", "Wilf"}).Draw(t, "who"), in, in+timecode.Ticks(rapid.Int64Range(-2, 9).Draw(t, "length"))))
		}
		var sum float64
		talk := TalkShares(turns)
		for i, s := range talk {
			sum += s.Share
			if i > 0 && s.Ticks > talk[i-1].Ticks {
				t.Fatalf("out of order: %v", talk)
			}
		}
		if len(talk) > 0 && math.Abs(sum-1) > 1e-9 {
			t.Fatalf("shares sum to %g", sum)
		}
	})
}

func TestCut(t *testing.T) {
	e := Event{Source: timecode.Span{In: 10, Out: 60}, Lead: 5, Tail: 20, Record: timecode.Span{In: 0, Out: 50}}
	if got := e.Talk(); got != (timecode.Span{In: 15, Out: 40}) {
		t.Errorf("talk without handles: got %v", got)
	}
	c := Cut{Base: timecode.Base{Rate: timecode.Rate25}, Start: timecode.Hour, Events: []Event{e, {Record: timecode.Span{In: 20, Out: 30}}}}
	if got := c.Duration(); got != 50 {
		t.Errorf("got duration %d, want 50", got)
	}
	if got := c.Label(2*timecode.Second, timecode.Floor); got != "01:00:02:00" {
		t.Errorf("got %s", got)
	}
}
