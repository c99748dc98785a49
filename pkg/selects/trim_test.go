package selects

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func TestTrim(t *testing.T) {
	const dur = 60 * sec
	frame := timecode.Rate25.Ticks(1)
	// Item 2 runs from 0:40 to 0:47 of a recording that starts at 10:00:00:00.
	cases := []struct {
		name, in, out string
		want          timecode.Span
		fail          string
	}{
		{"nothing", "", "", timecode.Span{In: 40 * sec, Out: 47 * sec}, ""},
		{"in later by half a second", "+0.5", "", timecode.Span{In: 40*sec + sec/2, Out: 47 * sec}, ""},
		{"in earlier by frames", "-12f", "", timecode.Span{In: 40*sec - 12*frame, Out: 47 * sec}, ""},
		{"out later", "", "+1", timecode.Span{In: 40 * sec, Out: 48 * sec}, ""},
		{"a printed minus", "", "−1f", timecode.Span{In: 40 * sec, Out: 47*sec - frame}, ""},
		{"in at timecode", "10:00:41:05", "", timecode.Span{In: 41*sec + 5*frame, Out: 47 * sec}, ""},
		{"out at clock time", "", "0:45.4", timecode.Span{In: 40 * sec, Out: 45*sec + 4*sec/10}, ""},
		{"out at seconds", "", "45.4s", timecode.Span{In: 40 * sec, Out: 45*sec + 4*sec/10}, ""},
		{"both", "+1", "-1", timecode.Span{In: 41 * sec, Out: 46 * sec}, ""},
		{"out to the very end", "", "1:00", timecode.Span{In: 40 * sec, Out: dur}, ""},
		{"in to the very start", "10:00:00:00", "", timecode.Span{Out: 47 * sec}, ""},
		{"out past the end", "", "+20", timecode.Span{}, "ends at 10:01:00:00"},
		{"in before the start", "-41", "", timecode.Span{}, "starts at 10:00:00:00"},
		{"in at a timecode before the start", "09:59:00:00", "", timecode.Span{}, "in at 09:59:00:00"},
		{"in at out", "+7", "", timecode.Span{}, "not after"},
		{"in past out", "10:00:50:00", "", timecode.Span{}, "not after"},
		{"timecode with frame 25", "10:00:41:25", "", timecode.Span{}, "want 0 to 24"},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			s := list(t)
			in, err := ParseEdge(c.in)
			if err != nil {
				t.Fatal(err)
			}
			out, err := ParseEdge(c.out)
			if err != nil {
				t.Fatal(err)
			}
			got, err := Trim(s, 2, in, out, dur)
			if (timecode.Span{In: 40 * sec, Out: 47 * sec}) != s.Items[1].Span {
				t.Error("the list that was given has changed")
			}
			if c.fail != "" {
				if !errors.Is(err, ErrTrim) || !strings.Contains(err.Error(), c.fail) {
					t.Errorf("got error %v, want ErrTrim with %q", err, c.fail)
				}
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if got.Items[1].Span != c.want {
				t.Errorf("got %s, want %s", got.Items[1].Span, c.want)
			}
			if moved := c.in+c.out != ""; got.Items[1].Trimmed != moved {
				t.Errorf("Trimmed: got %v, want %v", got.Items[1].Trimmed, moved)
			}
		})
	}
}

func TestParseEdgeErrors(t *testing.T) {
	for _, text := range []string{
		"x", "12f", "+1.5f", "+99999999999999f", "+10:00:00:00", "-10:00:00:00", "1:75", "+", "-", "f", "+f", "1:2:3:4:5",
	} {
		if got, err := ParseEdge(text); !errors.Is(err, ErrTrim) {
			t.Errorf("%q: got %+v, %v, want ErrTrim", text, got, err)
		}
	}
}

