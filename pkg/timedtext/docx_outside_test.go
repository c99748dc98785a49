package timedtext

import (
	"bytes"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"unicode"
)

// pythonDocx runs a script with python-docx, or skips.
func pythonDocx(t *testing.T, script, file string) []byte {
	t.Helper()
	for _, python := range []string{"python3", "/usr/bin/python3"} {
		if exec.Command(python, "-c", "import docx").Run() != nil {
			continue
		}
		cmd := exec.Command(python, "-c", script, file)
		var stderr bytes.Buffer
		cmd.Stderr = &stderr
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("python3: %v: %s", err, stderr.String())
		}
		return out
	}
	t.Skip("python-docx not found: apt-get install python3-docx")
	return nil
}

// docxFile writes the far bank with everything that the format carries.
func docxFile(t *testing.T) (path string, d *Document) {
	t.Helper()
	d = farBank()
	d.Cues[0].Lines[0][0].Style = Style{Bold: true, Colour: "#ff8800"}
	d.Comments = append(d.Comments, "one\ntwo")
	var b bytes.Buffer
	lost, err := Write(&b, d, DOCX, WriteOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if len(lost) > 0 {
		t.Fatalf("lost %v", lost)
	}
	path = filepath.Join(t.TempDir(), "x.docx")
	if err := os.WriteFile(path, b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	return path, d
}

// wantRows are the rows that the far bank must have in a table.
func wantRows(d *Document) [][]string {
	rows := [][]string{{"In", "Out", "Speaker", "Text"}}
	w := &writer{count: map[string]int{}}
	for _, c := range d.Cues {
		var lines []string
		for _, l := range w.compose(&c, true) {
			lines = append(lines, l.Plain())
		}
		rows = append(rows, []string{exact(c.In), exact(c.Out), c.Speaker(), strings.Join(lines, "\n")})
	}
	return rows
}

// Source: python-docx (Debian python3-docx) opens what we write: every cell,
// the paragraphs, title, language and styles of runs.
func TestPythonDocxReadsOurs(t *testing.T) {
	path, d := docxFile(t)
	const script = `
import docx, json, sys
d = docx.Document(sys.argv[1])
run = d.tables[0].rows[1].cells[3].paragraphs[0].runs[0]
print(json.dumps({"rows": [[c.text for c in r.cells] for r in d.tables[0].rows], "paras": [[p.style.name, p.text] for p in d.paragraphs],
  "title": d.core_properties.title, "language": d.core_properties.language, "bold": bool(run.bold), "colour": str(run.font.color.rgb),
  "italic": [[r.text for r in p.runs if r.italic] for p in d.tables[0].rows[3].cells[3].paragraphs][0]}))`
	var got struct {
		Rows, Paras             [][]string
		Title, Language, Colour string
		Bold                    bool
		Italic                  []string
	}
	if err := json.Unmarshal(pythonDocx(t, script, path), &got); err != nil {
		t.Fatal(err)
	}
	want := wantRows(d)
	if len(got.Rows) != len(want) {
		t.Fatalf("got %d rows, want %d", len(got.Rows), len(want))
	}
	for i := range want {
		if g, w := strings.Join(got.Rows[i], "|"), strings.Join(want[i], "|"); g != w {
			t.Errorf("row %d: got %q, want %q", i, g, w)
		}
	}
	var paras []string
	for _, p := range got.Paras {
		paras = append(paras, strings.Join(p, ": "))
	}
	if g, w := strings.Join(paras, "|"), "Title: The Far Bank|Note: second day, on the ferry|Note: one\ntwo|Normal: "; g != w {
		t.Errorf("got paragraphs %q, want %q", g, w)
	}
	if got.Title != d.Title || got.Language != d.Language || !got.Bold || got.Colour != "FF8800" || strings.Join(got.Italic, "|") != "before" {
		t.Errorf("got %+v", got)
	}
}

// Source: docx2txt (Debian) finds every word of text.
func TestDocx2txtReadsOurs(t *testing.T) {
	if _, err := exec.LookPath("docx2txt"); err != nil {
		t.Skip("docx2txt not found: apt-get install docx2txt")
	}
	path, d := docxFile(t)
	out, err := exec.Command("docx2txt", path, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range wantRows(d) {
		for _, cell := range row {
			// It puts dashes, dots and quotation marks in ASCII.
			for word := range strings.FieldsFuncSeq(cell, func(r rune) bool { return unicode.IsSpace(r) || unicode.IsPunct(r) || unicode.IsSymbol(r) }) {
				if !strings.Contains(string(out), word) {
					t.Errorf("%q not found in\n%s", word, out)
				}
			}
		}
	}
}

// Source: pandoc (Debian) reads what we write, cell for cell.
func TestPandocReadsOurs(t *testing.T) {
	if _, err := exec.LookPath("pandoc"); err != nil {
		t.Skip("pandoc not found: apt-get install pandoc")
	}
	path, d := docxFile(t)
	out, err := exec.Command("pandoc", "-f", "docx", "-t", "plain", "--columns=2000", path).Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, row := range wantRows(d)[1:] {
		for _, cell := range row {
			for line := range strings.SplitSeq(cell, "\n") {
				// Its plain text marks slant with underscores.
				if !strings.Contains(strings.NewReplacer("_", "").Replace(string(out)), line) {
					t.Errorf("%q not found in\n%s", line, out)
				}
			}
		}
	}
}

// Source: python-docx writes a transcript, we read it.
func TestReadPythonDocx(t *testing.T) {
	const script = `
import docx, sys
d = docx.Document()
d.core_properties.title, d.core_properties.language = "The Far Bank", "en-GB"
d.add_heading("The Far Bank", 0)
d.add_heading("Second day", 1)
p = d.add_paragraph("00:00:10 ")
p.add_run("INES:").bold = True
p.add_run(" It was ")
p.add_run("the bell").italic = True
p.add_run(".")
d.add_paragraph("[00:00:20] JOSS: Who rang it?", style="List Bullet")
t = d.add_table(rows=1, cols=3)
for c, s in zip(t.rows[0].cells, ["Timecode", "Speaker", "Text"]): c.text = s
for row in [("00:01:00", "Ines", "People."), ("00:01:05", "Joss", "Which people?\nFrom here?")]:
  for c, s in zip(t.add_row().cells, row): c.text = s
d.save(sys.argv[1])`
	path := filepath.Join(t.TempDir(), "x.docx")
	pythonDocx(t, script, path)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	d, err := readBytes(data)
	if err != nil {
		t.Fatal(err)
	}
	want := "10-20… [INES] It was  [INES] the bell [INES] .\n20-60… [JOSS] Who rang it?\n60-65… [Ines] People.\n65-end… [Joss] Which people? / [Joss] From here?"
	if got := told(d); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if d.Title != "The Far Bank" || d.Language != "en-GB" || strings.Join(d.Comments, "|") != "Second day" || !d.Cues[0].Lines[0][1].Style.Italic {
		t.Errorf("got %q %q %q", d.Title, d.Language, d.Comments)
	}
}

// Source: pandoc writes a transcript, we read it.
func TestReadPandoc(t *testing.T) {
	pandoc, err := exec.LookPath("pandoc")
	if err != nil {
		t.Skip("pandoc not found: apt-get install pandoc")
	}
	const text = `# The bell

**INES:** [00:00:10] It was *the* bell.

**JOSS:** [00:00:20] Who rang it?[^1]

[^1]: on the landing

| Time | Who | Text |
|---|---|---|
| 00:01:00 | Ines | People. |
| 00:01:05 | Joss | Which people? |
`
	for _, format := range []string{"docx", "odt"} {
		t.Run(format, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "x."+format)
			cmd := exec.Command(pandoc, "-f", "markdown", "-o", path)
			cmd.Stdin = strings.NewReader(text)
			if out, err := cmd.CombinedOutput(); err != nil {
				t.Fatalf("%v: %s", err, out)
			}
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			d, err := readBytes(data)
			if err != nil {
				t.Fatal(err)
			}
			want := "10-20… [INES] It was  [INES] the [INES]  bell.\n20-60… [JOSS] Who rang it?\n60-65… [Ines] People.\n65-end… [Joss] Which people?"
			if got := told(d); got != want {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
			if strings.Join(d.Comments, "|") != "The bell" || !d.Cues[0].Lines[0][1].Style.Italic {
				t.Errorf("got %q, %v", d.Comments, plainRuns(d.Cues[0].Lines))
			}
		})
	}
}
