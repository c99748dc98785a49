package timedtext

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

// farBank is a document with everything that subtitles carry.
func farBank() *Document {
	ms := timecode.FromMillis
	d := &Document{Title: "The Far Bank", Language: "en", Comments: []string{"second day, on the ferry"}}
	add := func(in, out int64, lines ...Line) {
		d.Cues = append(d.Cues, Cue{Span: timecode.Span{In: ms(in), Out: ms(out)}, Lines: lines})
	}
	ines, joss := "Ines Corrigan", "JOSS"
	add(1000, 2520, Line{{Text: "It was the bell.", Speaker: ines}})
	add(2600, 4000, Line{{Text: "Who rang it?", Speaker: joss}}, Line{{Text: "In those days.", Speaker: joss}})
	add(4000, 6040, Line{{Text: "You'd hear it ", Speaker: ines}, {Text: "before", Speaker: ines, Style: Style{Italic: true}}, {Text: " you saw them.", Speaker: ines}})
	add(6040, 8000, Line{{Text: "5 < 6 & 7 > 3 → so much for that…"}})
	add(9000, 10_000, Line{{Text: "Nobody?", Dash: true}}, Line{{Text: "Nobody rings a bridge.", Dash: true}})
	add(3_600_000, 3_601_960, Line{{Text: "Ça va, señor Müller – “far bank”.", Speaker: ines}})
	return d
}

func written(t *testing.T, d *Document, f Format) string {
	t.Helper()
	var b bytes.Buffer
	if _, err := Write(&b, d, f, WriteOptions{Base: at25}); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// node runs a script that needs an npm package, or skips.
func node(t *testing.T, pkg, script, stdin string) []byte {
	t.Helper()
	if _, err := exec.LookPath("node"); err != nil {
		t.Skip("node not found: apt-get install nodejs npm")
	}
	dir := os.Getenv("RUSHLIGHT_NPM")
	if _, err := os.Stat(filepath.Join(dir, "node_modules", pkg)); dir == "" || err != nil {
		t.Skipf("%s not found: npm install --prefix DIR %s, then set RUSHLIGHT_NPM=DIR", pkg, pkg)
	}
	cmd := exec.Command("node", "-e", script)
	cmd.Dir = dir
	cmd.Stdin = strings.NewReader(stdin)
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("node: %v: %s", err, stderr.String())
	}
	return out
}

type outsideCue struct {
	Start, End float64
	Text       string
}

// Source: npm webvtt-parser, the parser behind the W3C's validator: it must
// have no complaint and find the same cues.
func TestVTTByWebvttParser(t *testing.T) {
	const script = `
const p = require('webvtt-parser');
// Its own table lacks the semicolons and leaves them in the text.
const e = {'&amp;': '&', '&lt;': '<', '&gt;': '>', '&lrm;': '\u200e', '&rlm;': '\u200f', '&nbsp;': '\u00a0'};
const r = new p.WebVTTParser(e).parse(require('fs').readFileSync(0, 'utf8'), 'subtitles');
const plain = n => n.type === 'text' ? n.value : (n.children || []).map(plain).join('');
console.log(JSON.stringify({errors: r.errors, cues: r.cues.map(c => ({start: c.startTime, end: c.endTime, text: plain(c.tree)}))}));`
	d := farBank()
	d.Cues[0].Lines[0][0].Words = []Word{
		{Text: "It", Span: timecode.Span{In: timecode.FromMillis(1000), Out: NoTime}},
		{Text: "was the bell.", Span: timecode.Span{In: timecode.FromMillis(1400), Out: NoTime}},
	}
	d.Cues[1].Settings = map[string]string{"align": "start", "line": "10%", "position": "20%"}
	var got struct {
		Errors []struct{ Message string }
		Cues   []outsideCue
	}
	if err := json.Unmarshal(node(t, "webvtt-parser", script, written(t, d, WebVTT)), &got); err != nil {
		t.Fatal(err)
	}
	for _, e := range got.Errors {
		t.Errorf("complaint: %s\n%s", e.Message, written(t, d, WebVTT))
	}
	compareOutside(t, got.Cues, d, true)
}

