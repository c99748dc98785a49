package selects

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func recs() map[string]story.Recording {
	return map[string]story.Recording{
		"D2-INT2": {Reel: "D2-INT2", Path: "/film/d2-int2.wav", Duration: 60 * sec, Channels: 3, Clock: clock25("10:00:00:00")},
		"d1-wilf": {Reel: "D1-WILF", Path: "/film/d1-wilf.wav", Duration: 30 * sec, Channels: 2, Clock: clock25("09:00:00:00")},
	}
}

func TestLay(t *testing.T) {
	s := list(t)
	s.Items[0].In += 10 * timecode.Millisecond // inside frame 300
	s.Items[0].Out += timecode.Millisecond     // just inside frame 400
	frame := timecode.Rate25.Ticks
	c, notes, err := Lay(s, recs(), LayOptions{Start: 3600 * sec, Handles: sec / 2, Gap: sec})
	if err != nil {
		t.Fatal(err)
	}
	if len(notes) != 0 {
		t.Errorf("notes: %q", notes)
	}
	if c.Title != "opening" || c.Base != (timecode.Base{Rate: timecode.Rate25}) || c.Label(0, timecode.Floor) != "01:00:00:00" {
		t.Errorf("got %q %s %s", c.Title, c.Base, c.Label(0, timecode.Floor))
	}
	// Half a second is 12.5 frames: handles of 13.
	type row struct {
		source, record timecode.Span
		gap            bool
	}
	span := func(in, out int64) timecode.Span { return timecode.Span{In: frame(in), Out: frame(out)} }
	want := []row{
		{span(300-13, 401+13), span(0, 127), false},
		{span(0, 25), span(127, 152), true},
		{span(1000-13, 1175+13), span(152, 353), false},
		{span(0, 25), span(353, 378), true},
		{span(125-13, 200+13), span(378, 479), false},
	}
	var got []row
	for _, e := range c.Events {
		got = append(got, row{e.Source, e.Record, e.Gap})
	}
	if !slices.Equal(got, want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
	e := c.Events[4]
	if e.Reel != "D1-WILF" || e.Path != "/film/d1-wilf.wav" || e.Channels != 2 || e.Available != 30*sec || e.Lead != frame(13) || e.Tail != frame(13) {
		t.Errorf("got %+v", e)
	}
	if label := e.Clock.Timecode(e.Source.In, timecode.Floor); label != "09:00:04:12" {
		t.Errorf("source in: got %s, want 09:00:04:12", label)
	}
}

func TestLayNotesAndErrors(t *testing.T) {
	base := func(change func(*story.Selects, map[string]story.Recording, *LayOptions)) (story.Cut, []string, error) {
		s, r, o := list(t), recs(), LayOptions{}
		change(&s, r, &o)
		return Lay(s, r, o)
	}
	type change = func(*story.Selects, map[string]story.Recording, *LayOptions)
	cases := []struct {
		name   string
		change change
		note   string
		is     error
		text   string
	}{
		{"empty", func(s *story.Selects, _ map[string]story.Recording, _ *LayOptions) { s.Items = nil }, "", ErrLay, "is empty"},
		{"negative gap", func(_ *story.Selects, _ map[string]story.Recording, o *LayOptions) { o.Gap = -1 }, "", ErrLay, "negative"},
		{"no rate", func(s *story.Selects, r map[string]story.Recording, _ *LayOptions) {
			clear(r)
			for i := range s.Items {
				s.Items[i].Clock = timecode.Clock{}
			}
		}, "", ErrLay, "frame rate"},
		{"past the end", func(s *story.Selects, _ map[string]story.Recording, _ *LayOptions) {
			s.Items[0].Span = timecode.Span{In: 60 * sec, Out: 61 * sec}
		}, "", ErrTrim, "past the recording's end"},
		{"no length", func(s *story.Selects, _ map[string]story.Recording, _ *LayOptions) {
			s.Items[0].Span = timecode.Span{In: 6 * sec, Out: 6 * sec}
		}, "", ErrTrim, "item 1"},
		{"lost", func(s *story.Selects, _ map[string]story.Recording, _ *LayOptions) { s.Items[0].Lost = true }, "no longer in the bank", nil, ""},
		{"missing recording", func(_ *story.Selects, r map[string]story.Recording, _ *LayOptions) { delete(r, "d1-wilf") }, "reel D1-WILF: recording not in the bank", nil, ""},
		{"no sound", func(_ *story.Selects, r map[string]story.Recording, _ *LayOptions) {
			rec := r["d1-wilf"]
			rec.Path = ""
			r["d1-wilf"] = rec
		}, "only a transcript", nil, ""},
		{"other rate", func(_ *story.Selects, _ map[string]story.Recording, o *LayOptions) { o.Base.Rate = timecode.Rate24 }, "recorded at 25 frames/s, cut at 24", nil, ""},
		{"short handles", func(_ *story.Selects, _ map[string]story.Recording, o *LayOptions) { o.Handles, o.Asked = 10*sec, true }, "handles of 125 and 250 frames instead of 250", nil, ""},
		{"runs past the end", func(s *story.Selects, _ map[string]story.Recording, _ *LayOptions) { s.Items[1].Out = 61 * sec }, "cut there", nil, ""},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			cut, notes, err := base(c.change)
			if !errors.Is(err, c.is) || err != nil && !strings.Contains(err.Error(), c.text) {
				t.Fatalf("got error %v, want %v with %q", err, c.is, c.text)
			}
			if err != nil {
				return
			}
			if !strings.Contains(strings.Join(notes, "\n"), c.note) {
				t.Errorf("got notes %q, want %q", notes, c.note)
			}
			if len(cut.Events) != 3 {
				t.Errorf("got %d events, want 3", len(cut.Events))
			}
		})
	}
}

