package subtitles

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// laid is a cut at 25 frames/s of pieces "REEL in out", end to end.
func laid(t *testing.T, pieces ...string) story.Cut {
	t.Helper()
	c := story.Cut{Base: timecode.Base{Rate: timecode.Rate25}}
	var at timecode.Ticks
	for _, p := range pieces {
		var reel string
		var in, out float64
		if _, err := fmt.Sscanf(p, "%s %g %g", &reel, &in, &out); err != nil {
			t.Fatalf("%q: %v", p, err)
		}
		s := span(in, out)
		c.Events = append(c.Events, story.Event{Reel: reel, Text: "said", Code: "KRTWHC", Source: s, Record: timecode.Span{In: at, Out: at + s.Length()}})
		at += s.Length()
	}
	return c
}

// The film's first cut has Ines (D2-INT2 10-14 and 40-43 s) and Wilf (D1-WILF
// 5-7 s); its subtitles are German, so that no draft could make them again.
func TestFollow(t *testing.T) {
	old := []string{"D2-INT2 10 14", "D1-WILF 5 7", "D2-INT2 40 43"}
	doc := &timedtext.Document{Cues: []timedtext.Cue{
		cue(0, 1.92, "Du läutest,"), cue(2, 3.92, "und jemand kommt."), cue(4, 5.92, "Ich läute immer noch."), cue(6, 8.8, "Eine Brücke läutet keiner."),
	}}
	for _, c := range []struct {
		name  string
		cut   []string
		want  string // in-out and first letter of each cue
		notes []string
	}{
		{"the same cut", old, "0-1.92 D|2-3.92 u|4-5.92 I|6-8.8 E", nil},
		{"other order", []string{"D2-INT2 40 43", "D1-WILF 5 7", "D2-INT2 10 14"}, "0-2.8 E|3-4.92 I|5-6.92 D|7-8.92 u", nil},
		{
			"a piece dropped",
			[]string{"D2-INT2 10 14", "D2-INT2 40 43"},
			"0-1.92 D|2-3.92 u|4-6.8 E",
			[]string{"cue 3 at 00:00:04.000 (Ich läute immer noch.): left out, its talk isn't in the new cut"},
		},
		{
			"trimmed by half a second",
			[]string{"D2-INT2 10.52 14", "D2-INT2 40 43"},
			"0-1.4 D|1.48-3.4 u|3.48-6.28 E",
			[]string{
				"cue 1 at 00:00:00.000 (Du läutest,): 0.5 s of it is cut away, its words are whole",
				"cue 3 at 00:00:04.000 (Ich läute immer noch.): left out, its talk isn't in the new cut",
			},
		},
		{"longer handles of talk", []string{"D2-INT2 9 15", "D1-WILF 4 8", "D2-INT2 40 44"}, "1-2.92 D|3-4.92 u|7-8.92 I|10-12.8 E", nil},
		{"said twice", []string{"D1-WILF 5 7", "D2-INT2 10 14", "D1-WILF 5 7", "D2-INT2 40 43"}, "0-1.92 I|2-3.92 D|4-5.92 u|6-7.92 I|8-10.8 E", nil},
		{
			"something new",
			[]string{"D2-INT2 10 14", "D1-WILF 5 7", "D2-WALK 1 3", "D2-INT2 40 43"},
			"0-1.92 D|2-3.92 u|4-5.92 I|8-10.8 E",
			[]string{"no subtitles at 00:00:06.000, KRTWHC of D2-WALK: said"},
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, notes := Follow(doc, laid(t, old...), laid(t, c.cut...), 2)
			var list []string
			for _, q := range got.Cues {
				list = append(list, fmt.Sprintf("%g-%g %c", q.In.Seconds(), q.Out.Seconds(), q.Lines[0][0].Text[0]))
			}
			if s := strings.Join(list, "|"); s != c.want {
				t.Errorf("got  %s\nwant %s", s, c.want)
			}
			if s := strings.Join(notes, "\n"); s != strings.Join(c.notes, "\n") {
				t.Errorf("notes %s\nwant  %s", s, strings.Join(c.notes, "\n"))
			}
		})
	}
	if doc.Cues[3].Span != span(6, 8.8) {
		t.Error("the document that was given has changed")
	}
}

// A list at another rate has other frames: the cues lie on those.
func TestFollowOtherRate(t *testing.T) {
	cut := story.Cut{Base: timecode.Base{Rate: timecode.Rate23976}, Events: []story.Event{{
		Reel: "D2-INT2", Source: timecode.Span{In: secs(10), Out: secs(10) + timecode.Rate23976.Ticks(96)}, Record: timecode.Span{Out: timecode.Rate23976.Ticks(96)},
	}}}
	doc := &timedtext.Document{Cues: []timedtext.Cue{cue(0.08, 1.92, "Du läutest."), cue(2, 3.92, "Und jemand kommt.")}}
	got, notes := Follow(doc, laid(t, "D2-INT2 10 14"), cut, 2)
	if len(got.Cues) != 2 || len(notes) > 0 {
		t.Fatalf("%d cues, notes %v", len(got.Cues), notes)
	}
	for i, want := range [][2]int64{{2, 46}, {48, 94}} { // 0.08 s x 23.976 = 1.92 …
		s := timecode.Span{In: timecode.Rate23976.Ticks(want[0]), Out: timecode.Rate23976.Ticks(want[1])}
		if got.Cues[i].Span != s {
			t.Errorf("cue %d: got %s, want %s", i+1, got.Cues[i].Span, s)
		}
	}
}

// Pieces of one length in any order, there and back again, change nothing.
func TestFollowThereAndBack(t *testing.T) {
	pieces := []string{"A 0 3", "B 2 5", "A 7 10", "C 1 4", "B 9 12"}
	doc := &timedtext.Document{Cues: []timedtext.Cue{
		cue(0, 1.4, "a"), cue(1.48, 2.92, "b"), cue(3, 5.92, "c"), cue(6.4, 8.92, "d"), cue(9, 11.92, "e"), cue(12.2, 14.92, "f"),
	}}
	rapid.Check(t, func(r *rapid.T) {
		order := rapid.Permutation(pieces).Draw(r, "order")
		there, notes := Follow(doc, laid(t, pieces...), laid(t, order...), 2)
		back, more := Follow(there, laid(t, order...), laid(t, pieces...), 2)
		if len(notes)+len(more) > 0 || len(back.Cues) != len(doc.Cues) {
			t.Fatalf("%d cues, notes %v %v", len(back.Cues), notes, more)
		}
		for i, c := range back.Cues {
			if c.Span != doc.Cues[i].Span || c.Lines[0][0].Text != doc.Cues[i].Lines[0][0].Text {
				t.Errorf("cue %d: got %s %v, want %s %v", i+1, c.Span, c.Lines, doc.Cues[i].Span, doc.Cues[i].Lines)
			}
		}
	})
}
