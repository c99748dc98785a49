package sound

import (
	"errors"
	"fmt"
)

// What can be wrong with a file. Every error about a file's content wraps one
// of these and comes as a *FileError.
var (
	// ErrNotWave: the bytes are not a WAV file at all.
	ErrNotWave = errors.New("not a WAV file")
	// ErrFormat: a WAV file whose samples can't be read (compressed,
	// big-endian, no channels, no rate, no fmt chunk).
	ErrFormat = errors.New("WAV format not usable")
	// ErrEmpty: nothing in it: no bytes, or a header without any samples.
	ErrEmpty = errors.New("no sound in the file")
	// ErrTruncated: bytes that should be there are not: a header cut short,
	// or a file that became shorter while it was read.
	ErrTruncated = errors.New("file cut short")
	// ErrNotSequential: Reader.Essence was asked without reading all samples
	// in order.
	ErrNotSequential = errors.New("not all samples were read in order")
)

// FileError says what is wrong with a file, at which byte, and what to do.
type FileError struct {
	Name string
	// Offset is the byte at which it was seen; -1 if it has no place.
	Offset int64
	// Problem is one sentence, Hint what to do ("" if nothing helps).
	Problem, Hint string
	// Err is one of the errors above, or the error of the reading itself.
	Err error
}

// Error prints name, byte and problem on one line; the hint is not part of it.
func (e *FileError) Error() string {
	place := ""
	if e.Offset >= 0 {
		place = fmt.Sprintf(" at byte %d", e.Offset)
	}
	if e.Problem == "" {
		return fmt.Sprintf("%s: %v%s", e.Name, e.Err, place)
	}
	return fmt.Sprintf("%s: %v%s: %s", e.Name, e.Err, place, e.Problem)
}

// Unwrap gives the kind of error.
func (e *FileError) Unwrap() error { return e.Err }
