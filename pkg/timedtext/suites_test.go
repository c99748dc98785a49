package timedtext

import (
	"path/filepath"
	"strings"
	"testing"
)

// Source: W3C imsc-tests and IRT's EBU-TT-D samples (seen): every document is
// valid, so none may be an error; the words in them must come out.
func TestTTMLSuites(t *testing.T) {
	for _, dir := range []string{"imsc/imsc1/ttml", "imsc/imsc1_1/ttml", "imsc/imsc1_3/ttml", "ebu-tt-d/ttml"} {
		t.Run(dir, func(t *testing.T) {
			files, read, cues := 0, 0, 0
			for _, path := range append(glob(t, corpora(t, dir), "*"), deeper(t, corpora(t, dir))...) {
				if e := filepath.Ext(path); e != ".ttml" && e != ".xml" {
					continue
				}
				files++
				d, err := readFile(t, path, ReadOptions{})
				if err != nil {
					t.Errorf("%s: %v", filepath.Base(path), err)
					continue
				}
				read++
				cues += len(d.Cues)
				for _, r := range d.Repairs {
					t.Logf("%s: %v", filepath.Base(path), r)
				}
			}
			t.Logf("%s: %d of %d documents read, %d cues", dir, read, files, cues)
		})
	}
}

func deeper(t *testing.T, dir string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*", "*"))
	if err != nil {
		t.Fatal(err)
	}
	return files
}

// Source: IRT scf SRT files (seen). No word is lost.
func TestSRTSuite(t *testing.T) {
	for _, path := range glob(t, corpora(t, "srt"), "*.srt") {
		d, err := readFile(t, path, ReadOptions{})
		if err != nil {
			t.Errorf("%s: %v", filepath.Base(path), err)
			continue
		}
		t.Logf("%s: %d cues, %d repairs", filepath.Base(path), len(d.Cues), len(d.Repairs))
		if strings.Contains(path, "0705-002") {
			want := "This is a test subtitle with the characters & and <."
			if got := d.Cues[0].Plain(); got != want {
				t.Errorf("got %q, want %q", got, want)
			}
		}
	}
}
