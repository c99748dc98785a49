package subtitles

import (
	"bufio"
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

var update = flag.Bool("update", false, "write the golden files anew")

func secs(s float64) timecode.Ticks { return timecode.FromSeconds(s) }

func span(in, out float64) timecode.Span { return timecode.Span{In: secs(in), Out: secs(out)} }

// piece is a quote that lies on the timeline where it lies in its recording.
func piece(in, out float64, speaker, text string) Piece {
	return Piece{At: secs(in), Quote: story.Quote{Reel: "D2-INT2", Speaker: speaker, Span: span(in, out), Text: text}}
}

// readTalk reads pieces from a file in testdata.
func readTalk(t *testing.T, path string) []Piece {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out []Piece
	for sc := bufio.NewScanner(f); sc.Scan(); {
		line := sc.Text()
		var in, end float64
		switch {
		case line == "" || line[0] == '#':
		case line[0] == '~':
			if _, err := fmt.Sscanf(line, "~ %g %g", &in, &end); err != nil {
				t.Fatalf("%s: %q: %v", path, line, err)
			}
			p := &out[len(out)-1]
			p.Speech = append(p.Speech, span(in, end))
		default:
			if _, err := fmt.Sscanf(line, "%g %g", &in, &end); err != nil {
				t.Fatalf("%s: %q: %v", path, line, err)
			}
			_, rest, _ := strings.Cut(line, " ")
			_, rest, _ = strings.Cut(rest, " ")
			who, text, _ := strings.Cut(rest, ": ")
			out = append(out, piece(in, end, who, text))
		}
	}
	return out
}

// show prints a draft for reading.
func show(doc *timedtext.Document, found []Finding) string {
	var b strings.Builder
	for _, c := range doc.Cues {
		fmt.Fprintf(&b, "%s  %s --> %s\n%s\n\n", c.ID, c.In, c.Out, strings.Join((&checker{}).screen(c), "\n"))
	}
	for _, f := range found {
		fmt.Fprintf(&b, "%s: %s\n", f.Severity, f)
	}
	return b.String()
}

func mustDraft(t *testing.T, pieces []Piece, lim Limits) (*timedtext.Document, []Finding) {
	t.Helper()
	doc, found, err := Draft(pieces, lim)
	if err != nil {
		t.Fatal(err)
	}
	return doc, found
}
