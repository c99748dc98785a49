package subtitles

import (
	"strings"
	"testing"

	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

func cue(in, out float64, lines ...string) timedtext.Cue {
	return timedtext.Cue{Span: span(in, out), Lines: timedtext.Text(lines...)}
}

func TestCheckRules(t *testing.T) {
	italic := timedtext.Cue{Span: span(0, 2), Lines: []timedtext.Line{{{Text: "the b"}, {Text: "ell", Style: timedtext.Style{Italic: true}}}}}
	open := cue(0, 2, "The bell.")
	open.Out = timedtext.NoTime
	for _, c := range []struct {
		name     string
		cues     []timedtext.Cue
		rule     string
		severity Severity
		what     string
	}{
		{"41 characters", []timedtext.Cue{cue(0, 3, strings.Repeat("x", 41))}, RuleLineLength, Warning, "41 characters, want at most 40 (Karamitroglou 1998)"},
		{"three lines", []timedtext.Cue{cue(0, 3, "a", "b", "c")}, RuleLines, Warning, "3 lines, want at most 2"},
		{"0.96 s", []timedtext.Cue{cue(0, 0.96, "No.")}, RuleMinDuration, Warning, "0.96 s, want at least 1.00"},
		{"7.04 s", []timedtext.Cue{cue(0, 7.04, "No.")}, RuleMaxDuration, Warning, "7.04 s, want at most 7.00"},
		{"18 characters in 1 s", []timedtext.Cue{cue(0, 1, "eighteen letters..")}, RuleSpeed, Warning, "want at most 17"},
		{"four words in 1 s", []timedtext.Cue{cue(0, 1, "I go to it")}, RuleWordSpeed, Warning, "240 words/min, want at most 200"},
		{"one frame", []timedtext.Cue{cue(0, 2, "The bell."), cue(2.04, 4, "It rang.")}, RuleGap, Warning, "1 frame after cue 1, want at least 2"},
		{"no gap", []timedtext.Cue{cue(0, 2, "The bell."), cue(2, 4, "It rang.")}, RuleGap, Warning, "0 frames after cue 1"},
		{"overlap", []timedtext.Cue{cue(0, 2, "The bell."), cue(1.6, 4, "It rang.")}, RuleOverlap, Warning, "0.40 s before cue 1 goes out"},
		{"no text", []timedtext.Cue{cue(0, 2, " ")}, RuleEmpty, Wrong, "no text"},
		{"no lines", []timedtext.Cue{cue(0, 2)}, RuleEmpty, Wrong, "no text"},
		{"blank line", []timedtext.Cue{cue(0, 2, "The bell.", "")}, RuleEmpty, Advice, "line 2 is blank"},
		{"article at the line's end", []timedtext.Cue{cue(0, 4, "You ring the", "bell and she comes")}, RuleBreak, Advice, `"the" from "bell"`},
		{"article at the cue's end", []timedtext.Cue{cue(0, 2, "You ring the"), cue(2.2, 4, "bell, she comes")}, RuleBreak, Advice, `"the" from "bell,"`},
		{"out before in", []timedtext.Cue{cue(2, 1, "The bell.")}, RuleOrder, Wrong, "not after its in"},
		{"no out", []timedtext.Cue{open}, RuleOrder, Wrong, "no out time"},
		{"backwards", []timedtext.Cue{cue(4, 6, "The bell."), cue(0, 2, "It rang.")}, RuleOrder, Wrong, "before the cue ahead"},
		{"tag left in the text", []timedtext.Cue{cue(0, 2, "The <i>bell.")}, RuleItalics, Wrong, `"<i>"`},
		{"italics inside a word", []timedtext.Cue{italic}, RuleItalics, Advice, "inside a word"},
		{"off the frame", []timedtext.Cue{cue(0.01, 2, "The bell.")}, RuleFrame, Advice, "in at 00:00:00.010 lies 10 ms after a frame"},
		{"before the frame", []timedtext.Cue{cue(0.03, 2, "The bell.")}, RuleFrame, Advice, "in at 00:00:00.030 lies 10 ms before a frame"},
	} {
		t.Run(c.name, func(t *testing.T) {
			found := Check(&timedtext.Document{Cues: c.cues}, DefaultLimits("en"))
			if len(found) != 1 {
				t.Fatalf("got %v, want one finding of %q", found, c.rule)
			}
			f := found[0]
			if f.Rule != c.rule || f.Severity != c.severity || !strings.Contains(f.What, c.what) {
				t.Errorf("got %s %s, want %s %s: … %s", f.Severity, f, c.severity, c.rule, c.what)
			}
			if f.Cue != len(c.cues) && c.rule != RuleBreak {
				t.Errorf("cue %d, want %d", f.Cue, len(c.cues))
			}
		})
	}
}

func TestCheckFindsNothingAtTheLimits(t *testing.T) {
	for _, c := range []struct {
		name string
		lim  Limits
		cues []timedtext.Cue
	}{
		{"at each limit", DefaultLimits("en"), []timedtext.Cue{
			cue(0, 1, "It rings, softly."), cue(1.08, 8.08, strings.Repeat("0", 40)), cue(8.16, 9.16, "No."),
		}},
		{"milliseconds of a file at 29.97", Limits{Gap: 2, Base: timecode.Base{Rate: timecode.Rate2997}}, []timedtext.Cue{
			cue(0.033, 1.001, "No."), cue(1.068, 2.002, "No."),
		}},
		{"hundredths of a file at 29.97", Limits{Gap: 2, Base: timecode.Base{Rate: timecode.Rate2997}}, []timedtext.Cue{
			cue(0.03, 1.00, "No."), cue(1.07, 2.00, "No."), cue(2.07, 3.00, "No."),
		}},
		{"hundredths of a file at 23.976", Limits{Gap: 2, Base: timecode.Base{Rate: timecode.Rate23976}}, []timedtext.Cue{
			cue(0.04, 1.00, "No."), cue(1.08, 2.00, "No."),
		}},
		{"no limits", Limits{}, []timedtext.Cue{cue(0, 0.001, strings.Repeat("word ", 99), "b", "c", "d"), cue(0.001, 9, "x")}},
		{"dialogue", DefaultLimits("en"), []timedtext.Cue{cue(0, 3, "– Is that the", "– Bell? No.")}},
	} {
		if found := Check(&timedtext.Document{Cues: c.cues}, c.lim); len(found) > 0 {
			t.Errorf("%s: got %v, want nothing", c.name, found)
		}
	}
	if found := Check(nil, DefaultLimits("en")); found != nil {
		t.Errorf("no document: got %v, want nothing", found)
	}
}

func TestWidth(t *testing.T) {
	for _, c := range []struct {
		language, text string
		want           int
	}{
		{"en", "bell", 4},
		{"fr", "e\u0301te\u0301", 3},
		{"hi", "घंटी", 2},
		{"en", "👩‍👧", 1},
		{"ja", "鐘を鳴らす", 5},
		{"ja", "ab鐘", 2},
		{"ja", "a鐘", 2},
	} {
		if got := width(c.text, c.language); got != c.want {
			t.Errorf("%s: %q has width %d, want %d", c.language, c.text, got, c.want)
		}
	}
}

// TestCheckNamesCuesAsTheFileDoes: a cue is called by its number in the file,
// which need not be its place.
func TestCheckNamesCuesAsTheFileDoes(t *testing.T) {
	const file = "3\n00:00:01,000 --> 00:00:03,000\nThe bell.\n\n7\n00:00:03,000 --> 00:00:03,400\nIt rings.\n"
	doc, err := timedtext.Read(strings.NewReader(file), timedtext.ReadOptions{As: timedtext.SRT})
	if err != nil {
		t.Fatal(err)
	}
	found := Check(doc, DefaultLimits("en"))
	if len(found) == 0 {
		t.Fatal("nothing found")
	}
	for _, f := range found {
		if f.Cue != 2 || f.Name != "7" || !strings.HasPrefix(f.String(), "cue 7 at ") {
			t.Errorf("got %s, place %d, want cue 7", f, f.Cue)
		}
		if f.Rule == RuleGap && !strings.Contains(f.What, "after cue 3,") {
			t.Errorf("got %s, want the cue before to be 3", f.What)
		}
	}
}
