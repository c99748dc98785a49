package timedtext

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode"

	"rushlight/pkg/timecode"
)

const imscScript = `
const D = require('imsc/src/main/js/doc.js'), I = require('imsc/src/main/js/isd.js'), fs = require('fs');
const h = {info() {}, warn() {}, error() {}, fatal() {}};
const out = {};
for (const f of fs.readFileSync(0, 'utf8').split('\n').filter(x => x)) {
  try {
    const doc = D.fromXML(fs.readFileSync(f, 'utf8').replace(/^\ufeff/, ''), h);
    const times = doc.getMediaTimeEvents(), rows = [];
    for (let i = 0; i < times.length; i++) {
      const t = (times[i] + (i + 1 < times.length ? times[i + 1] : times[i] + 2)) / 2;
      let text = '';
      const walk = n => { if (n.text) text += n.text; (n.contents || []).forEach(walk); };
      I.generateISD(doc, t, h).contents.forEach(walk);
      rows.push({t: t, text: text});
    }
    out[f] = {rows: rows};
  } catch (e) { out[f] = {fail: String(e)}; }
}
console.log(JSON.stringify(out));`

// Source: npm imsc, the reference that the profile's test suite names: the text
// active at each time between two events, letter for letter (order of regions
// and white space aside).
func TestTTMLByImsc(t *testing.T) {
	files := ttmlFiles(t, "imsc/imsc1/ttml", "imsc/imsc1_1/ttml", "imsc/imsc1_3/ttml", "ebu-tt-d/ttml")
	node(t, "imsc", "", "") // skips where it is not there
	ref := imscReference(t, files)
	points, equal, whole, refused := 0, 0, 0, 0
	for _, f := range files {
		name := filepath.Base(f)
		if ref[f].Fail != "" {
			refused++
			continue
		}
		// As the file has it: before labels become speakers.
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		rd := &reader{doc: &Document{}}
		d := rd.doc
		if err := rd.readTTML(bytes.NewReader(data)); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		p, e := ref[f].equal(d)
		points, equal = points+p, equal+e
		if p == e {
			whole++
			continue
		}
		for _, row := range ref[f].Rows {
			if ours := textAt(d, timecode.FromSeconds(row.T)); lettersOf(ours) != lettersOf(row.Text) {
				t.Errorf("%s at %.3f: got %q, reference %q", name, row.T, ours, row.Text)
				break
			}
		}
	}
	t.Logf("FIGURE | Timed text | text of TTML at every time, beside npm imsc | %d of %d times (%.2f %%), in %d of %d documents; the reference refused %d | all", equal, points, 100*float64(equal)/float64(points), whole, len(files)-refused, refused)
}

// ttmlFiles lists the documents in folders and one folder down.
func ttmlFiles(t *testing.T, dirs ...string) []string {
	t.Helper()
	var files []string
	for _, dir := range dirs {
		for _, f := range append(glob(t, corpora(t, dir), "*"), deeper(t, corpora(t, dir))...) {
			if e := filepath.Ext(f); e == ".ttml" || e == ".xml" {
				abs, err := filepath.Abs(f)
				if err != nil {
					t.Fatal(err)
				}
				files = append(files, abs)
			}
		}
	}
	return files
}

// imscDoc is what npm imsc makes of a document: the text between two events.
type imscDoc struct {
	Rows []struct {
		T    float64
		Text string
	}
	Fail string
}

// equal counts the times, and those at which a document has the same text.
func (r imscDoc) equal(d *Document) (points, equal int) {
	for _, row := range r.Rows {
		points++
		if lettersOf(textAt(d, timecode.FromSeconds(row.T))) == lettersOf(row.Text) {
			equal++
		}
	}
	return points, equal
}

// imscReference reads files with npm imsc; nil where it is not there.
func imscReference(t *testing.T, files []string) map[string]imscDoc {
	t.Helper()
	dir := os.Getenv("RUSHLIGHT_NPM")
	if _, err := os.Stat(filepath.Join(dir, "node_modules", "imsc")); dir == "" || err != nil {
		return nil
	}
	var out map[string]imscDoc
	if err := json.Unmarshal(node(t, "imsc", imscScript, strings.Join(files, "\n")), &out); err != nil {
		t.Fatal(err)
	}
	return out
}

func textAt(d *Document, at timecode.Ticks) string {
	var b strings.Builder
	for _, c := range d.Cues {
		if at >= c.In && (c.OpenEnd || at < c.Out) {
			b.WriteString(c.Plain())
		}
	}
	return b.String()
}

func lettersOf(s string) string {
	out := slices.DeleteFunc([]rune(s), unicode.IsSpace)
	slices.Sort(out)
	return string(out)
}

// Source: npm imsc reads the TTML and the EBU-TT-D that we write.
func TestImscReadsOurs(t *testing.T) {
	for _, f := range []Format{TTML, EBUTTD} {
		t.Run(string(f), func(t *testing.T) { imscReads(t, f) })
	}
}

func imscReads(t *testing.T, f Format) {
	d := farBank()
	path := filepath.Join(t.TempDir(), "x.ttml")
	if err := os.WriteFile(path, []byte(written(t, d, f)), 0o600); err != nil {
		t.Fatal(err)
	}
	var got map[string]struct {
		Rows []struct {
			T    float64
			Text string
		}
		Fail string
	}
	if err := json.Unmarshal(node(t, "imsc", imscScript, path), &got); err != nil {
		t.Fatal(err)
	}
	if got[path].Fail != "" || len(got[path].Rows) < len(d.Cues) {
		t.Fatalf("got %+v", got[path])
	}
	w := &writer{count: map[string]int{}}
	for _, row := range got[path].Rows {
		want := ""
		for _, c := range d.Cues {
			if c.Contains(timecode.FromSeconds(row.T)) {
				for _, l := range w.compose(&c, true) {
					want += l.Plain()
				}
			}
		}
		if row.Text != want {
			t.Errorf("at %.3f: got %q, want %q", row.T, row.Text, want)
		}
	}
}
