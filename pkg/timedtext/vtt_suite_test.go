package timedtext

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rushlight/pkg/timecode"
)

// vttFacts makes what the W3C tests look at: the attributes of the DOM's
// VTTCue (W3C WebVTT section 7) from what the file parser gives.
func vttFacts(t *testing.T, data []byte) map[string]any {
	t.Helper()
	rd := &reader{doc: &Document{}}
	var cues []any
	v := &vttReader{reader: rd, lines: newLines(strings.NewReader(string(data)), false)}
	v.emit = func(c *vttCue) {
		cues = append(cues, vttCueFacts(c.id, c.text, c.in, c.out, c.settings, rd.doc.Regions))
	}
	if err := v.read(); err != nil {
		t.Logf("read: %v", err)
	}
	return map[string]any{"cues": cues}
}

// vttCueFacts are the attributes of one cue.
func vttCueFacts(id, text string, in, out timecode.Ticks, s map[string]string, regions []Region) map[string]any {
	get := func(k, def string) string {
		if s[k] != "" {
			return s[k]
		}
		return def
	}
	num := func(x string) float64 {
		f, _ := strconv.ParseFloat(strings.TrimSuffix(x, "%"), 64)
		return f
	}
	cue := map[string]any{
		"id": id, "text": text, "startTime": inSeconds(in), "endTime": inSeconds(out), "align": get("align", "center"),
		"vertical": s["vertical"], "size": num(get("size", "100%")), "snapToLines": !strings.Contains(s["line"], "%"),
		"line": any("auto"), "lineAlign": "start", "position": any("auto"), "positionAlign": "auto", "region": nil,
	}
	if at, align, has := strings.Cut(s["line"], ","); at != "" {
		cue["line"] = num(at)
		if has {
			cue["lineAlign"] = align
		}
	}
	if at, align, has := strings.Cut(s["position"], ","); at != "" {
		cue["position"] = num(at)
		if has {
			cue["positionAlign"] = align
		}
	}
	for _, r := range slices.Backward(regions) {
		if s["region"] != "" && r.ID == s["region"] {
			cue["region"] = vttRegionFacts(r, num)
			break
		}
	}
	return cue
}

func inSeconds(t timecode.Ticks) float64 { return float64(t.Millis(timecode.Nearest)) / 1000 }

func vttRegionFacts(r Region, num func(string) float64) map[string]any {
	out := map[string]any{
		"id": r.ID, "width": 100.0, "lines": 3.0, "regionAnchorX": 0.0, "regionAnchorY": 100.0,
		"viewportAnchorX": 0.0, "viewportAnchorY": 100.0, "scroll": r.Settings["scroll"],
	}
	for k, v := range r.Settings {
		x, y, _ := strings.Cut(v, ",")
		switch k {
		case "width", "lines":
			out[k] = num(v)
		case "regionanchor":
			out["regionAnchorX"], out["regionAnchorY"] = num(x), num(y)
		case "viewportanchor":
			out["viewportAnchorX"], out["viewportAnchorY"] = num(x), num(y)
		}
	}
	return out
}

var pathStep = regexp.MustCompile(`[A-Za-z]+|\d+`)

func follow(v any, path string) (any, error) {
	for _, step := range pathStep.FindAllString(path, -1) {
		switch at := v.(type) {
		case map[string]any:
			v = at[step]
		case []any:
			if step == "length" {
				v = float64(len(at))
				continue
			}
			i, err := strconv.Atoi(step)
			if err != nil || i >= len(at) {
				return nil, fmt.Errorf("no %s in a list of %d", step, len(at))
			}
			v = at[i]
		case nil:
			if step == "length" {
				return 0.0, nil
			}
			return nil, fmt.Errorf("no %s in nothing", step)
		default:
			return nil, fmt.Errorf("no %s in %T", step, v)
		}
	}
	return v, nil
}

