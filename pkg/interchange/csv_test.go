package interchange

import (
	"bytes"
	"encoding/json"
	"errors"
	"os/exec"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

func TestPlainCell(t *testing.T) {
	cases := []struct{ in, want string }{
		{"", ""},
		{"bell", "bell"},
		{"=1+1", "'=1+1"},
		{"+44", "'+44"},
		{"-", "'-"},
		{"@SUM(A1)", "'@SUM(A1)"},
		{"\tx", "'\tx"},
		{"\rx", "'\rx"},
		{"a=b", "a=b"},
		{"'x", "'x"},
	}
	for _, c := range cases {
		if got := plainCell(c.in); got != c.want {
			t.Errorf("%q: got %q, want %q", c.in, got, c.want)
		}
	}
}

// Python's csv module, which follows RFC 4180, reads every field back.
func TestCSVAgainstPython(t *testing.T) {
	if _, err := exec.LookPath("python3"); err != nil {
		t.Skip("python3 not found: apt-get install python3")
	}
	c := ferry()
	c.Events[1].Text = "She said \"ring\", then:\r\n\"again\", twice;\nand left."
	c.Events[1].Speaker = "Corrigan, Ines"
	c.Events[1].Note = "@café 渡し"
	var b bytes.Buffer
	if err := WriteCSV(&b, c); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("python3", "-c", "import csv,io,json,sys\nd=sys.stdin.buffer.read().decode('utf-8')\nprint(json.dumps(list(csv.DictReader(io.StringIO(d,newline=''),strict=True))))")
	cmd.Stdin = &b
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	if err := json.Unmarshal(out, &rows); err != nil {
		t.Fatal(err)
	}
	if len(rows) != len(c.Events) {
		t.Fatalf("got %d rows, want %d", len(rows), len(c.Events))
	}
	for i, e := range c.Events {
		// encoding/csv writes a line break inside a field as CR LF.
		text := strings.ReplaceAll(rows[i]["text"], "\r\n", "\n")
		if want := strings.ReplaceAll(e.Text, "\r\n", "\n"); text != want {
			t.Errorf("row %d: got text %q, want %q", i+1, text, want)
		}
		if got := rows[i]["speaker"]; got != e.Speaker {
			t.Errorf("row %d: got speaker %q, want %q", i+1, got, e.Speaker)
		}
		if len(rows[i]) != len(csvHeader) {
			t.Errorf("row %d: got %d fields, want %d", i+1, len(rows[i]), len(csvHeader))
		}
	}
	if got, want := rows[1]["note"], "'@café 渡し"; got != want {
		t.Errorf("got note %q, want %q", got, want)
	}
	if got, want := rows[0]["source_in"], "10:04:12:05"; got != want {
		t.Errorf("got source_in %q, want %q", got, want)
	}
}

func TestCSVErrors(t *testing.T) {
	if err := WriteCSV(&bytes.Buffer{}, story.Cut{}); !errors.Is(err, ErrCut) {
		t.Errorf("got %v, want ErrCut", err)
	}
	if err := WriteCSV(brokenWriter{}, ferry()); !errors.Is(err, errBroken) {
		t.Errorf("got %v, want the writer's error", err)
	}
}
