package timedtext

import (
	"errors"
	"io"

	"rushlight/pkg/timecode"
)

var errNotBuilt = errors.New("timedtext: not built yet")

// ReadOptions steers Read.
type ReadOptions struct {
	Name     string
	As       Format
	Encoding string
	Base     timecode.Base
}

// Read reads.
func Read(r io.Reader, opt ReadOptions) (*Document, error) { return nil, errNotBuilt }

// Detect tells the format.
func Detect(head []byte, name string) (Format, error) { return "", errNotBuilt }

// WriteOptions steers Write.
type WriteOptions struct {
	Base            timecode.Base
	ProgrammeStart  timecode.Ticks
	Language, Title string
}

// Write writes.
func Write(w io.Writer, doc *Document, f Format, opt WriteOptions) (lost []string, err error) {
	return nil, errNotBuilt
}

// FormatForPath tells the format by extension.
func FormatForPath(path string) (Format, error) { return "", errNotBuilt }

// Extensions lists the extensions.
func Extensions() []string { return nil }

// WorksheetEntry is one stretch of speech.
type WorksheetEntry struct {
	Speaker string
	timecode.Span
}

// WriteWorksheet writes a worksheet.
func WriteWorksheet(w io.Writer, reel string, entries []WorksheetEntry, clock timecode.Clock) error {
	return errNotBuilt
}
