package timedtext

import (
	"bytes"
	"encoding/json"
	"fmt"
	"html"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// score counts for both readers.
type score struct {
	suite, what      string
	of, ours, theirs int
}

// Our reader and go-astisub's over the same files with the same checkers; those
// of ours assert elsewhere what is only counted here. The table is for
// docs/figures.md.
func TestCorporaSideBySide(t *testing.T) {
	corpora(t, "webvtt", "wpt-file-parsing")
	scores := sideVTT(t)
	scores = append(scores, sideTTML(t)...)
	scores = append(scores, sideSTL(t)...)
	scores = append(scores, sideSRT(t)...)
	var b strings.Builder
	b.WriteString("| suite | counted | of | Rushlight | go-astisub v0.34.0 |\n|---|---|---|---|---|\n")
	for _, s := range scores {
		fmt.Fprintf(&b, "| %s | %s | %d | %d | %d |\n", s.suite, s.what, s.of, s.ours, s.theirs)
		t.Logf("FIGURE | Timed text | %s, %s, beside go-astisub | %d of %d (%d) | all", s.suite, s.what, s.ours, s.of, s.theirs)
		if s.ours < s.theirs {
			t.Errorf("%s, %s: got %d, want at least go-astisub's %d", s.suite, s.what, s.ours, s.theirs)
		}
	}
	t.Logf("\n%s", b.String())
}

var anyTag = regexp.MustCompile(`<[^>]*>`)

// sideVTT counts the files of which all facts hold. go-astisub takes tags apart,
// so for it the text is compared without them.
func sideVTT(t *testing.T) []score {
	t.Helper()
	dir := corpora(t, "webvtt", "wpt-file-parsing")
	raw, err := os.ReadFile(filepath.Join(dir, "expected.json"))
	if err != nil {
		t.Fatal(err)
	}
	var expected map[string][]map[string]json.RawMessage
	if err := json.Unmarshal(raw, &expected); err != nil {
		t.Fatal(err)
	}
	files, facts := score{suite: "W3C WebVTT file parsing", what: "files with every fact right"}, score{suite: "W3C WebVTT file parsing", what: "facts"}
	for name, list := range expected {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		files.of++
		ours := vttFacts(t, data)
		var other any
		if d, err := theirs(data, WebVTT); err == nil {
			cues := []any{}
			for _, c := range d.Cues {
				cues = append(cues, vttCueFacts(c.ID, c.Plain(), c.In, c.Out, c.Settings, d.Regions))
			}
			other = map[string]any{"cues": cues}
		}
		goodOurs, goodTheirs := true, other != nil
		for _, fact := range list {
			var path string
			_ = json.Unmarshal(fact["path"], &path)
			facts.of++
			v, err := follow(ours, path)
			if err == nil && vttHolds(v, fact) {
				facts.ours++
			} else {
				goodOurs = false
			}
			if strings.HasSuffix(path, ".text") {
				fact = withoutTags(fact)
			}
			if v, err = follow(other, path); other != nil && err == nil && vttHolds(v, fact) {
				facts.theirs++
			} else {
				goodTheirs = false
			}
		}
		if goodOurs {
			files.ours++
		}
		if goodTheirs {
			files.theirs++
		}
	}
	return []score{files, facts}
}

// withoutTags is a fact about text without tags and references.
func withoutTags(fact map[string]json.RawMessage) map[string]json.RawMessage {
	out := map[string]json.RawMessage{}
	for k, raw := range fact {
		var s string
		if err := json.Unmarshal(raw, &s); err == nil {
			raw, _ = json.Marshal(html.UnescapeString(anyTag.ReplaceAllString(s, "")))
		}
		out[k] = raw
	}
	return out
}

// sideTTML counts the documents read, and where npm imsc is there, those with
// the same text at all times.
func sideTTML(t *testing.T) []score {
	t.Helper()
	var out []score
	for _, s := range []struct {
		name string
		dirs []string
	}{{"W3C IMSC 1.0-1.3", []string{"imsc/imsc1/ttml", "imsc/imsc1_1/ttml", "imsc/imsc1_3/ttml"}}, {"IRT EBU-TT-D", []string{"ebu-tt-d/ttml"}}} {
		files := ttmlFiles(t, s.dirs...)
		read := score{suite: s.name, what: "documents read without error or panic", of: len(files)}
		whole := score{suite: s.name, what: "documents with the text of npm imsc at every time"}
		ref := imscReference(t, files)
		for _, f := range files {
			data, err := os.ReadFile(filepath.Clean(f))
			if err != nil {
				t.Fatal(err)
			}
			rd := &reader{doc: &Document{}}
			ours := rd.doc
			if err := rd.readTTML(bytes.NewReader(data)); err == nil {
				read.ours++
			}
			other, err := theirs(data, TTML)
			if err == nil {
				read.theirs++
			}
			r, ok := ref[f]
			if !ok || r.Fail != "" {
				continue
			}
			whole.of++
			if points, equal := r.equal(ours); points == equal {
				whole.ours++
			}
			if other != nil {
				if points, equal := r.equal(other); points == equal {
					whole.theirs++
				}
			}
		}
		out = append(out, read)
		if whole.of > 0 {
			out = append(out, whole)
		} else {
			t.Log("imsc not found: npm install --prefix DIR imsc, then set RUSHLIGHT_NPM=DIR, to compare text")
		}
	}
	return out
}

func sideSTL(t *testing.T) []score {
	t.Helper()
	quiet := func(string, ...any) {}
	facts, read := score{suite: "IRT EBU STL", what: "expectations about fields and text"}, score{suite: "IRT EBU STL", what: "files read without error or panic"}
	facts.of, facts.ours, _ = stlSuite(t, func(path string) (*Document, error) { return readFile(t, path, ReadOptions{}) }, quiet)
	other := func(path string) (*Document, error) {
		data, err := os.ReadFile(filepath.Clean(path))
		if err != nil {
			return nil, err
		}
		return theirs(data, STL)
	}
	_, facts.theirs, _ = stlSuite(t, other, quiet)
	for _, path := range glob(t, corpora(t, "ebu-stl", "files"), "*.stl") {
		read.of++
		if _, err := readFile(t, path, ReadOptions{}); err == nil {
			read.ours++
		}
		if _, err := other(path); err == nil {
			read.theirs++
		}
	}
	return []score{read, facts}
}
