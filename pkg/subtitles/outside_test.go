package subtitles

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"rushlight/pkg/timedtext"
)

var talks = []string{"en", "de", "fr", "ja", "ar"}

// plainCue is a cue as another program reads it, times in milliseconds.
type plainCue struct {
	In, Out int64
	Text    string
}

// wanted is the draft in the same form, dashes as text.
func wanted(doc *timedtext.Document) []plainCue {
	var out []plainCue
	for _, c := range doc.Cues {
		text := strings.Join((&checker{}).screen(c), "\n")
		out = append(out, plainCue{c.In.Millis(0), c.Out.Millis(0), text})
	}
	return out
}

func written(t *testing.T, doc *timedtext.Document, f timedtext.Format) []byte {
	t.Helper()
	var b bytes.Buffer
	if _, err := timedtext.Write(&b, doc, f, timedtext.WriteOptions{}); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func same(t *testing.T, who string, got, want []plainCue) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%s reads %d cues, want %d", who, len(got), len(want))
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("%s reads cue %d as %+v, want %+v", who, i+1, got[i], want[i])
		}
	}
}

var srtCue = regexp.MustCompile(`(?m)^\d+\n(\d+):(\d+):(\d+),(\d+) --> (\d+):(\d+):(\d+),(\d+)\n((?:.+\n)+)`)

// TestFfmpegReadsDrafts: ffmpeg reads each draft, written as SRT and as
// WebVTT, and writes it as SRT, cue for cue the same.
func TestFfmpegReadsDrafts(t *testing.T) {
	if _, err := exec.LookPath("ffmpeg"); err != nil {
		t.Skip("ffmpeg not found: apt-get install ffmpeg")
	}
	for _, language := range talks {
		doc, _ := mustDraft(t, readTalk(t, "testdata/talk."+language+".txt"), DefaultLimits(language))
		for _, f := range []timedtext.Format{timedtext.SRT, timedtext.WebVTT} {
			path := filepath.Join(t.TempDir(), "draft."+string(f))
			if err := os.WriteFile(path, written(t, doc, f), 0o644); err != nil {
				t.Fatal(err)
			}
			out, err := exec.Command("ffmpeg", "-v", "error", "-i", path, "-f", "srt", "-").Output()
			if err != nil {
				t.Fatalf("%s, %s: %v", language, f, err)
			}
			var got []plainCue
			for _, m := range srtCue.FindAllStringSubmatch(strings.ReplaceAll(string(out), "\r", ""), -1) {
				got = append(got, plainCue{millis(m[1:5]), millis(m[5:9]), strings.TrimRight(m[9], "\n")})
			}
			same(t, "ffmpeg ("+language+", "+string(f)+")", got, wanted(doc))
		}
	}
}

func millis(f []string) int64 {
	var v [4]int64
	for i := range v {
		v[i], _ = strconv.ParseInt(f[i], 10, 64)
	}
	return ((v[0]*60+v[1])*60+v[2])*1000 + v[3]
}

// The W3C's own parser complains of everything that is not valid WebVTT.
const readWebVTT = `
const { WebVTTParser } = require('webvtt-parser');
const { cues, errors } = new WebVTTParser().parse(require('fs').readFileSync(0, 'utf8'), 'metadata');
console.log(JSON.stringify({ Errors: errors.map(e => e.line + ': ' + e.message),
  Cues: cues.map(c => ({ In: Math.round(c.startTime * 1000), Out: Math.round(c.endTime * 1000), Text: c.text })) }));`

// TestWebVTTParserReadsDrafts: npm webvtt-parser 2.2 (github.com/w3c/webvtt.js)
// finds nothing wrong and reads the same cues.
func TestWebVTTParserReadsDrafts(t *testing.T) {
	root := os.Getenv("RUSHLIGHT_NPM")
	if _, err := os.Stat(filepath.Join(root, "node_modules", "webvtt-parser")); root == "" || err != nil {
		t.Skip("webvtt-parser not found: npm install --prefix DIR webvtt-parser, and set RUSHLIGHT_NPM=DIR")
	}
	for _, language := range talks {
		doc, _ := mustDraft(t, readTalk(t, "testdata/talk."+language+".txt"), DefaultLimits(language))
		cmd := exec.Command("node", "-e", readWebVTT)
		cmd.Env = append(os.Environ(), "NODE_PATH="+filepath.Join(root, "node_modules"))
		cmd.Stdin = bytes.NewReader(written(t, doc, timedtext.WebVTT))
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("%s: node: %v", language, err)
		}
		var got struct {
			Errors []string
			Cues   []plainCue
		}
		if err := json.Unmarshal(out, &got); err != nil {
			t.Fatal(err)
		}
		if len(got.Errors) > 0 {
			t.Errorf("%s: webvtt-parser complains: %v", language, got.Errors)
		}
		same(t, "webvtt-parser ("+language+")", got.Cues, wanted(doc))
	}
}

// TestReadBack: a draft written as SRT or WebVTT and read by our own reader
// breaks the same limits.
func TestReadBack(t *testing.T) {
	for _, language := range talks {
		lim := DefaultLimits(language)
		doc, found := mustDraft(t, readTalk(t, "testdata/talk."+language+".txt"), lim)
		for _, f := range []timedtext.Format{timedtext.SRT, timedtext.WebVTT} {
			back, err := timedtext.Read(bytes.NewReader(written(t, doc, f)), timedtext.ReadOptions{Name: "draft." + string(f)})
			if err != nil {
				t.Fatalf("%s, %s: %v", language, f, err)
			}
			got := Check(back, lim)
			if len(got) != len(found) {
				t.Errorf("%s, %s: read back %v, want %v", language, f, got, found)
				continue
			}
			for i := range found {
				if got[i] != found[i] {
					t.Errorf("%s, %s: read back %s, want %s", language, f, got[i], found[i])
				}
			}
		}
	}
}
