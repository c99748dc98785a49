package timedtext

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

var at25 = timecode.Base{Rate: timecode.Rate25}

// told writes a document in one line for each cue line: in-out [speaker]
// text. An open end shows as "…".
func told(d *Document) string {
	var b strings.Builder
	for _, c := range d.Cues {
		out := "end"
		if c.Out != NoTime {
			out = short(c.Out)
		}
		if c.OpenEnd {
			out += "…"
		}
		for i, l := range c.Lines {
			if i == 0 {
				fmt.Fprintf(&b, "%s-%s", short(c.In), out)
			} else {
				b.WriteString(" /")
			}
			for _, r := range l {
				if r.Dash {
					b.WriteString(" –")
				}
				if r.Speaker != "" {
					b.WriteString(" [" + r.Speaker + "]")
				}
				b.WriteString(" " + r.Text)
			}
		}
		b.WriteByte('\n')
	}
	return strings.TrimSuffix(b.String(), "\n")
}

func short(t timecode.Ticks) string {
	return strings.TrimSuffix(strings.TrimSuffix(fmt.Sprintf("%.3f", t.Seconds()), "0"), ".00")
}

type readCase struct {
	name, in, want string
	format         Format // what Detect must say
	repairs        int
}

func runReads(t *testing.T, cases []readCase) {
	t.Helper()
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d, err := Read(strings.NewReader(c.in), ReadOptions{Name: "x", Base: at25})
			if err != nil {
				t.Fatal(err)
			}
			if got := told(d); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
			if d.Format != c.format {
				t.Errorf("got format %s, want %s", d.Format, c.format)
			}
			if len(d.Repairs) != c.repairs {
				t.Errorf("got repairs %v, want %d", d.Repairs, c.repairs)
			}
		})
	}
}