// vttHolds tells whether a value is as a fact of the suite says.
func vttHolds(v any, fact map[string]json.RawMessage) bool {
	for kind, raw := range fact {
		var want any
		_ = json.Unmarshal(raw, &want)
		switch kind {
		case "equals":
			if !reflect.DeepEqual(v, want) {
				return false
			}
		case "not_equals":
			if reflect.DeepEqual(v, want) {
				return false
			}
		case "approx":
			f, isNum := v.(float64)
			w, _ := want.(float64)
			if !isNum || f-w >= 0.01 || w-f >= 0.01 {
				return false
			}
		}
	}
	return true
}

// Source: web-platform-tests webvtt/parsing/file-parsing, as data (seen).
func TestVTTFileSuite(t *testing.T) {
	dir := corpora(t, "webvtt", "wpt-file-parsing")
	raw, err := os.ReadFile(filepath.Join(dir, "expected.json"))
	if err != nil {
		t.Fatal(err)
	}
	var expected map[string][]map[string]json.RawMessage
	if err := json.Unmarshal(raw, &expected); err != nil {
		t.Fatal(err)
	}
	files, whole, facts, held := 0, 0, 0, 0
	for name, list := range expected {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		got := vttFacts(t, data)
		good := true
		for _, m := range list {
			var path string
			_ = json.Unmarshal(m["path"], &path)
			v, err := follow(got, path)
			ok := err == nil && vttHolds(v, m)
			facts++
			if ok {
				held++
				continue
			}
			good = false
			t.Errorf("%s: %s: got %v (%v), want %s", name, path, v, err, m)
		}
		files++
		if good {
			whole++
		}
	}
	t.Logf("FIGURE | Timed text | W3C WebVTT file parsing | %d of %d files, %d of %d facts | all", whole, files, held, facts)
	// The whole reader takes every file that begins as WebVTT.
	for _, path := range glob(t, dir, "*.vtt") {
		if _, err := readFile(t, path, ReadOptions{}); err != nil {
			t.Errorf("%s: %v", filepath.Base(path), err)
		}
	}
}

// Source: web-platform-tests webvtt/parsing/cue-text-parsing, as data (seen).
func TestVTTCueSuite(t *testing.T) {
	dir := corpora(t, "webvtt", "wpt-cue-parsing")
	all, held := 0, 0
	for _, path := range glob(t, dir, "*.json") {
		raw, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var cases []struct{ Text, ExpectedTree string }
		if err := json.Unmarshal(raw, &cases); err != nil {
			t.Fatal(err)
		}
		for _, c := range cases {
			all++
			// Through the file parser, as the tests are run in a browser.
			facts := vttFacts(t, []byte("WEBVTT\n\n00:00.000 --> 00:01.000\n"+c.Text))
			text, err := follow(facts, "cues[0].text")
			if err != nil {
				t.Fatal(err)
			}
			var b strings.Builder
			printTree(&b, vttTree(text.(string)), 0)
			if b.String() != c.ExpectedTree {
				t.Errorf("%s: %q: got\n%swant\n%s", filepath.Base(path), text, b.String(), c.ExpectedTree)
				continue
			}
			held++
		}
	}
	t.Logf("FIGURE | Timed text | W3C WebVTT cue text | %d of %d trees | all", held, all)
}

// printTree prints a tree as the W3C tests have it, in the DOM's names.
func printTree(b *strings.Builder, n *vttNode, depth int) {
	indent := "| " + strings.Repeat("  ", depth)
	for _, c := range n.children {
		switch c.name {
		case "":
			fmt.Fprintf(b, "%s\"%s\"\n", indent, c.text)
			continue
		case "<>":
			fmt.Fprintf(b, "%s<?timestamp %s>\n", indent, c.time)
			continue
		case "c", "v", "lang":
			fmt.Fprintf(b, "%s<span>\n", indent)
		default:
			fmt.Fprintf(b, "%s<%s>\n", indent, c.name)
		}
		if len(c.classes) > 0 {
			fmt.Fprintf(b, "%s  class=\"%s\"\n", indent, strings.Join(c.classes, " "))
		}
		switch c.name {
		case "v":
			fmt.Fprintf(b, "%s  title=\"%s\"\n", indent, c.annotation)
		case "lang":
			fmt.Fprintf(b, "%s  lang=\"%s\"\n", indent, c.annotation)
		}
		printTree(b, c, depth+1)
	}
}