// Source: npm node-webvtt, strict mode.
func TestVTTByNodeWebvtt(t *testing.T) {
	const script = `
const r = require('node-webvtt').parse(require('fs').readFileSync(0, 'utf8'), {strict: true});
console.log(JSON.stringify({cues: r.cues.map(c => ({start: c.start, end: c.end, text: c.text}))}));`
	var got struct{ Cues []outsideCue }
	d := farBank()
	d.Comments = nil // that parser takes no notes
	if err := json.Unmarshal(node(t, "node-webvtt", script, written(t, d, WebVTT)), &got); err != nil {
		t.Fatal(err)
	}
	if len(got.Cues) != len(d.Cues) {
		t.Errorf("got %d cues, want %d", len(got.Cues), len(d.Cues))
	}
}

func compareOutside(t *testing.T, got []outsideCue, d *Document, native bool) {
	t.Helper()
	if len(got) != len(d.Cues) {
		t.Fatalf("got %d cues, want %d: %v", len(got), len(d.Cues), got)
	}
	w := &writer{count: map[string]int{}}
	for i, c := range d.Cues {
		var lines []string
		for _, l := range w.compose(&c, native) {
			lines = append(lines, l.Plain())
		}
		want := outsideCue{c.In.Seconds(), c.Out.Seconds(), strings.Join(lines, "\n")}
		if g := got[i]; g.Text != want.Text || g.Start-want.Start > 0.0051 || want.Start-g.Start > 0.0051 || g.End-want.End > 0.0051 || want.End-g.End > 0.0051 {
			t.Errorf("cue %d: got %+v, want %+v", i, g, want)
		}
	}
}

// Source: ffmpeg reads what we write, cue for cue.
func TestFfmpegReadsOurs(t *testing.T) {
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		t.Skip("ffmpeg not found: apt-get install ffmpeg")
	}
	for _, f := range []Format{SRT, WebVTT, ASS} {
		t.Run(string(f), func(t *testing.T) {
			d := farBank()
			in := filepath.Join(t.TempDir(), "x."+string(f))
			if err := os.WriteFile(in, []byte(written(t, d, f)), 0o600); err != nil {
				t.Fatal(err)
			}
			cmd := exec.Command(ffmpeg, "-v", "error", "-i", in, "-c:s", "srt", "-f", "srt", "-")
			var stderr bytes.Buffer
			cmd.Stderr = &stderr
			out, err := cmd.Output()
			if err != nil {
				t.Fatalf("ffmpeg: %v: %s", err, stderr.String())
			}
			compareOutside(t, simpleSRT(t, string(out)), d, f != SRT)
		})
	}
}

// simpleSRT reads ffmpeg's output without our reader: blocks between blank
// lines, tags taken out.
func simpleSRT(t *testing.T, s string) []outsideCue {
	t.Helper()
	var out []outsideCue
	for block := range strings.SplitSeq(strings.TrimSpace(strings.ReplaceAll(s, "\r", "")), "\n\n") {
		lines := strings.Split(block, "\n")
		if len(lines) < 3 {
			t.Fatalf("block %q", block)
		}
		var v [8]int
		if _, err := fmt.Sscanf(lines[1], "%d:%d:%d,%d --> %d:%d:%d,%d", &v[0], &v[1], &v[2], &v[3], &v[4], &v[5], &v[6], &v[7]); err != nil {
			t.Fatalf("%q: %v", lines[1], err)
		}
		at := func(v []int) float64 { return float64(v[0]*3600+v[1]*60+v[2]) + float64(v[3])/1000 }
		text := strings.Join(lines[2:], "\n")
		for _, tag := range []string{"<i>", "</i>"} {
			text = strings.ReplaceAll(text, tag, "")
		}
		if i := strings.Index(text, "<font"); i == 0 {
			text = strings.TrimSuffix(text[strings.IndexByte(text, '>')+1:], "</font>")
		}
		out = append(out, outsideCue{at(v[:4]), at(v[4:]), text})
	}
	return out
}