// Spellings met in practice: common practice, no source.
func TestReadPlain(t *testing.T) {
	p := PlainText
	runReads(t, []readCase{
		{"bracketed minutes", "[0:23] It was the bell.\n\n[1:05] Nobody rang.\n", "23-65… It was the bell.\n65-end… Nobody rang.", p, 0},
		{"round brackets", "(00:00:23) It was the bell.", "23-end… It was the bell.", p, 0},
		{"bare with hours", "00:12:04 It was the bell.\n00:12:10 Yes.", "724-730… It was the bell.\n730-end… Yes.", p, 0},
		{"timecode and label", "01:00:12:10 INES: It was the bell.", "3612.40-end… [INES] It was the bell.", p, 0},
		{"label before time", "INES [00:12:04] It was the bell.", "724-end… [INES] It was the bell.", p, 0},
		{"label, colon, time", "Ines Corrigan: (0:23)\nIt was the bell.\nYes.", "23-end… [Ines Corrigan] It was the bell. / [Ines Corrigan] Yes.", p, 0},
		{"range of labels", "00:01:02:03 - 00:01:05:10 INES: Bell.", "62.12-65.40 [INES] Bell.", p, 0},
		{"range in brackets", "[0:23 - 0:31] INES: Bell.", "23-31 [INES] Bell.", p, 0},
		{"range with arrow", "[00:00:23.500 --> 00:00:31.250] Bell.", "23.50-31.25 Bell.", p, 0},
		{"range in columns", "00:00:01:00\t00:00:05:00\tBell.", "1-5 Bell.", p, 0},
		{"time alone on its line", "00:12:04\nINES: It was the bell.\n\n00:12:30\nJOSS: Who rang?", "724-750… [INES] It was the bell.\n750-end… [JOSS] Who rang?", p, 0},
		{"name and time alone on a line", "Ines Corrigan  00:12:04\nIt was the bell.", "724-end… [Ines Corrigan] It was the bell.", p, 0},
		{"label alone, then times", "INES:\n[0:10] One.\n[0:20] Two.\n\n[0:30] Three.", "10-20… [INES] One.\n20-30… [INES] Two.\n30-end… Three.", p, 0},
		{"time inside a paragraph", "[0:10] INES: One two [0:20] three four.\n", "10-20… [INES] One two\n20-end… [INES] three four.", p, 0},
		{"seconds with a unit", "[83.5s] Bell.\n[1m30s] Ring.", "83.50-90… Bell.\n90-end… Ring.", p, 0},
		{"last time ends the text", "[0:10] One.\n[0:15]\n", "10-15 One.", p, 0},
		{"time of day in a sentence", "[0:10] At\n10:30 was when the ferry came.", "10-end… At / 10:30 was when the ferry came.", p, 0},
		{"ratio is no time", "[0:10] One\n16:9 it was.", "10-end… One / 16:9 it was.", p, 0},
		{"text before the first time", "Interview with Ines\n\n[0:10] One.", "10-end… One.", p, 1},
		{"comments", "# reel D1\n[0:10] One.", "10-end… One.", p, 0},
		{"dialogue dashes", "[0:10]\n- Who rang?\n- Nobody.", "10-end… – Who rang? / – Nobody.", p, 0},
		{"CRLF and byte order mark", "\ufeff[0:10] One.\r\n[0:20] Two.\r\n", "10-20… One.\n20-end… Two.", p, 0},
		{"CR only", "[0:10] One.\r[0:20] Two.\r", "10-20… One.\n20-end… Two.", p, 0},
		{"times backwards", "[0:20] One.\n[0:10] Two.\n[0:30] Three.", "20-30… One.\n10-30… Two.\n30-end… Three.", p, 1},
		{"out before in", "[0:20 - 0:10] One.\n[0:30 - 0:31] Two.", "20-30… One.\n30-31 Two.", p, 1},
		{"bold labels", "[0:10] **INES:** Bell.\n[0:20] **Joss**: Who?", "10-20… [INES] Bell.\n20-end… [Joss] Who?", p, 0},
		{"names without colon", "00:00:10 Ines Corrigan\nBell.\n\n00:00:20 Joss\nWho rang?\n\n00:00:30 Ines Corrigan\nNobody.", "10-20… [Ines Corrigan] Bell.\n20-30… [Joss] Who rang?\n30-end… [Ines Corrigan] Nobody.", p, 0},
		{"label with an aside", "[0:10] INES (off mic): Bell.", "10-end… [INES] (off mic) Bell.", p, 0},
		{"time in brackets after the name and colon", "Speaker 1 (00:12): Bell.\nSpeaker 2 (00:20): Ring.", "12-20… [Speaker 1] Bell.\n20-end… [Speaker 2] Ring.", p, 0},
		{"bold name, time in round brackets", "**Joss** (0:01): Hello.\n\n**Ines** (0:05): Yes.", "1-5… [Joss] Hello.\n5-end… [Ines] Yes.", p, 0},
		{"bold name, time in square brackets", "**Joss** [00:00:01]: Hello.\n\n**Ines** [00:00:05]: Yes.", "1-5… [Joss] Hello.\n5-end… [Ines] Yes.", p, 0},
		{"bold name and time", "**Joss [0:01]:** Hello.\n\n**Ines [0:05]:** Yes.", "1-5… [Joss] Hello.\n5-end… [Ines] Yes.", p, 0},
		{"numbered, dash after the name", "1. (00:00:01) Joss – Hello there.\n2. (00:00:05) Ines – Yes.", "1-5… [Joss] Hello there.\n5-end… [Ines] Yes.", p, 0},
		{"a dash in the words", "(0:01) Ines – she rang.\n(0:05) Yes.\n(0:07) No.", "1-5… Ines – she rang.\n5-7… Yes.\n7-end… No.", p, 0},
		{"a word for the time, names in capitals", "TC 10:00:01:05\nJOSS\nHello there.\n\nTC 10:00:05:10\nINES\nYes.", "36001.20-36005.40… [JOSS] Hello there.\n36005.40-end… [INES] Yes.", p, 0},
		{"a word for the time before a name", "TC: 0:01 Joss: Hello.\nTC: 0:05 Ines: Yes.", "1-5… [Joss] Hello.\n5-end… [Ines] Yes.", p, 0},
		{"a head with labels", "Reel: D1\nDate: 3 May 2026\n\n00:01\tJ\tHello there.\n00:05\tI\tYes.", "1-5… [J] Hello there.\n5-end… [I] Yes.", p, 2},
		{"a head, then talk before the first time", "Reel: D1\n\nJoss: Hello.\n\n[0:05] Ines: Yes.\n[0:09] Joss: Good.", "0-5… [Joss] Hello.\n5-9… [Ines] Yes.\n9-end… [Joss] Good.", p, 2},
		{"talk before the first time", "Joss: Hello.\n[0:05] Ines: Yes.", "0-5… [Joss] Hello.\n5-end… [Ines] Yes.", p, 1},
		{"drop-frame dash and dot", "00:12:04.500 - Ines: Bell.", "724.50-end… [Ines] Bell.", p, 0},
	})
}

