package interchange

import (
	"bytes"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

var roundTripBases = []string{"23.976", "24", "25", "29.97", "29.97df", "30", "50", "59.94", "59.94df", "60"}

func words(t *rapid.T, name string, most int) string {
	return strings.Join(rapid.SliceOfN(rapid.StringMatching(`[A-Za-zéß0-9][A-Za-zéß0-9'*,.;=<>&-]{0,9}`), 0, most).Draw(t, name), " ")
}

// randomCut draws a cut of one lane without holes. Lengths stay under four
// hours, starts are anywhere in the day, so that source and record pass
// midnight.
func randomCut(t *rapid.T, b timecode.Base) story.Cut {
	rate := b.Rate
	day := b.FramesPerDay()
	hours4 := 4 * 3600 * rate.Nominal()
	frame := func(name string, lo, hi int64) timecode.Ticks {
		return rate.Ticks(rapid.Int64Range(lo, hi).Draw(t, name))
	}
	c := story.Cut{Title: words(t, "title", 4), Base: b, Start: frame("start", 0, day-1)}
	tracks := map[string]int{"A": 1, "AA": 2, "V": 0, "B": 1, "AA/V": 2, "A2": 1}
	track := rapid.SampledFrom([]string{"A", "AA", "V", "B", "AA/V", "A2"}).Draw(t, "track")
	drops := []bool{b.Drop}
	if rate == timecode.Rate2997 || rate == timecode.Rate5994 {
		drops = []bool{true, false}
	}
	reels := rapid.SliceOfNDistinct(rapid.StringMatching(`[A-Za-z0-9][A-Za-z0-9é_.-]{0,14}`), 1, 4, strings.ToLower).Draw(t, "reels")
	reels = append(reels, "Black")
	var at timecode.Ticks
	for range rapid.IntRange(1, 8).Draw(t, "events") {
		n := frame("length", 1, hours4)
		e := story.Event{Track: track, Channels: tracks[track], Record: timecode.Span{In: at, Out: at + n}}
		at += n
		if rapid.IntRange(0, 4).Draw(t, "gap") == 0 {
			e.Gap = true
			e.Source = timecode.Span{Out: n}
			e.Clock.Base = b
			c.Events = append(c.Events, e)
			continue
		}
		e.Reel = rapid.SampledFrom(reels).Draw(t, "reel")
		e.Clock.Base = timecode.Base{Rate: rate, Drop: rapid.SampledFrom(drops).Draw(t, "drop")}
		in := frame("in", 0, e.Clock.Base.FramesPerDay()-1)
		e.Source = timecode.Span{In: in, Out: in + n}
		e.Speaker, e.Text, e.Note = words(t, "speaker", 2), words(t, "text", 40), words(t, "note", 20)
		if rapid.Bool().Draw(t, "quote") {
			e.Code = code(e.Reel, in)
		}
		for range rapid.IntRange(0, 2).Draw(t, "themes") {
			e.Themes = append(e.Themes, "t"+words(t, "theme", 2))
		}
		if n > rate.Ticks(2) {
			e.Lead, e.Tail = rate.Ticks(rapid.Int64Range(0, 1).Draw(t, "lead")), rate.Ticks(rapid.Int64Range(0, 1).Draw(t, "tail"))
		}
		for range rapid.IntRange(0, 2).Draw(t, "markers") {
			off := rapid.Int64Range(0, rate.Frame(n, timecode.Nearest)-1).Draw(t, "marker")
			e.Markers = append(e.Markers, story.CutMarker{
				At: e.Record.In + rate.Ticks(off), Colour: rapid.SampledFrom(markerColours).Draw(t, "colour"), Text: words(t, "marker text", 3),
			})
		}
		if rapid.IntRange(0, 3).Draw(t, "blend") == 0 {
			e.Transition = randomBlend(t, rate, reels, n, e.Clock.Base.FramesPerDay())
		}
		for range rapid.IntRange(0, 2).Draw(t, "comments") {
			e.Comments = append(e.Comments, "x"+words(t, "comment", 4))
		}
		c.Events = append(c.Events, e)
	}
	return c
}

func randomBlend(t *rapid.T, rate timecode.Rate, reels []string, n timecode.Ticks, day int64) story.Transition {
	kinds := []story.Transition{{Kind: "dissolve"}, {Kind: "wipe", Code: "001"}, {Kind: "wipe", Code: "123"}, {Kind: "key"}, {Kind: "key", Code: "B"}}
	b := rapid.SampledFrom(kinds).Draw(t, "kind")
	b.Length = min(n, rate.Ticks(rapid.Int64Range(0, 250).Draw(t, "blend length")))
	b.FromReel, b.From = rapid.SampledFrom(reels).Draw(t, "from reel"), rate.Ticks(rapid.Int64Range(0, day-1).Draw(t, "from"))
	if rapid.Bool().Draw(t, "from black") {
		b.FromReel, b.From = blackReel, 0
	}
	return b
}

// Whatever is written as a list reads back the same, at every rate, over
// midnight, with drop-frame and non-drop sources side by side.
func TestEDLRoundTrip(t *testing.T) {
	for _, name := range roundTripBases {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				c := randomCut(t, base(name))
				for i := range c.Events {
					if e := &c.Events[i]; !e.Gap {
						e.Path = rapid.SampledFrom([]string{"", "a b.wav", "D2-INT2.wav"}).Draw(t, "path")
					}
				}
				var b bytes.Buffer
				if _, err := WriteEDL(&b, c, EDLOptions{}); err != nil {
					t.Fatal(err)
				}
				list := b.String()
				got, notes, err := ReadEDL(strings.NewReader(list), "x.edl", timecode.Base{})
				if err != nil {
					t.Fatalf("%v\n%s", err, list)
				}
				if len(notes) > 0 {
					t.Fatalf("notes %q\n%s", notes, list)
				}
				sameCut(t, got, c)
			})
		})
	}
}

