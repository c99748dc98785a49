package selects_test

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/interchange"
	"rushlight/pkg/selects"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

const second = timecode.Second

// shoot is two reels of 60 s at 25 frames/s, D1-INT1 from 10:00:00:00 and
// D1-INTERVIEW from 23:59:40:00, with a saying of 2 s each 3 s, and a camera,
// CAM, that began 5 s before D1-INT1.
func shoot(rate string) selects.Known {
	base, err := timecode.ParseBase(rate)
	if err != nil {
		panic(err)
	}
	recs := []story.Recording{
		{Reel: "D1-INT1", Path: "/rushes/day 1/D1-INT1.wav", Tape: "CARD7", Duration: 60 * second, Channels: 1, Clock: timecode.Clock{Base: base, Start: base.Rate.Ticks(10 * 3600 * base.Rate.Nominal())}},
		{Reel: "D1-INTERVIEW", Path: "/rushes/day 1/T0042.wav", Duration: 60 * second, Channels: 2, Clock: timecode.Clock{Base: base, Start: base.Rate.Ticks(base.FramesPerDay()) - 20*second}},
		{Reel: "CAM", Path: "/rushes/day 1/CLIP1.mov", Duration: 40 * second, Channels: 2, Clock: timecode.Clock{Base: base}},
	}
	var all []story.Quote
	for r, reel := range []string{"D1-INT1", "D1-INTERVIEW"} {
		for i := range 19 {
			in := timecode.Ticks(3*i+1)*second + second/7
			all = append(all, story.Quote{
				Code: story.NewCode(reel, in, func(story.Code) bool { return false }), Reel: reel, Order: i, Text: fmt.Sprintf("Saying %d.", i),
				Span: timecode.Span{In: in, Out: in + 2*second}, Clock: recs[r].Clock,
			})
		}
	}
	return selects.Known{
		Recordings: recs,
		Syncs:      []story.Sync{{Picture: "CAM", Sound: "D1-INT1", Offset: -5 * second, Confidence: 990, By: story.SyncBySound}},
		ShortReel:  interchange.ShortReel,
		Quotes: func(reel string) ([]story.Quote, error) {
			return slices.DeleteFunc(slices.Clone(all), func(q story.Quote) bool { return q.Reel != reel }), nil
		},
		Quote: func(code story.Code) (story.Quote, bool, error) {
			i := slices.IndexFunc(all, func(q story.Quote) bool { return q.Code == code })
			return all[max(i, 0)], i >= 0, nil
		},
	}
}