func TestReadSRT(t *testing.T) {
	runReads(t, []readCase{
		{"plain", "1\n00:00:01,000 --> 00:00:02,500\nIt was\nthe bell.\n\n2\n00:00:03,000 --> 00:00:04,000\nYes.\n", "1-2.50 It was / the bell.\n3-4 Yes.", SRT, 0},
		{"full stops, no hours, no spaces", "1\n00:01.000-->00:02.500\nBell.", "1-2.50 Bell.", SRT, 2},
		{"long hours", "1\n100:00:01,000 --> 100:00:02,000\nBell.", "360001-360002 Bell.", SRT, 0},
		{"coordinates", "1\n00:00:01,000 --> 00:00:02,000 X1:63 X2:223 Y1:43 Y2:58\nBell.", "1-2 Bell.", SRT, 0},
		{"text on the line of the times", "00:00:01.000 --> 00:00:02.000  INES: Bell.\n00:00:03.000 --> 00:00:04.000  Ring.", "1-2 [INES] Bell.\n3-4 Ring.", SRT, 2},
		{"settings of WebVTT", "00:00:01,000 --> 00:00:02,000 align:start line:0%\nBell.", "1-2 Bell.", SRT, 0},
		{"no numbers", "00:00:01,000 --> 00:00:02,000\nOne.\n\n00:00:03,000 --> 00:00:04,000\nTwo.", "1-2 One.\n3-4 Two.", SRT, 0},
		{"label", "1\n00:00:01,000 --> 00:00:02,000\nINES: One.\nJoss: Two.", "1-2 [INES] One. / [Joss] Two.", SRT, 0},
		{"speaker carries on in the cue", "1\n00:00:01,000 --> 00:00:02,000\nINES: One\ntwo.\n\n2\n00:00:03,000 --> 00:00:04,000\nThree.", "1-2 [INES] One / [INES] two.\n3-4 Three.", SRT, 0},
		{"bracketed label", "1\n00:00:01,000 --> 00:00:02,000\n[Ines] One.", "1-2 [Ines] One.", SRT, 0},
		{"bracketed sound", "1\n00:00:01,000 --> 00:00:02,000\n[Bell rings] One.", "1-2 [Bell rings] One.", SRT, 0},
		{"not a label", "1\n00:00:01,000 --> 00:00:02,000\nI said: no.\nAt 10:30 it rang.\nSo: yes.", "1-2 I said: no. / At 10:30 it rang. / So: yes.", SRT, 0},
		{"timecode frames", "1\n00:00:01:12 --> 00:00:02:00\nBell.", "1.48-2 Bell.", SRT, 1},
		{"unclosed and stray tags", "1\n00:00:01,000 --> 00:00:02,000\n<i>Bell.\n\n2\n00:00:03,000 --> 00:00:04,000\nRing.</b>", "1-2 Bell.\n3-4 Ring.", SRT, 2},
		{"arrow in the text", "1\n00:00:01,000 --> 00:00:02,000\nA --> B and <laughs>", "1-2 A --> B and <laughs>", SRT, 0},
		{"CR CR LF", "1\r\r\n00:00:01,000 --> 00:00:02,000\r\r\nBell.\r\r\n\r\r\n2\r\r\n00:00:03,000 --> 00:00:04,000\r\r\nRing.\r\r\n", "1-2 Bell.\n3-4 Ring.", SRT, 0},
		{"tape begins again", "1\n00:00:05,000 --> 00:00:06,000\nOne.\n\n1\n00:00:00,000 --> 00:00:01,000\nTwo.", "5-6 One.\n0-1 Two.", SRT, 2},
	})
}