// Whatever the rates, start timecodes and lengths: events are whole frames
// without holes, hold their items but for part frames at the recording's
// ends, stay in the recording, and source is as long as record.
func TestLayProperties(t *testing.T) {
	bases := []timecode.Base{
		{Rate: timecode.Rate23976},
		{Rate: timecode.Rate24},
		{Rate: timecode.Rate25},
		{Rate: timecode.Rate2997},
		{Rate: timecode.Rate2997, Drop: true},
		{Rate: timecode.Rate30},
		{Rate: timecode.Rate5994, Drop: true},
	}
	rapid.Check(t, func(t *rapid.T) {
		base := rapid.SampledFrom(bases).Draw(t, "base")
		rate := base.Rate
		rec := story.Recording{Reel: "D2-INT2", Path: "/film/a.wav", SampleRate: 48000}
		rec.Clock = timecode.Clock{
			Base:  rapid.SampledFrom(bases).Draw(t, "source base"),
			Start: timecode.FromSamples(rapid.Int64Range(0, 86399*48000).Draw(t, "start sample"), 48000),
		}
		rec.Duration = timecode.FromSamples(rapid.Int64Range(48000, 3600*48000).Draw(t, "samples"), 48000)
		var quotes []story.Quote
		for range rapid.IntRange(1, 6).Draw(t, "quotes") {
			in := rapid.Int64Range(0, int64(rec.Duration)-1).Draw(t, "in")
			out := rapid.Int64Range(in+1, int64(rec.Duration)).Draw(t, "out")
			quotes = append(quotes, quote(rec.Reel, timecode.Ticks(in), timecode.Ticks(out), "x"))
		}
		s, err := Add(story.Selects{Name: "x"}, quotes, 0)
		if err != nil {
			t.Fatal(err)
		}
		opt := LayOptions{
			Base: base, Start: rate.Ticks(rapid.Int64Range(0, base.FramesPerDay()-1).Draw(t, "start")),
			Handles: timecode.FromMillis(rapid.Int64Range(0, 3000).Draw(t, "handles")),
			Gap:     timecode.FromMillis(rapid.Int64Range(0, 3000).Draw(t, "gap")),
		}
		c, _, err := Lay(s, map[string]story.Recording{rec.Reel: rec}, opt)
		if err != nil {
			t.Fatal(err)
		}
		checkLaid(t, s, c, rec, opt)
	})
}

// checkLaid holds the rules of TestLayProperties against one cut.
func checkLaid(t *rapid.T, s story.Selects, c story.Cut, rec story.Recording, opt LayOptions) {
	rate := c.Base.Rate
	frame := rate.Ticks(1)
	var at, talking, said timecode.Ticks
	item := 0
	for _, e := range c.Events {
		if e.Record.In != at || e.Record.Empty() || rate.Snap(e.Record.Out, timecode.Nearest) != e.Record.Out {
			t.Fatalf("record %v after %s", e.Record, at)
		}
		at = e.Record.Out
		if e.Source.Length() != e.Record.Length() {
			t.Fatalf("source %v, record %v", e.Source, e.Record)
		}
		if e.Gap {
			continue
		}
		it := s.Items[item]
		item++
		if e.Source.In < 0 || e.Source.Out > rec.Duration {
			t.Fatalf("source %v outside a recording of %s", e.Source, rec.Duration)
		}
		if on := e.Clock.Start + e.Source.In; rate.Snap(on, timecode.Nearest) != on {
			t.Fatalf("source in %s is on no frame", on)
		}
		talk := e.Talk()
		talking += talk.Length()
		said += it.Length()
		// Running counts on the item's own clock, which is the cut's here.
		it.Clock = timecode.Clock{Base: c.Base, Start: e.Clock.Start}
		if it.In >= frame && it.Out <= rec.Duration-frame && talk.Length() != it.Running() {
			t.Fatalf("item %v laid %s long, its running time is %s", it.Span, talk.Length(), it.Running())
		}
		if lost := talk.In - it.In; lost > 0 && (lost >= frame || talk.In >= frame && it.In < rec.Duration-2*frame) {
			t.Fatalf("item %v cut to %v of %s", it.Span, talk, rec.Duration)
		}
		if lost := it.Out - talk.Out; lost > 0 && (lost >= frame || rec.Duration-talk.Out >= frame && it.Out > 2*frame) {
			t.Fatalf("item %v cut to %v of %s", it.Span, talk, rec.Duration)
		}
		if e.Lead < 0 || e.Tail < 0 || e.Lead > opt.Handles+frame || e.Tail > opt.Handles+frame {
			t.Fatalf("handles %s %s, want at most %s", e.Lead, e.Tail, opt.Handles)
		}
	}
	if item != len(s.Items) || at != c.Duration() {
		t.Fatalf("%d items of %d, %s of %s", item, len(s.Items), at, c.Duration())
	}
	// Each item gains or loses less than a frame at each of its edges.
	if d, most := talking-said, 2*frame*timecode.Ticks(item); d <= -most || d >= most {
		t.Fatalf("%s of talk laid, %s said", talking, said)
	}
}