// list reads events "reel track source-in source-out record-in record-out" as
// a list at 25, with further lines after them.
func list(t *testing.T, lines ...string) story.Cut {
	t.Helper()
	n := 0
	for i, l := range lines {
		if !strings.HasPrefix(l, "*") {
			n++
			f := strings.Fields(l)
			lines[i] = fmt.Sprintf("%03d %s %s C %s", n, f[0], f[1], strings.Join(f[2:], " "))
		}
	}
	c, _, err := interchange.ReadEDL(strings.NewReader(strings.Join(lines, "\n")), "cut.edl", timecode.Base{Rate: timecode.Rate25})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// said prints items as "reel in-out trimmed", with the label of in and out.
func said(r selects.CutRead) string {
	var out []string
	for _, it := range r.Items {
		s := fmt.Sprintf("%s %s-%s", it.Reel, it.Clock.In(it.In).Timecode, it.Clock.Out(it.Out).Timecode)
		if it.Trimmed {
			s += " trimmed"
		}
		out = append(out, s)
	}
	for _, m := range r.Missed {
		out = append(out, m.String())
	}
	return strings.Join(out, "\n")
}

// TestReadCut holds what is read in lists as other programs write them. Sayings
// lie at 1:03 to 3:04, 4:03 to 6:04 and so on (seconds and frames; 1/7 s is 3.6
// frames).
func TestReadCut(t *testing.T) {
	for _, c := range []struct {
		name  string
		lines []string
		want  string
	}{
		{"a saying with air around it", []string{"D1-INT1 A 10:00:00:20 10:00:03:15 01:00:00:00 01:00:02:20"}, "D1-INT1 10:00:01:03-10:00:03:04"},
		{"cut into", []string{"D1-INT1 A 10:00:01:10 10:00:03:00 01:00:00:00 01:00:01:15"}, "D1-INT1 10:00:01:10-10:00:03:00 trimmed"},
		{"the end of one and all of the next", []string{"D1-INT1 A 10:00:02:04 10:00:06:10 01:00:00:00 01:00:04:06"}, "D1-INT1 10:00:02:04-10:00:03:04 trimmed\nD1-INT1 10:00:04:03-10:00:06:04"},
		{"a short piece out of one", []string{"D1-INT1 A 10:00:01:10 10:00:01:15 01:00:00:00 01:00:00:05"}, "D1-INT1 10:00:01:10-10:00:01:15 trimmed"},
		{"the breath before the next", []string{"D1-INT1 A 10:00:01:03 10:00:04:10 01:00:00:00 01:00:03:07"}, "D1-INT1 10:00:01:03-10:00:03:04"},
		{"a name of 8 letters", []string{"D1INTERV AA 00:00:02:18 00:00:05:00 01:00:00:00 01:00:02:07"}, "D1-INTERVIEW 00:00:02:18-00:00:04:04 trimmed"},
		{"a file's name", []string{"AX AA 00:00:02:00 00:00:05:00 01:00:00:00 01:00:03:00", "* FROM CLIP NAME: T0042.WAV"}, "D1-INTERVIEW 00:00:02:03-00:00:04:04"},
		{"another kind of file", []string{"AX AA 00:00:02:00 00:00:05:00 01:00:00:00 01:00:03:00", "* FROM CLIP NAME: t0042.mp3"}, "D1-INTERVIEW 00:00:02:03-00:00:04:04"},
		{"a part of a clip", []string{"AX A 10:00:00:20 10:00:03:15 01:00:00:00 01:00:02:20", "* FROM CLIP NAME: D1-INT1.wav.part.02"}, "D1-INT1 10:00:01:03-10:00:03:04"},
		{"a name that goes on", []string{"D1-INT10 A 10:00:00:20 10:00:03:15 01:00:00:00 01:00:02:20"}, "event 1 at 01:00:00:00: reel D1-INT10 is not in the bank"},
		{"the tape", []string{"CARD7 A 10:00:00:20 10:00:03:15 01:00:00:00 01:00:02:20"}, "D1-INT1 10:00:01:03-10:00:03:04"},
		{"counted from the file's beginning", []string{"D1-INT1 A 00:00:00:20 00:00:03:15 01:00:00:00 01:00:02:20"}, "D1-INT1 10:00:01:03-10:00:03:04"},
		{"picture alone", []string{"CAM V 00:00:06:03 00:00:08:04 01:00:00:00 01:00:02:01"}, "D1-INT1 10:00:01:03-10:00:03:04"},
		{"picture and sound", []string{"CAM V 00:00:06:03 00:00:08:04 01:00:00:00 01:00:02:01", "D1-INT1 A 10:00:01:03 10:00:03:04 01:00:00:00 01:00:02:01"}, "D1-INT1 10:00:01:03-10:00:03:04"},
		{"picture that begins earlier", []string{"CAM V 00:00:05:03 00:00:08:04 01:00:00:00 01:00:03:01", "D1-INT1 A 10:00:01:03 10:00:03:04 01:00:01:00 01:00:03:01"}, "D1-INT1 10:00:01:03-10:00:03:04"},
		{"two channels", []string{"D1-INT1 A 10:00:01:03 10:00:03:04 01:00:00:00 01:00:02:01", "D1-INT1 A2 10:00:01:03 10:00:03:04 01:00:00:00 01:00:02:01"}, "D1-INT1 10:00:01:03-10:00:03:04"},
		{"picture over other sound", []string{"CAM V 00:00:06:03 00:00:08:04 01:00:00:00 01:00:02:01", "D1INTERV A 00:00:02:03 00:00:04:04 01:00:00:00 01:00:02:01"}, "D1-INTERVIEW 00:00:02:03-00:00:04:04\nevent 1 at 01:00:00:00: picture only: other sound is heard under it"},
		{"picture with sound of an unknown name", []string{"CAM V 00:00:06:03 00:00:08:04 01:00:00:00 01:00:02:01", "MIX AA 00:00:00:00 00:00:02:01 01:00:00:00 01:00:02:01"}, "D1-INT1 10:00:01:03-10:00:03:04\nevent 2 at 01:00:00:00: reel MIX is not in the bank"},
		{"twice", []string{"D1-INT1 A 10:00:01:03 10:00:03:04 01:00:00:00 01:00:02:01", "D1-INT1 A 10:00:01:03 10:00:03:04 01:00:02:01 01:00:04:02"}, "D1-INT1 10:00:01:03-10:00:03:04\nD1-INT1 10:00:01:03-10:00:03:04"},
		{"in the order of the timeline", []string{"D1-INT1 A 10:00:04:03 10:00:06:04 01:00:05:00 01:00:07:01", "D1-INT1 A 10:00:01:03 10:00:03:04 01:00:00:00 01:00:02:01"}, "D1-INT1 10:00:01:03-10:00:03:04\nD1-INT1 10:00:04:03-10:00:06:04"},
		{"a gap", []string{"BL A 00:00:00:00 00:00:01:00 01:00:00:00 01:00:01:00", "D1-INT1 A 10:00:01:03 10:00:03:04 01:00:01:00 01:00:03:01"}, "D1-INT1 10:00:01:03-10:00:03:04"},
		{"unknown reel", []string{"A001 AA 10:00:01:03 10:00:03:04 01:00:00:00 01:00:02:01"}, "event 1 at 01:00:00:00: reel A001 is not in the bank"},
		{"several that aren't", []string{"D1-INT1 A 10:00:03:08 10:00:04:00 01:00:00:00 01:00:00:17", "A001 AA 10:00:01:03 10:00:03:04 01:00:00:17 01:00:02:18"}, "event 1 at 01:00:00:00: nothing is said at 10:00:03:08 of D1-INT1\nevent 2 at 01:00:00:17: reel A001 is not in the bank"},
		{"outside", []string{"D1-INT1 A 11:00:01:03 11:00:03:04 01:00:00:00 01:00:02:01"}, "event 1 at 01:00:00:00: its times, from 11:00:01:03, lie outside D1-INT1"},
		{"between two sayings", []string{"D1-INT1 A 10:00:03:08 10:00:04:00 01:00:00:00 01:00:00:17"}, "event 1 at 01:00:00:00: nothing is said at 10:00:03:08 of D1-INT1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := selects.ReadCut(list(t, c.lines...), shoot("25"))
			if err != nil {
				t.Fatal(err)
			}
			if said(got) != c.want {
				t.Errorf("got\n%s\nwant\n%s", said(got), c.want)
			}
		})
	}
}