// The same for OpenTimelineIO, with recordings that start at any sample and
// of which the length is known or not.
func TestOTIORoundTrip(t *testing.T) {
	for _, name := range roundTripBases {
		t.Run(name, func(t *testing.T) {
			rapid.Check(t, func(t *rapid.T) {
				c := randomCut(t, base(name))
				for i := range c.Events {
					e := &c.Events[i]
					if e.Gap {
						continue
					}
					e.Clock.Start = timecode.FromSamples(rapid.Int64Range(0, 86400*48000-1).Draw(t, "start sample"), 48000)
					e.Clock.Base = base(rapid.SampledFrom(roundTripBases).Draw(t, "clock"))
					if rapid.Bool().Draw(t, "known") {
						e.Available = timecode.FromSamples(rapid.Int64Range(1, 86400*48000).Draw(t, "samples"), 48000)
					}
					e.Path = rapid.SampledFrom([]string{"", "/film/a b#1?%.wav", "/film/é/渡し.wav", "c:/film/a.wav", "audio/a.wav", "a:b.wav"}).Draw(t, "path")
				}
				// A hole is written as a gap and read as a hole.
				if rapid.Bool().Draw(t, "hole") && len(c.Events) > 1 {
					c.Events = slices.Delete(c.Events, 0, 1)
				}
				var b bytes.Buffer
				if err := WriteOTIO(&b, c); err != nil {
					t.Fatal(err)
				}
				got, notes, err := ReadOTIO(bytes.NewReader(b.Bytes()), "x.otio")
				if err != nil || len(notes) > 0 {
					t.Fatalf("%v, notes %q\n%s", err, notes, b.String())
				}
				sameCut(t, got, c)
			})
		})
	}
}

// A cut written as a list and read, then written as OpenTimelineIO and read,
// still has its events in the same places.
func TestEDLToOTIO(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := randomCut(t, base(rapid.SampledFrom(roundTripBases).Draw(t, "base")))
		var list, doc bytes.Buffer
		if _, err := WriteEDL(&list, c, EDLOptions{}); err != nil {
			t.Fatal(err)
		}
		one, _, err := ReadEDL(&list, "x.edl", c.Base)
		if err != nil {
			t.Fatal(err)
		}
		if err := WriteOTIO(&doc, one); err != nil {
			t.Fatal(err)
		}
		two, _, err := ReadOTIO(&doc, "x.otio")
		if err != nil {
			t.Fatal(err)
		}
		sameCut(t, two, c)
	})
}

func TestFileURL(t *testing.T) {
	cases := []struct{ path, want string }{
		{"/film/a b.wav", "file:///film/a%20b.wav"},
		{"/film/50%#1?.wav", "file:///film/50%25%231%3F.wav"},
		{"/film/é.wav", "file:///film/%C3%A9.wav"},
		{"C:/film/a.wav", "file:///C:/film/a.wav"},
		{"audio/a b.wav", "audio/a%20b.wav"},
		{"a:b.wav", "./a:b.wav"},
	}
	for _, c := range cases {
		got := fileURL(c.path)
		if got != c.want {
			t.Errorf("%s: got %s, want %s", c.path, got, c.want)
		}
		if back := filePath(got); back != c.path {
			t.Errorf("%s: came back as %s", c.path, back)
		}
	}
	if got := filePath("https://example.org/a.wav"); got != "" {
		t.Errorf("a web address is no file: got %q", got)
	}
}
