package timedtext

import (
	"bytes"
	"fmt"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/asticode/go-astisub"

	"rushlight/pkg/timecode"
)

// What each format cannot carry of one rich document, said in Write's words.
func TestLost(t *testing.T) {
	d := farBank()
	d.Base = at25
	d.Cues[0].Lines[0][0].Words = []Word{{Text: "It", Span: timecode.Span{In: timecode.FromMillis(1000), Out: timecode.FromMillis(1200)}}}
	d.Cues[1].ID = "second"
	d.Cues[1].Settings = map[string]string{"align": "start"}
	want := map[Format]string{
		SRT:       "title (1), language (1), comments (1), frame rate (1), word times (1), position and alignment (1), cue identifiers (1)",
		WebVTT:    "language (1), frame rate (1), word ends (1)",
		TTML:      "word times (1)",
		STL:       "word times (1), cue identifiers (1), characters the format does not have: replaced (2): … –",
		ASS:       "frame rate (1), word times (1), position and alignment (1), cue identifiers (1)",
		PlainText: "title (1), language (1), frame rate (1), word times (1), position and alignment (1), cue identifiers (1), styles: slant, weight, underline, colour (1)",
		JSON:      "",
		DOCX:      "word times (1), position and alignment (1)",
		EBUTTD:    "frame rate (1), word times (1)",
		CSV:       "title (1), language (1), comments (1), frame rate (1), word times (1), position and alignment (1), cue identifiers (1), styles: slant, weight, underline, colour (1)",
	}
	for _, f := range allFormats {
		lost, err := Write(&bytes.Buffer{}, d, f, WriteOptions{})
		if err != nil {
			t.Fatal(err)
		}
		if got := strings.Join(lost, ", "); got != want[f] {
			t.Errorf("%s: got\n%s\nwant\n%s", f, got, want[f])
		}
	}
}

// Each is a defect of the writers of go-astisub v0.34.0.
func TestWriterDefectsOfTheReferenceLibrary(t *testing.T) {
	d := &Document{Cues: []Cue{{Span: timecode.Span{In: timecode.FromMillis(1030), Out: timecode.FromMillis(2000)}, Lines: Text("5 < 6 & 7 --> 8", "a – b — c … d €")}}}
	srt, vtt, stl := written(t, d, SRT), written(t, d, WebVTT), written(t, d, STL)
	if !strings.Contains(srt, "\n5 < 6 & 7 --> 8\n") {
		t.Errorf("SRT escapes visibly: %q", srt)
	}
	if !strings.Contains(vtt, "\n5 &lt; 6 &amp; 7 --&gt; 8\n") || strings.Contains(vtt, "Region:") {
		t.Errorf("WebVTT: %q", vtt)
	}
	if _, err := Write(&bytes.Buffer{}, d, ASS, WriteOptions{}); err != nil {
		t.Errorf("ASS without a head: %v", err)
	}
	tti := stl[gsiSize:]
	// 1.03 s is nearest to frame 26 (1.04 s), not floored to 25.
	if got := []byte(tti[5:9]); !slices.Equal(got, []byte{0, 0, 1, 1}) {
		t.Errorf("STL in: got % x, want 00 00 01 01", got)
	}
	if got, want := strings.ReplaceAll(tti[16:], "\x8f", ""), "5 < 6 & 7 --> 8\x8aa - b \xd0 c ... d EUR"; got != want {
		t.Errorf("STL text: got %q, want %q", got, want)
	}
}

