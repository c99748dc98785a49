package interchange

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"rushlight/pkg/timecode"
)

func TestGolden(t *testing.T) {
	c := ferry()
	var edl, otio, paper, csv bytes.Buffer
	report, err := WriteEDL(&edl, c, EDLOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if report.Events != 4 || report.Reels["D2-INT2"] != "D2INT2" || report.Reels["D1-WILF"] != "D1WILF" {
		t.Errorf("report: %+v", report)
	}
	if err := WriteOTIO(&otio, c); err != nil {
		t.Fatal(err)
	}
	if err := WritePaper(&paper, c, PaperOptions{Target: 12 * timecode.Second}); err != nil {
		t.Fatal(err)
	}
	if err := WriteCSV(&csv, c); err != nil {
		t.Fatal(err)
	}
	golden(t, "ferry.edl", edl.Bytes())
	golden(t, "ferry.otio", otio.Bytes())
	golden(t, "ferry.md", paper.Bytes())
	golden(t, "ferry.csv", csv.Bytes())
}

// The list in the documentation is the one that is written.
func TestDocumentation(t *testing.T) {
	doc, err := os.ReadFile(filepath.Join("..", "..", "docs", "formats-edit.md"))
	if err != nil {
		t.Fatal(err)
	}
	list, err := os.ReadFile(filepath.Join("testdata", "ferry.edl"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Contains(doc, append([]byte("```\n"), list...)) {
		t.Error("docs/formats-edit.md does not hold testdata/ferry.edl")
	}
}
