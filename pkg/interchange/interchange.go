// Package interchange writes and reads cuts in the forms that other people and
// programs take: edit decision lists, OpenTimelineIO, paper edits, CSV.
//
// It opens no file and looks at no medium: it turns a story.Cut into bytes and
// back. It does not decide what is in a cut or where an edge lies (see
// selects); where a form cannot hold something, it says so in its report.
package interchange

import (
	"errors"
	"io"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// ErrFormat is wrapped by every error about a list or timeline that cannot be
// read.
var ErrFormat = errors.New("not understood")

// ErrCut is wrapped by every error about a cut that a form cannot hold.
var ErrCut = errors.New("cut cannot be written")

var errNotBuilt = errors.New("not built yet")

// PaperOptions says how a paper edit is written.
type PaperOptions struct {
	// Target is the wanted running time, 0 if none.
	Target timecode.Ticks
}

// WritePaper writes a paper edit in Markdown.
func WritePaper(w io.Writer, c story.Cut, opt PaperOptions) error { return errNotBuilt }

// WriteCSV writes one row per event.
func WriteCSV(w io.Writer, c story.Cut) error { return errNotBuilt }
