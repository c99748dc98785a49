package timedtext

import (
	"strings"
	"testing"
)

// Lines of times as they are met: with marks of direction as Arabic and Hebrew
// files have, signs of East Asian width, other arrows, spaces as machine
// translation leaves them, letters as reading programs take for figures.
// Common practice, no source.
func TestSRTTimesAsMet(t *testing.T) {
	for _, line := range []string{
		"00:00:01,000 --> 00:00:02,500", "\u200e00:00:01,000 --> 00:00:02,500\u200f", "00:00:01,000 → 00:00:02,500",
		"00:00:01,000 --&gt; 00:00:02,500", "00：00：01，000 --> 00：00：02，500", "００:００:０１,０００ --> ００:００:０２,５００",
		"00: 00: 01, 000 --> 00: 00: 02, 500", "00:00:01,000 - -> 00:00:02,500", "00:00:01'000 --> 00:00:02'500",
		"OO:00:0l,000 --> 00:00:02,500", "00:00:01;000 --> 00:00:02;500", "00:00:01.000.000 --> 00:00:02.500.000", "00:00:01,000 ---> 00:00:02,500",
	} {
		d, err := Read(strings.NewReader("1\n"+line+"\nThe bell.\n\n2\n00:00:05,000 --> 00:00:06,000\nNobody.\n"), ReadOptions{As: SRT})
		if err != nil || told(d) != "1-2.50 The bell.\n5-6 Nobody." {
			t.Errorf("%q: got %v, %v", line, told(d), err)
		} else if plain := strings.HasPrefix(line, "00:00:01,000 --> "); (len(d.Repairs) == 0) != plain || len(d.Repairs) > 1 {
			t.Errorf("%q: repairs %v", line, d.Repairs)
		}
	}
}

// Times that nobody understands cost no words, as long as most are right.
func TestSRTTimesNotUnderstood(t *testing.T) {
	const good = "1\n00:00:01,000 --> 00:00:02,000\nOne.\n\n"
	const odd = "2\n00:75:01,000 --> 00:75:02,000\nTwo.\n\n"
	const open = "2\n00:00:04,000 -->\nTwo.\n\n"
	const last = "3\n00:00:05,000 --> 00:00:06,000\nThree.\n"
	for file, want := range map[string]string{
		good + odd + last:  "1-2 One.\n2-5… Two.\n5-6 Three.",
		good + open + last: "1-2 One.\n4-5… Two.\n5-6 Three.",
		good + "2\n\n00:00:05,000 --> 00:00:06,000\nTwo.\n": "1-2 One.\n5-6 Two.",
	} {
		d, err := Read(strings.NewReader(file), ReadOptions{As: SRT})
		if err != nil || told(d) != want || len(d.Repairs) != 1 {
			t.Errorf("got %v, %v, repairs %v, want %s", told(d), err, d.Repairs, want)
		}
	}
	if _, err := Read(strings.NewReader(odd+odd), ReadOptions{As: SRT}); err == nil || !strings.Contains(err.Error(), "75 is over 59") {
		t.Errorf("all times odd: got %v, want an error", err)
	}
}

// What is written as a line of text is never read as times.
func TestSRTTextLikeTimes(t *testing.T) {
	for _, text := range []string{"00:01 --> 00:02", "00:01 → 00:02", "0:01 --&gt; 0:02", "０0:01 ＞ 00:02", "caf&eacute;"} {
		d := &Document{Cues: []Cue{{Lines: []Line{{{Text: text}}}}}}
		d.Cues[0].Out = 1e9
		var b strings.Builder
		if _, err := Write(&b, d, SRT, WriteOptions{}); err != nil {
			t.Fatal(err)
		}
		got, err := Read(strings.NewReader(b.String()), ReadOptions{As: SRT})
		if err != nil || len(got.Cues) != 1 || got.Cues[0].Plain() != text {
			t.Errorf("%q: got %v, %v of %q", text, got, err, b.String())
		}
	}
}