// TestReadCutNotSure: where two recordings have equal claims nothing is guessed.
func TestReadCutNotSure(t *testing.T) {
	known := shoot("25")
	other := known.Recordings[0]
	other.Reel, other.Path = "D9-INT1", "/rushes/day 9/D9-INT1.wav"
	known.Recordings = append(known.Recordings, other)
	got, err := selects.ReadCut(list(t, "CARD7 A 10:00:01:03 10:00:03:04 01:00:00:00 01:00:02:01"), known)
	if want := "event 1 at 01:00:00:00: CARD7 may be D1-INT1 or D9-INT1"; said(got) != want || err != nil {
		t.Errorf("got %s, %v, want %s", said(got), err, want)
	}
	got, err = selects.ReadCut(list(t, "D1-INT1_part A 10:00:01:03 10:00:03:04 01:00:00:00 01:00:02:01"), known)
	if notes := strings.Join(got.Notes, "\n"); len(got.Items) != 1 || notes != "event 1 at 01:00:00:00: taken to be of D1-INT1, since its name begins so" || err != nil {
		t.Errorf("got %s, notes %q, %v", said(got), notes, err)
	}
}

// TestReadCutMovedEdges: an event of ours whose edges somebody moved is what it
// is now; the marker over the words tells how much of it is handles.
func TestReadCutMovedEdges(t *testing.T) {
	known := shoot("25")
	quotes, _ := known.Quotes("D1-INT1")
	code := string(quotes[0].Code)
	comments := []string{"* CODE: " + code, "* HANDLES: 10 10", "* LOC: 01:00:00:10 GREEN   " + code}
	for _, c := range []struct{ name, event, marker, want string }{
		{"as it was", "D1-INT1 A 10:00:00:18 10:00:03:14 01:00:00:00 01:00:02:21", "01:00:00:10", "D1-INT1 10:00:01:03-10:00:03:04"},
		{"head into the handle", "D1-INT1 A 10:00:00:23 10:00:03:14 01:00:00:00 01:00:02:16", "01:00:00:05", "D1-INT1 10:00:01:03-10:00:03:04"},
		{"longer by a neighbour", "D1-INT1 A 10:00:00:18 10:00:06:14 01:00:00:00 01:00:05:21", "01:00:00:10", "D1-INT1 10:00:01:03-10:00:03:04\nD1-INT1 10:00:04:03-10:00:06:04"},
		{"slipped to other words", "D1-INT1 A 10:00:30:18 10:00:33:14 01:00:00:00 01:00:02:21", "01:00:00:10", "D1-INT1 10:00:31:03-10:00:33:04"},
	} {
		comments[2] = "* LOC: " + c.marker + " GREEN   " + code
		got, err := selects.ReadCut(list(t, append([]string{c.event}, comments...)...), known)
		if said(got) != c.want || err != nil {
			t.Errorf("%s: got\n%s, %v, want\n%s", c.name, said(got), err, c.want)
		}
	}
}

