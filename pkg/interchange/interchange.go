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

// EDLOptions says how an edit decision list is written.
type EDLOptions struct {
	// Video writes picture and sound (AA/V) instead of sound alone.
	Video bool
	// FullPaths writes whole paths after SOURCE FILE instead of file names.
	FullPaths bool
	// ASCII folds titles and comments to ASCII.
	ASCII bool
}

// EDLReport says what became of a cut on its way into a list.
type EDLReport struct {
	Events int
	// Reels maps each reel to its name in the list.
	Reels map[string]string
	Notes []string
}

// WriteEDL writes an edit decision list.
func WriteEDL(w io.Writer, c story.Cut, opt EDLOptions) (EDLReport, error) {
	return EDLReport{}, errNotBuilt
}

// ReadEDL reads an edit decision list.
func ReadEDL(r io.Reader, name string, base timecode.Base) (story.Cut, []string, error) {
	return story.Cut{}, nil, errNotBuilt
}

// WriteOTIO writes an OpenTimelineIO document.
func WriteOTIO(w io.Writer, c story.Cut) error { return errNotBuilt }

// ReadOTIO reads an OpenTimelineIO document.
func ReadOTIO(r io.Reader, name string) (story.Cut, []string, error) {
	return story.Cut{}, nil, errNotBuilt
}

// PaperOptions says how a paper edit is written.
type PaperOptions struct {
	// Target is the wanted running time, 0 if none.
	Target timecode.Ticks
}

// WritePaper writes a paper edit in Markdown.
func WritePaper(w io.Writer, c story.Cut, opt PaperOptions) error { return errNotBuilt }

// WriteCSV writes one row per event.
func WriteCSV(w io.Writer, c story.Cut) error { return errNotBuilt }