// EBU Tech 3264 (recalled): text over 112 bytes goes on in extension blocks
// numbered from 0, the last FF; a diacritic stands before its letter.
func TestSTLBlocks(t *testing.T) {
	text := strings.Repeat("ä", 120)
	d := &Document{Title: "The Far Bank", Language: "en-GB", ProgrammeStart: 10 * timecode.Hour, Base: at25}
	d.Cues = []Cue{{Span: timecode.Span{In: 10 * timecode.Hour, Out: 10*timecode.Hour + timecode.Second}, Lines: Text(text)}}
	stl := written(t, d, STL)
	if got, want := len(stl), gsiSize+3*ttiSize; got != want {
		t.Fatalf("got %d bytes, want %d", got, want)
	}
	for i, ebn := range []byte{0, 1, 0xff} {
		if got := stl[gsiSize+i*ttiSize+3]; got != ebn {
			t.Errorf("block %d: got EBN %02x, want %02x", i, got, ebn)
		}
	}
	if got := stl[gsiSize+16 : gsiSize+20]; got != "\xc8a\xc8a" {
		t.Errorf("got % x, want c8 61 c8 61", got)
	}
	for at, want := range map[int]string{0: "850", 3: "STL25.01", 12: "00", 14: "09", 16: "The Far Bank ", 256: "10000000", 264: "10000000"} {
		if got := stl[at : at+len(want)]; got != want {
			t.Errorf("GSI at %d: got %q, want %q", at, got, want)
		}
	}
	back, err := Read(strings.NewReader(stl), ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if got := back.Cues[0].Plain(); got != text || back.ProgrammeStart != d.ProgrammeStart || back.Language != "en" || back.Cues[0].In != d.Cues[0].In {
		t.Errorf("got %q, start %v, language %q, in %v", got, back.ProgrammeStart, back.Language, back.Cues[0].In)
	}
}

// Tech 3264's tables 01 to 04 are ISO 8859-5 to 8859-8; the text chooses.
func TestSTLTables(t *testing.T) {
	for table, text := range map[string]string{"01": "Колокол", "02": "جرس", "03": "καμπάνα", "04": "פעמון"} {
		d := &Document{Cues: []Cue{{Span: timecode.Span{Out: timecode.Second}, Lines: Text(text)}}}
		stl := written(t, d, STL)
		if got := stl[12:14]; got != table {
			t.Errorf("%s: got table %s, want %s", text, got, table)
		}
		back, err := Read(strings.NewReader(stl), ReadOptions{})
		if err != nil || back.Cues[0].Plain() != text {
			t.Errorf("%s: got %v, %v", text, told(back), err)
		}
	}
}

// Source: glibc's ISO_6937 through iconv, for every letter and mark of table
// 00. Differences on purpose: 24 is ¤ and A4 $ in Tech 3264; D0 is read as the
// em dash, which it is used for; E0 is the Greek letter, whose compatible twin
// iconv gives; E2 is Đ, as IRT's suite has it.
func TestSTLLatinByIconv(t *testing.T) {
	iconv, err := exec.LookPath("iconv")
	if err != nil {
		t.Skip("iconv not found: apt-get install libc-bin")
	}
	table, _ := newSTLTable("00")
	decode := func(b ...byte) (string, bool) {
		cmd := exec.Command(iconv, "-f", "ISO_6937", "-t", "UTF-8")
		cmd.Stdin = bytes.NewReader(b)
		out, err := cmd.Output()
		return string(out), err == nil
	}
	ours := map[byte]rune{0xd0: '—', 0xe0: 'Ω', 0xe2: 'Đ'}
	checked := 0
	for c := 0xa0; c <= 0xff; c++ {
		if c >= 0xc0 && c <= 0xcf || c == 0xa4 || c == 0xa8 {
			continue
		}
		want, ok := decode(byte(c))
		r, _, has := table.decode(byte(c))
		if !ok && !has || ours[byte(c)] == r && has {
			continue
		}
		if !ok || !has || string(r) != want {
			t.Errorf("%02x: got %q (%v), iconv %q (%v)", c, r, has, want, ok)
			continue
		}
		checked++
	}
	for _, pair := range []string{"\xc1a", "\xc2e", "\xc3o", "\xc4n", "\xc5u", "\xc6g", "\xc7z", "\xc8u", "\xcaa", "\xcbc", "\xcdo", "\xcee", "\xcfs"} {
		want, ok := decode(pair[0], pair[1])
		s := &stlReader{table: table}
		if got := s.lines([]byte(pair)); !ok || fmt.Sprint(got) != fmt.Sprint(Text(want)) {
			t.Errorf("% x: got %v, iconv %q", pair, got, want)
			continue
		}
		checked++
	}
	t.Logf("%d codes of table 00 as iconv has them", checked)
}

// Source: go-astisub reads what we write, cue for cue, where its reader is
// right: well-formed SRT and SSA/ASS.
func TestGoAstisubReadsOurs(t *testing.T) {
	d := farBank()
	for _, f := range []Format{SRT, ASS} {
		file := strings.NewReader(written(t, d, f))
		var s *astisub.Subtitles
		var err error
		if f == SRT {
			s, err = astisub.ReadFromSRT(file)
		} else {
			s, err = astisub.ReadFromSSA(file)
		}
		if err != nil {
			t.Fatal(err)
		}
		if len(s.Items) != len(d.Cues) {
			t.Fatalf("%s: got %d cues, want %d", f, len(s.Items), len(d.Cues))
		}
		for i, item := range s.Items {
			c := d.Cues[i]
			if item.StartAt.Milliseconds() != c.In.Millis(timecode.Nearest) || item.EndAt.Milliseconds() != c.Out.Millis(timecode.Nearest) {
				t.Errorf("%s cue %d: got %v-%v, want %v", f, i, item.StartAt, item.EndAt, c.Span)
			}
			if got := len(item.Lines); got != len(c.Lines) {
				t.Errorf("%s cue %d: got %d lines, want %d", f, i, got, len(c.Lines))
			}
		}
	}
}

// EBU Tech 3264 (recalled): CS 1 to 3 mark a cumulative set, CF 1 a comment,
// EBN FE user data; a subtitle may end with the file cut off.
func TestSTLKinds(t *testing.T) {
	d := &Document{Base: at25}
	for i, text := range []string{"One", "two", "three", "seen by nobody", "user", "cut off"} {
		in := timecode.Ticks(i) * timecode.Second
		d.Cues = append(d.Cues, Cue{Span: timecode.Span{In: in, Out: in + timecode.Second}, Lines: Text(text)})
	}
	b := []byte(written(t, d, STL))
	block := func(i int) []byte { return b[gsiSize+i*ttiSize:] }
	block(0)[4], block(1)[4], block(2)[4] = 1, 2, 3
	block(3)[15] = 1
	block(4)[3] = 0xfe
	got, err := Read(bytes.NewReader(b[:len(b)-20]), ReadOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if want := "0-1 One\n1-2 two\n2-3 three\n5-6 cut off"; told(got) != want {
		t.Errorf("got\n%s\nwant\n%s", told(got), want)
	}
	for i, want := range []string{"first", "intermediate", "last", ""} {
		if got := got.Cues[i].Settings["cumulative"]; got != want {
			t.Errorf("cue %d: got %q, want %q", i, got, want)
		}
	}
	if !slices.Equal(got.Comments, []string{"seen by nobody"}) || !strings.HasPrefix(got.Metadata["user data"], "user") {
		t.Errorf("got comments %q, user data %q", got.Comments, got.Metadata["user data"])
	}
	if len(got.Repairs) != 1 || got.Repairs[0].String() != fmt.Sprintf("byte %d: last block cut off: got 108 bytes, want 128", gsiSize+5*ttiSize) {
		t.Errorf("got repairs %v", got.Repairs)
	}
}