// TestCutRoundTrip: selects that were laid out, written, read and read back are
// the selects they were, to the frame, in every form and time base, with
// handles and trims in either direction; also where nobody remembers them.
func TestCutRoundTrip(t *testing.T) {
	for _, rate := range []string{"25", "23.976", "29.97", "29.97df", "50"} {
		t.Run(rate, func(t *testing.T) {
			known := shoot(rate)
			recs := map[string]story.Recording{}
			var quotes []story.Quote
			for _, r := range known.Recordings {
				recs[r.Reel] = r
				list, _ := known.Quotes(r.Reel)
				quotes = append(quotes, list...)
			}
			rapid.Check(t, func(t *rapid.T) {
				s := story.Selects{Name: "cut"}
				for range rapid.IntRange(1, 6).Draw(t, "items") {
					q := rapid.SampledFrom(quotes).Draw(t, "quote")
					it := story.Item{Code: q.Code, Reel: q.Reel, Span: q.Span, Clock: q.Clock}
					if it.Trimmed = rapid.Bool().Draw(t, "trimmed"); it.Trimmed {
						it.In += timecode.Ticks(rapid.Int64Range(-int64(second)/2, int64(second)*9/10).Draw(t, "in"))
						it.Out += timecode.Ticks(rapid.Int64Range(-int64(second)*9/10, int64(second)/2).Draw(t, "out"))
					}
					s.Items = append(s.Items, it)
				}
				handles := timecode.Ticks(rapid.Int64Range(0, int64(second)).Draw(t, "handles"))
				base := known.Recordings[0].Clock.Base
				cut, _, err := selects.Lay(s, recs, selects.LayOptions{Base: base, Handles: handles})
				if err != nil {
					t.Fatal(err)
				}
				known.Items = nil
				if rapid.Bool().Draw(t, "remembered") {
					known.Items = s.Items
				}
				for _, form := range []string{"edl", "otio"} {
					got, err := selects.ReadCut(through(t, form, cut), known)
					if err != nil || len(got.Missed) > 0 || len(got.Items) != len(s.Items) {
						t.Fatalf("%s: %d items of %d, missed %v, %v", form, len(got.Items), len(s.Items), got.Missed, err)
					}
					for i, it := range got.Items {
						want := s.Items[i]
						if it.Code != want.Code || frames(it) != frames(want) {
							t.Errorf("%s, item %d: got %s %s, want %s %s", form, i+1, it.Code, frames(it), want.Code, frames(want))
						}
						if it.Trimmed && !want.Trimmed {
							t.Errorf("%s, item %d is trimmed", form, i+1)
						}
					}
				}
			})
		})
	}
}

// frames are an item's in and out in whole frames, as they stand in a cut.
func frames(it story.Item) string {
	return it.Clock.Timecode(it.In, timecode.Floor) + " " + it.Clock.Timecode(it.Out, timecode.Ceil)
}

