package subtitles

import (
	"strings"
	"testing"
	"unicode/utf8"

	"rushlight/pkg/timecode"
)

// Published figures, each as a set of limits, and what a draft of slow talk
// with silence after it then does. A draft by DefaultLimits reads faster than
// Karamitroglou asks; by his own figures it stands as long as he says.
func TestPublishedFigures(t *testing.T) {
	half := 500 * timecode.Millisecond // the published figures are round
	for _, c := range []struct {
		name   string
		change func(*Limits)
		text   string
		lines  int
		want   timecode.Ticks
	}{
		// Karamitroglou 1998 (partly second-hand, partly recalled): a full
		// two-liner of 14-16 words 6 s, a full one-liner of 7-8 words 3.5 s,
		// a single word 1.5 s. About 12 characters a second.
		{"two-liner", karamitroglou, "There is a post on the far bank, with a bell, and when you want me, you ring.", 2, 6 * timecode.Second},
		{"one-liner", karamitroglou, "Nobody had ever asked me for a ticket.", 1, 3*timecode.Second + half},
		{"single word", karamitroglou, "Nobody.", 1, timecode.Second + half},
		// BBC Subtitle Guidelines (recalled): 160-180 words a minute, 0.375 to
		// 0.33 s a word; here 12 words.
		{"BBC 160", func(l *Limits) { l.WordsPerMinute = 160 }, "I go over to it, and I see if it is you.", 1, secs(12 * 0.375)},
		{"BBC 180", func(l *Limits) { l.WordsPerMinute = 180 }, "I go over to it, and I see if it is you.", 1, secs(12 * 0.333)},
		// DCMP (seen, older edition): none under 2 s.
		{"DCMP shortest", func(l *Limits) { l.MinDuration = 2 * timecode.Second }, "No.", 1, 2 * timecode.Second},
		// UNE 153010:2012 (recalled): 15 characters a second; here 30.
		{"UNE", func(l *Limits) { l.ReadingSpeed = 15 }, "Aquella campana ya no la toca.", 1, 2 * timecode.Second},
	} {
		t.Run(c.name, func(t *testing.T) {
			lim := DefaultLimits("en")
			c.change(&lim)
			doc, found := mustDraft(t, []Piece{piece(1, 1.9, "Ines", c.text)}, lim)
			if len(doc.Cues) != 1 || len(doc.Cues[0].Lines) != c.lines || len(found) != 0 {
				t.Fatalf("got %swant one cue of %d lines and nothing found", show(doc, found), c.lines)
			}
			if got := doc.Cues[0].Length(); got < c.want-half || got > c.want+half {
				t.Errorf("stands %s, want about %s", got, c.want)
			}
		})
	}
}

func karamitroglou(l *Limits) {
	l.ReadingSpeed, l.WordsPerMinute, l.MinDuration = 12.5, 0, 1500*timecode.Millisecond
}

// TestLineLengths: the published line lengths, kept on the demo talk and
// counted here in runes, which for this text are characters.
func TestLineLengths(t *testing.T) {
	for _, c := range []struct {
		source string
		length int
	}{
		{"Karamitroglou 1998: at most 40", 40},
		{"BBC teletext and UNE 153010: 37", 37},
		{"Karamitroglou 1998: about 35", 35},
		{"DCMP: 32", 32},
	} {
		lim := DefaultLimits("en")
		lim.LineLength = c.length
		doc, _ := mustDraft(t, readTalk(t, "testdata/talk.en.txt"), lim)
		for _, k := range doc.Cues {
			if len(k.Lines) > 2 {
				t.Errorf("%s: %d lines in %q", c.source, len(k.Lines), k.Plain())
			}
			for _, l := range strings.Split(k.Plain(), "\n") {
				if n := utf8.RuneCountInString(l); n > c.length {
					t.Errorf("%s: %q has %d", c.source, l, n)
				}
			}
		}
	}
}

func TestDefaultLimits(t *testing.T) {
	for _, c := range []struct {
		language string
		length   int
		speed    float64
	}{{"", 40, 17}, {"en-GB", 40, 17}, {"es-419", 40, 15}, {"ja", 16, 9}, {"zh-Hans", 16, 9}} {
		l := DefaultLimits(c.language)
		if l.LineLength != c.length || l.ReadingSpeed != c.speed {
			t.Errorf("%q: %d characters at %g/s, want %d at %g", c.language, l.LineLength, l.ReadingSpeed, c.length, c.speed)
		}
		if l.Lines != 2 || l.MinDuration != timecode.Second || l.MaxDuration != 7*timecode.Second || l.Gap != 2 {
			t.Errorf("%q: %+v, want 2 lines, 1 to 7 s, 2 frames", c.language, l)
		}
	}
}
