package timedtext

import (
	"fmt"
	"io"
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

// Every document of the suites, written in its own format and read again, says
// the same, except for what Write says is lost.
func TestRewriteSuites(t *testing.T) {
	for _, dir := range []string{"webvtt/wpt-file-parsing", "webvtt/wpt-cue-parsing", "srt", "ebu-stl/files", "imsc/imsc1/ttml", "imsc/imsc1_1/ttml", "ebu-tt-d/ttml"} {
		t.Run(dir, func(t *testing.T) {
			whole, all := 0, 0
			for _, path := range append(glob(t, corpora(t, dir), "*"), deeper(t, corpora(t, dir))...) {
				switch filepath.Ext(path) {
				case ".vtt", ".srt", ".stl", ".ttml", ".xml":
				default:
					continue
				}
				d, err := readFile(t, path, ReadOptions{})
				if err != nil {
					t.Errorf("%s: %v", filepath.Base(path), err)
					continue
				}
				if len(settled(d).Cues) == 0 {
					continue
				}
				file := written(t, d, d.Format)
				lost, err := Write(io.Discard, d, d.Format, WriteOptions{Base: at25})
				if err != nil {
					t.Fatal(err)
				}
				again, err := Read(strings.NewReader(file), ReadOptions{As: d.Format})
				if err != nil {
					t.Errorf("%s: read again: %v\n%s", filepath.Base(path), err, file)
					continue
				}
				all++
				if len(lost) > 0 {
					continue
				}
				whole++
				if got, want := told(again), told(settled(d)); got != want {
					t.Errorf("%s: got\n%s\nwant\n%s", filepath.Base(path), got, want)
				}
				if d.Format == WebVTT {
					if got, want := fmt.Sprint(again.Regions), fmt.Sprint(d.Regions); got != want {
						t.Errorf("%s: got regions %s, want %s", filepath.Base(path), got, want)
					}
					for i := range again.Cues {
						if got, want := fmt.Sprint(again.Cues[i].Settings), fmt.Sprint(d.Cues[i].Settings); got != want {
							t.Errorf("%s: got settings %s, want %s", filepath.Base(path), got, want)
						}
					}
				}
			}
			t.Logf("%d of %d documents without loss", whole, all)
		})
	}
}