// Each is a defect of go-astisub v0.34.0.
func TestSRTDefectsOfTheReferenceLibrary(t *testing.T) {
	const tc = "00:00:01,000 --> 00:00:02,000"
	runReads(t, []readCase{
		{"second paragraph of a cue", "1\n" + tc + "\nOne.\n\nTwo.\n\n2\n00:00:03,000 --> 00:00:04,000\nThree.", "1-2 One. / Two.\n3-4 Three.", SRT, 1},
		{"text before a missing index", "1\n" + tc + "\nOne\ntwo.\n\n00:00:03,000 --> 00:00:04,000\nThree.", "1-2 One / two.\n3-4 Three.", SRT, 0},
		{"no blank line before the next cue", "1\n" + tc + "\nOne.\n2\n00:00:03,000 --> 00:00:04,000\nThree.", "1-2 One.\n3-4 Three.", SRT, 1},
		{"no blank line and no number", "1\n" + tc + "\nOne.\n00:00:03,000 --> 00:00:04,000\nThree.", "1-2 One.\n3-4 Three.", SRT, 1},
	})
	t.Run("CRLF at any place", func(t *testing.T) {
		for n := 4080; n < 4110; n++ {
			word := strings.Repeat("x", n-len(tc)-5)
			in := "1\r\n" + tc + "\r\n" + word + "\r\nrest of the cue\r\n"
			d, err := Read(strings.NewReader(in), ReadOptions{})
			if err != nil {
				t.Fatal(err)
			}
			if got, want := d.Cues[0].Plain(), word+"\nrest of the cue"; got != want {
				t.Fatalf("line of %d: got %d letters, want %d", n, len(got), len(want))
			}
		}
	})
	t.Run("lines over 64 KiB", func(t *testing.T) {
		word := strings.Repeat("bell ", 50_000)
		d, err := Read(strings.NewReader("1\n"+tc+"\n"+word+"end\n"), ReadOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if got, want := len(d.Cues[0].Plain()), len(word)+3; got != want {
			t.Errorf("got %d letters, want %d", got, want)
		}
	})
}

func TestReadVTT(t *testing.T) {
	v := WebVTT
	runReads(t, []readCase{
		{"voices", "WEBVTT\n\n00:01.000 --> 00:02.000\n<v Ines Corrigan>It was\nthe bell.</v>\n<v Joss>Who?", "1-2 [Ines Corrigan] It was / [Ines Corrigan] the bell. / [Joss] Who?", v, 0},
		{"labels where no voice is named", "WEBVTT\n\n00:01.000 --> 00:02.000\nINES: Bell.", "1-2 [INES] Bell.", v, 0},
		{"entities and classes", "WEBVTT\n\n00:01.000 --> 00:02.000\n5 &lt; 6 &amp; <c.yellow>Bell</c>&nbsp;rang", "1-2 5 < 6 &  Bell \u00a0rang", v, 0},
		{"note, style, region", "WEBVTT - The Far Bank\n\nNOTE first day\n\nSTYLE\n::cue { color: white }\n\nREGION\nid:a\nlines:2\n\n1\n00:01.000 --> 00:02.000 region:a align:start\nBell.", "1-2 Bell.", v, 0},
		{"cue with a wrong time", "WEBVTT\n\n0:61.000 --> 00:02.000\nBell.\n\n00:03.000 --> 00:04.000\nRing.", "3-4 Ring.", v, 1},
		{"an end tag that nothing began", "WEBVTT\n\n00:01.000 --> 00:02.000\nBell</root></b> rang.", "1-2 Bell rang.", v, 0},
		{"tags without end", "WEBVTT\n\n00:01.000 --> 00:02.000\n" + strings.Repeat("<c>", 1_000_000) + "Bell.", "1-2 Bell.", v, 0},
		{"decimal commas", "WEBVTT\n\n00:01,000 --> 00:02,500 line:0,start\nBell, 1,000.\n\n00:00:03,000 --> 00:00:04,000\nRing.", "1-2.50 Bell, 1,000.\n3-4 Ring.", v, 1},
		{"a decimal comma among points", "WEBVTT\n\n00:01.000 --> 00:02.000\nBell.\n\n00:03,000 --> 00:04,000\nRing.\n\n00:05.000 --> 00:06,000\nRope.", "1-2 Bell.\n3-4 Ring.\n5-6 Rope.", v, 1},
		{"decimal commas where no time is right", "WEBVTT\n\nx00:01.000 --> 00:02.000\nBell.\n\n00:03,000 --> 00:04,000\nRing.", "", v, 2},
		{"text without times", "WEBVTT\n\nBell.\n\n00:03.000 --> 00:04.000\nRing.", "3-4 Ring.", v, 1},
		{"out before in", "WEBVTT\n\n00:03.000 --> 00:02.000\nRing.\n\n00:05.000 --> 00:06.000\nBell.", "3-5… Ring.\n5-6 Bell.", v, 1},
	})
	t.Run("inline times", func(t *testing.T) {
		d, err := Read(strings.NewReader("WEBVTT\n\n00:01.000 --> 00:05.000\n<v Ines>It <00:02.000>was <00:00:03,500><i>the bell</i>.\n"), ReadOptions{})
		if err != nil || len(d.Repairs) != 1 {
			t.Fatal(d, err)
		}
		var got []string
		for _, r := range d.Cues[0].Lines[0] {
			for _, w := range r.Words {
				got = append(got, fmt.Sprintf("%s %s", short(w.In), w.Text))
			}
		}
		if want := "1 It|2 was|3.50 the bell|3.50 ."; strings.Join(got, "|") != want {
			t.Errorf("got %s, want %s", strings.Join(got, "|"), want)
		}
	})
}

func TestReadErrors(t *testing.T) {
	cases := []struct {
		name, in, file, want string
		is                   error
	}{
		{"empty", "", "a.srt", "a.srt: the file is empty: got no text, want a transcript", ErrEmpty},
		{"blank", " \r\n\n", "a.txt", "a.txt: the file is empty: got no text, want a transcript", ErrEmpty},
		{"binary", "RIFF\x24\x00\x00\x00WAVEfmt ", "a.srt", "a.srt: byte 5: not a text file: got the byte 0x00 at offset 5, want text", ErrBinary},
		{"zero byte later", "1\n00:00:01,000 --> 00:00:02,000\n" + strings.Repeat("bell ", 20_000) + "\x00", "a.srt", "a.srt: byte 100032: not a text file: got a zero byte at offset 100032, want text", ErrBinary},
		{"rich text", "{\\rtf1\\ansi [0:10] Bell.}", "a.txt", "a.txt:1: timed-text format not known: got a rich-text document, want text with times", ErrUnknown},
		{"web page without times", "<!DOCTYPE html><p>Bell.", "a.txt", "a.txt: no time found: got a document without a timecode, want one", ErrFormat},
		{"no times", "It was the bell.\nYes.", "a.doc", `a.doc:1: timed-text format not known: got "It was the bell.", want cues with times`, ErrUnknown},
		{"no times in a txt", "It was the bell.\nYes.", "a.txt", "a.txt:1: no time found: got text without a timecode, want one", ErrFormat},
		{"minutes over 59", "1\n00:75:00,000 --> 00:76:00,000\nBell.", "a.srt", `a.srt:2: time not understood: "00:75:00,000": 75 is over 59; want for example 1:23, 83.5, 00:12:04.500 or 01:00:12:10`, ErrFormat},
		{"label beyond the rate", "[0:10] One.\n\n[01:00:12:30] Two.", "a.txt", `a.txt:3: time not understood: "01:00:12:30": frames 30, want 0 to 24 at 25 frames/s`, ErrFormat},
		{"JSON broken", "[\n{\"start\": 1,\n \"text\": }]", "a.json", "a.json:3: JSON not well formed: invalid character '}' looking for beginning of value", ErrFormat},
		{"XML broken", "<tt xmlns='http://www.w3.org/ns/ttml'>\n<body>\n</tt>", "a.ttml", "a.ttml:3: XML not well formed: element <body> closed by </tt>", ErrFormat},
		{"TTML time", "<tt xmlns='http://www.w3.org/ns/ttml'><body><div>\n<p begin='x'>Bell</p></div></body></tt>", "a.ttml", `a.ttml:2: begin: time not understood: got "x", want for example 00:00:01.500, 00:00:01:12 or 1.5s`, ErrFormat},
		{"table without header", "00:01,Bell\n", "a.csv", `a.csv:1: no header row: got "00:01,Bell", want names of columns, among them one for the time and one for the text`, ErrFormat},
		{"STL cut off", "850STL25.01" + strings.Repeat(" ", 100), "a.stl", "a.stl: byte 111: STL header cut off: got 111 bytes, want 1024", ErrFormat},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read(strings.NewReader(c.in), ReadOptions{Name: c.file, Base: at25})
			if err == nil {
				t.Fatal("got no error")
			}
			if err.Error() != c.want {
				t.Errorf("got  %s\nwant %s", err, c.want)
			}
			var pe *ParseError
			if !errors.Is(err, c.is) || !errors.As(err, &pe) || pe.Hint == "" {
				t.Errorf("got %#v, want a ParseError with a hint that is %v", err, c.is)
			}
		})
	}
	if _, err := Read(strings.NewReader("[01:00:12:10] Two."), ReadOptions{Name: "a.txt"}); err == nil || err.Error() != `a.txt:1: timecode without a frame rate: got "01:00:12:10", want a known rate` {
		t.Errorf("got %v", err)
	}
}