func TestTrimFramesNeedARate(t *testing.T) {
	s := list(t)
	s.Items[0].Clock = timecode.Clock{}
	in, err := ParseEdge("+1f")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Trim(s, 1, in, Edge{}, 0); !errors.Is(err, ErrTrim) || !strings.Contains(err.Error(), "use seconds") {
		t.Errorf("got %v", err)
	}
}

// Drop-frame: 00:01:00;00 does not exist, one frame after 00:00:59;29 is
// 00:01:00;02 (SMPTE ST 12-1, see pkg/timecode).
func TestTrimDropFrame(t *testing.T) {
	s := list(t)
	s.Items[1].Clock = timecode.Clock{Base: timecode.Base{Rate: timecode.Rate2997, Drop: true}}
	at := func(text string) Edge {
		e, err := ParseEdge(text)
		if err != nil {
			t.Fatal(err)
		}
		return e
	}
	if _, err := Trim(s, 2, Edge{}, at("00:01:00;00"), 0); !errors.Is(err, timecode.ErrTimecode) {
		t.Errorf("got %v, want ErrTimecode", err)
	}
	a, err := Trim(s, 2, Edge{}, at("00:00:59;29"), 0)
	if err != nil {
		t.Fatal(err)
	}
	a, err = Trim(a, 2, Edge{}, at("+1f"), 0)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Trim(s, 2, Edge{}, at("00:01:00;02"), 0)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := a.Items[1].Out, b.Items[1].Out; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

func TestUntrim(t *testing.T) {
	s := list(t)
	in, _ := ParseEdge("+1")
	trimmed, err := Trim(s, 1, in, Edge{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	back, err := Untrim(trimmed, 1, three()[0])
	if err != nil {
		t.Fatal(err)
	}
	if got, want := back.Items[0], s.Items[0]; got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if _, err := Untrim(trimmed, 1, three()[1]); !errors.Is(err, ErrTrim) {
		t.Errorf("another quote: got %v, want ErrTrim", err)
	}
	if _, err := Untrim(trimmed, 4, three()[1]); !errors.Is(err, ErrPosition) {
		t.Errorf("no item: got %v, want ErrPosition", err)
	}
}

// Trimming by d and by −d gives the old edge, and the running time changes by
// exactly the frames that were trimmed.
func TestTrimProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s, err := Add(story.Selects{Name: "opening"}, three(), 0)
		if err != nil {
			t.Fatal(err)
		}
		ms := 40 * rapid.Int64Range(-22, 22).Draw(t, "frames")
		there, back := Edge{kind: byTicks, ticks: timecode.FromMillis(ms)}, Edge{kind: byTicks, ticks: timecode.FromMillis(-ms)}
		pos := rapid.IntRange(1, 3).Draw(t, "pos")
		a, err := Trim(s, pos, there, Edge{}, 0)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := FitOf(a).Running, FitOf(s).Running-timecode.FromMillis(ms); got != want {
			t.Fatalf("running time: got %s, want %s", got, want)
		}
		b, err := Trim(a, pos, back, Edge{}, 0)
		if err != nil {
			t.Fatal(err)
		}
		if b.Items[pos-1].Span != s.Items[pos-1].Span {
			t.Fatalf("got %s, want %s", b.Items[pos-1].Span, s.Items[pos-1].Span)
		}
	})
}

func FuzzParseEdge(f *testing.F) {
	for _, s := range []string{"", "+0.5", "-12f", "10:00:12:05", "1:23.4", "83.4s", "−1", "10:00:00;02"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		e, err := ParseEdge(text)
		if err != nil {
			if !errors.Is(err, ErrTrim) {
				t.Fatalf("%q: %v does not wrap ErrTrim", text, err)
			}
			return
		}
		s, err := Add(story.Selects{}, three(), 0)
		if err != nil {
			t.Fatal(err)
		}
		got, err := Trim(s, 1, e, Edge{}, 60*sec)
		if it := got.Items[0]; err == nil && (it.In < 0 || it.Empty() || it.Out > 60*sec) {
			t.Fatalf("%q: trimmed to %s", text, it.Span)
		}
	})
}
