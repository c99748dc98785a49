package timedtext

import (
	"bytes"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"
	"unicode/utf8"
)

// fuzzSeeds are small files of every format.
var fuzzSeeds = []string{
	"1\n00:00:01,000 --> 00:00:02,500\n<i>It</i> was {\\an8}\nthe bell &amp;.\n\n2\n00:00:03.000-->00:00:04.000\nINES: - Yes.\n",
	"WEBVTT - x\n\nREGION\nid:a\nlines:2\n\nNOTE x\n\nid\n00:01.000 --> 00:02.000 region:a line:1%,end\n<v.loud Ines>It <00:01.500>was<c.red> &lt;</c></v>\n",
	`<tt xmlns="http://www.w3.org/ns/ttml" xmlns:ttp="http://www.w3.org/ns/ttml#parameter" ttp:frameRate="30" ttp:frameRateMultiplier="1000 1001"><body><div timeContainer="seq"><p dur="1s" begin="3t"><span end="10f">It</span><br/> was</p></div></body></tt>`,
	"[Script Info]\nTitle: x\n[V4+ Styles]\nFormat: Name, PrimaryColour, Bold\nStyle: D,&H00FFFFFF,-1\n[Events]\nDialogue: 0,0:00:01.50,0:00:02.25,D,a, b,0,0,0,,{\\k20}It{\\k10\\1c&HFF&}was\\N{\\p1}m 0{\\p0}\n",
	"# x\nINES:\n[0:10] One [0:20 - 0:30] two\n01:00:12:10 JOSS: three\n10:30 was\nWilf 00:12:04\n- four\n",
	`{"language":"en","segments":[{"start":1.5,"end":2e1,"text":"It was","speaker":0,"words":[{"word":"It","start":"1.5s"}]}],"results":[{"alternatives":[{"transcript":"x"}]}]}`,
	"in;out;speaker;text\n0:10;0:20;Ines;\"It\nwas\"\n;;;more\n",
	"\xff\xfe1\x00\n\x00",
}

// FuzzRead: no input may panic, hang, or give a document that cannot be
// written; errors must be of the package's kinds.
func FuzzRead(f *testing.F) {
	for _, s := range fuzzSeeds {
		for _, as := range append(allFormats, "") {
			f.Add([]byte(s), string(as))
		}
	}
	doc := &Document{Cues: []Cue{{Lines: Text("It was the bell.")}}}
	doc.Cues[0].Out = 705_600_000
	var stl bytes.Buffer
	if _, err := Write(&stl, doc, STL, WriteOptions{Base: at25}); err != nil {
		f.Fatal(err)
	}
	f.Add(stl.Bytes(), string(STL))
	f.Fuzz(func(t *testing.T, data []byte, as string) {
		checkRead(t, data, Format(as))
	})
}

func checkRead(t *testing.T, data []byte, as Format) {
	t.Helper()
	d, err := Read(bytes.NewReader(data), ReadOptions{Name: "x", As: as, Base: at25})
	if err != nil {
		if !errors.Is(err, ErrFormat) {
			t.Fatalf("got %v, want an error that is ErrFormat", err)
		}
		return
	}
	for _, c := range d.Cues {
		if !utf8.ValidString(c.Plain()) {
			t.Fatalf("text is not UTF-8: %q", c.Plain())
		}
		if c.Out != NoTime && c.Out <= c.In {
			t.Fatalf("cue %v is empty", c.Span)
		}
	}
	for _, f := range allFormats {
		if _, err := Write(io.Discard, d, f, WriteOptions{Base: at25}); err != nil && (f != STL || !errors.Is(err, ErrFormat)) {
			t.Fatalf("write %s: %v", f, err)
		}
	}
}

// Every file of the corpora, whole and cut, read as every format.
func TestCorporaNoPanic(t *testing.T) {
	dirs := []string{"srt", "webvtt/wpt-file-parsing", "webvtt/wpt-cue-parsing", "ebu-stl/files", "imsc/imsc1/ttml", "imsc/imsc1_1/ttml", "ebu-tt-d/ttml"}
	n := 0
	for _, dir := range dirs {
		for i, path := range glob(t, corpora(t, dir), "*") {
			info, err := os.Stat(path)
			if err != nil || info.IsDir() || info.Size() > 100_000 || testing.Short() && i%10 > 0 {
				continue
			}
			data, err := os.ReadFile(filepath.Clean(path))
			if err != nil {
				t.Fatal(err)
			}
			for _, as := range append(allFormats, "") {
				checkRead(t, data, as)
				checkRead(t, data[:len(data)*2/3], as)
				n += 2
			}
		}
	}
	t.Logf("%d readings without a panic", n)
}
