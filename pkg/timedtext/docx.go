package timedtext

import (
	"errors"
	"io"
)

// DOCX is a transcript as an Office Open XML word-processing document
// (ISO/IEC 29500), strict or transitional.
const DOCX Format = "docx"

// readDOCX reads the document in raw.
func (rd *reader) readDOCX(_ io.Reader) error { return errors.New("not built yet") }

// writeDOCX writes the document.
func (w *writer) writeDOCX() error { return errors.New("not built yet") }
