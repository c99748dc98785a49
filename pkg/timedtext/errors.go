package timedtext

import (
	"errors"
	"fmt"
)

// The kinds of failure, for errors.Is.
var (
	// ErrFormat is wrapped by every ParseError.
	ErrFormat = errors.New("timed text not understood")
	// ErrEmpty means that the file holds nothing.
	ErrEmpty = errors.New("file is empty")
	// ErrBinary means that the file is not text.
	ErrBinary = errors.New("not text")
	// ErrUnknown means that no format fits.
	ErrUnknown = errors.New("timed-text format not known")
	// ErrTooLarge means that the file is over MaxSize.
	ErrTooLarge = errors.New("file too large")
)

// MaxSize is the largest file that Read takes: 256 MiB.
const MaxSize = 256 << 20

// ParseError says what is wrong in a file, and where.
type ParseError struct {
	// Name is the file's name, "" if not known.
	Name string
	// Line counts from 1, 0 in formats without lines; Byte is the offset in
	// the file where the format is binary.
	Line int
	Byte int64
	// Problem reads "problem: got X, want Y"; Hint says what to do.
	Problem, Hint string

	kind error
}

// Error is "file:line: problem". The hint is left to whoever prints it.
func (e *ParseError) Error() string {
	name := e.Name
	if name == "" {
		name = "timed text"
	}
	switch {
	case e.Line > 0:
		return fmt.Sprintf("%s:%d: %s", name, e.Line, e.Problem)
	case e.Byte > 0:
		return fmt.Sprintf("%s: byte %d: %s", name, e.Byte, e.Problem)
	}
	return name + ": " + e.Problem
}

// Unwrap lets errors.Is find ErrFormat and, where it applies, ErrEmpty,
// ErrBinary, ErrUnknown or ErrTooLarge.
func (e *ParseError) Unwrap() []error {
	if e.kind == nil {
		return []error{ErrFormat}
	}
	return []error{ErrFormat, e.kind}
}