// A sign that only looks like the start of a tag is text, also where a real
// tag comes after it.
func TestSRTSignsThatAreNoTags(t *testing.T) {
	for text, want := range map[string]string{
		"<i>fewer <br than</i>":  "fewer <br than",
		"<b>a <i b</b>":          "a <i b",
		"<font a <u>ring</u>":    "<font a ring",
		"one<br>two":             "one\ntwo",
		"<i>ring < bell > i</i>": "ring < bell > i",
	} {
		d, err := Read(strings.NewReader("1\n00:00:01,000 --> 00:00:02,000\n"+text+"\n"), ReadOptions{As: SRT})
		if err != nil || len(d.Cues) != 1 || d.Cues[0].Plain() != want {
			t.Errorf("%q: got %v, %v, want %q", text, err, d.Cues, want)
		}
	}
}

// A name with a colon that ends a saying is text, unless it stands right above
// the next time.
func TestPlainTextNameAtTheEnd(t *testing.T) {
	for file, want := range map[string]string{
		"[0:01] So I said\nInes:\n\n[0:05] It was late.":   ": So I said/Ines: | : It was late.",
		"[0:01] So I said\n- Ines:\n\n[0:05] It was late.": ": So I said/Ines: | : It was late.",
		"[0:01] So I said\n\nInes:\n[0:05] It was late.":   ": So I said | Ines: It was late.",
		"[0:01] - Ines:\n\n[0:05] It was late.":            ": Ines: | : It was late.",
		"[0:01] Ines:\n\n[0:05] Joss: It was late.":        "Joss: It was late.",
	} {
		d, err := Read(strings.NewReader(file), ReadOptions{As: PlainText})
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, c := range d.Cues {
			got = append(got, c.Speaker()+": "+strings.ReplaceAll(c.Plain(), "\n", "/"))
		}
		if s := strings.Join(got, " | "); s != want {
			t.Errorf("%q: got %q, want %q", file, s, want)
		}
	}
}