// through writes a cut in a form and reads it.
func through(t *rapid.T, form string, c story.Cut) story.Cut {
	var b bytes.Buffer
	var err error
	if form == "edl" {
		_, err = interchange.WriteEDL(&b, c, interchange.EDLOptions{})
	} else {
		err = interchange.WriteOTIO(&b, c)
	}
	if err != nil {
		t.Fatal(err)
	}
	if form == "edl" {
		c, _, err = interchange.ReadEDL(&b, "cut.edl", timecode.Base{})
	} else {
		c, _, err = interchange.ReadOTIO(&b, "cut.otio")
	}
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// FuzzReadCut: whatever reads as a cut gives items that can be stored: of the
// recording that they name, in after nothing, out after in, inside the recording.
func FuzzReadCut(f *testing.F) {
	known := shoot("25")
	for _, pattern := range []string{"*.edl", "*.otio"} {
		files, err := filepath.Glob(filepath.Join("..", "interchange", "testdata", pattern))
		if err != nil {
			f.Fatal(err)
		}
		for _, file := range files {
			data, err := os.ReadFile(file)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(string(data))
			f.Add(strings.NewReplacer("D1-WILF", "D1-INT1", "D1WILF", "D1INT1", "D2-INT2", "CAM", "D2INT2", "CAM").Replace(string(data)))
		}
	}
	f.Add("1 D1-INT1 A C 10:00:00:20 10:00:03:15 01:00:00:00 01:00:02:20\n* CODE: " + string(mustQuote(known).Code) + "\n* HANDLES: 10 10")
	f.Fuzz(func(t *testing.T, data string) {
		for _, read := range []func() (story.Cut, []string, error){
			func() (story.Cut, []string, error) {
				return interchange.ReadEDL(strings.NewReader(data), "x.edl", timecode.Base{Rate: timecode.Rate25})
			},
			func() (story.Cut, []string, error) { return interchange.ReadOTIO(strings.NewReader(data), "x.otio") },
		} {
			cut, _, err := read()
			if err != nil {
				continue
			}
			got, err := selects.ReadCut(cut, known)
			if err != nil {
				t.Fatal(err)
			}
			for _, it := range got.Items {
				if it.Empty() || it.In < 0 || it.Out > 60*second {
					t.Errorf("item %s of %s lies at %s", it.Code, it.Reel, it.Span)
				}
			}
		}
	})
}

func mustQuote(known selects.Known) story.Quote {
	list, err := known.Quotes("D1-INT1")
	if err != nil {
		panic(err)
	}
	return list[0]
}

// TestReadCutPublished: one published cut, as a list and as the document that
// the OpenTimelineIO project's adapter made of it, is the same sayings. Its
// shots are given talk of a second each, from 01:00:00:00 on.
func TestReadCutPublished(t *testing.T) {
	dir := os.Getenv("RUSHLIGHT_CORPORA")
	if dir == "" {
		dir = filepath.Join("..", "..", "..", "shared", "corpora")
	}
	base := timecode.Base{Rate: timecode.Rate24}
	read := func(name string) story.Cut {
		f, err := os.Open(filepath.Join(dir, name))
		if err != nil {
			t.Skip("no published cut: see docs/outside-data.md")
		}
		defer f.Close()
		var c story.Cut
		if strings.HasSuffix(name, ".edl") {
			c, _, err = interchange.ReadEDL(f, name, base)
		} else {
			c, _, err = interchange.ReadOTIO(f, name)
		}
		if err != nil {
			t.Fatal(err)
		}
		return c
	}
	list := read("edl/no_spaces_test.edl")
	known := selects.Known{
		ShortReel: interchange.ShortReel,
		Quote:     func(story.Code) (story.Quote, bool, error) { return story.Quote{}, false, nil },
		Quotes: func(reel string) ([]story.Quote, error) {
			var all []story.Quote
			for i := range 60 {
				in := timecode.Ticks(i) * second
				all = append(all, story.Quote{Code: story.NewCode(reel, in, func(story.Code) bool { return false }), Reel: reel, Span: timecode.Span{In: in, Out: in + second}, Clock: timecode.Clock{Base: base, Start: 3600 * second}})
			}
			return all, nil
		},
	}
	for _, e := range list.Events {
		known.Recordings = append(known.Recordings, story.Recording{Reel: strings.TrimSuffix(e.Path, filepath.Ext(e.Path)), Duration: 60 * second, Clock: timecode.Clock{Base: base, Start: 3600 * second}})
	}
	a, err := selects.ReadCut(list, known)
	if err != nil {
		t.Fatal(err)
	}
	b, err := selects.ReadCut(read("otio/screening_example.otio"), known)
	if err != nil || said(a) != said(b) {
		t.Errorf("the list is\n%s\nthe document, %v,\n%s", said(a), err, said(b))
	}
	// The first two events, 01:00:04:05 to 01:00:05:12 of one shot and
	// 01:00:06:13 to 01:00:08:15 of another, by hand: of the second's first
	// saying 11 of 24 frames lie in it, less than half.
	want := `ZZ100_501.LAY3 01:00:04:05-01:00:05:00 trimmed
ZZ100_501.LAY3 01:00:05:00-01:00:05:12 trimmed
ZZ100_502A.LAY3 01:00:07:00-01:00:08:00
ZZ100_502A.LAY3 01:00:08:00-01:00:08:15 trimmed
`
	if !strings.HasPrefix(said(a), want) || len(a.Missed) > 0 || a.Events != 9 {
		t.Errorf("%d events, %d missed:\n%s\nwant it to begin\n%s", a.Events, len(a.Missed), said(a), want)
	}
}
