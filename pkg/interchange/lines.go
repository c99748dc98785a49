package interchange

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// maxLine is the longest line that is read from a list, in bytes.
const maxLine = 1 << 20

// lineReader gives the lines of a text one by one, whatever ends them (CR,
// LF, CR LF), as UTF-8: bytes that are none are taken as Windows-1252.
type lineReader struct {
	s      *bufio.Scanner
	name   string
	number int
	legacy bool // some line was Windows-1252
}

func newLineReader(r io.Reader, name string) *lineReader {
	s := bufio.NewScanner(r)
	s.Buffer(make([]byte, 0, 4096), maxLine)
	s.Split(splitLines)
	return &lineReader{s: s, name: name}
}

// next is the next line, or io.EOF after the last.
func (l *lineReader) next() (string, error) {
	if !l.s.Scan() {
		err := l.s.Err()
		switch {
		case err == nil:
			return "", io.EOF
		case errors.Is(err, bufio.ErrTooLong):
			return "", l.errorf("line longer than %d bytes; is this a text file?", maxLine)
		}
		return "", fmt.Errorf("%s: line %d: %w", l.name, l.number+1, err)
	}
	l.number++
	b := l.s.Bytes()
	if l.number == 1 {
		b = bytes.TrimPrefix(b, []byte("\ufeff"))
		if bytes.HasPrefix(b, []byte("\xff\xfe")) || bytes.HasPrefix(b, []byte("\xfe\xff")) {
			return "", l.errorf("UTF-16 text; save it as UTF-8")
		}
	}
	if bytes.IndexByte(b, 0) >= 0 {
		return "", l.errorf("a zero byte; this is no text file")
	}
	if utf8.Valid(b) {
		return string(b), nil
	}
	l.legacy = true
	t, err := charmap.Windows1252.NewDecoder().Bytes(b)
	if err != nil {
		return "", l.errorf("neither UTF-8 nor Windows-1252")
	}
	return string(t), nil
}

// errorf is an error about the line read last.
func (l *lineReader) errorf(format string, a ...any) error {
	return fmt.Errorf("%s:%d: %w: %w", l.name, l.number, ErrFormat, fmt.Errorf(format, a...))
}

func splitLines(data []byte, atEOF bool) (int, []byte, error) {
	i := bytes.IndexAny(data, "\r\n")
	switch {
	case i < 0 && atEOF && len(data) > 0:
		return len(data), data, nil
	case i < 0:
		return 0, nil, nil
	case data[i] == '\n':
		return i + 1, data[:i], nil
	case i+1 < len(data) && data[i+1] == '\n':
		return i + 2, data[:i], nil
	case i+1 == len(data) && !atEOF:
		return 0, nil, nil // LF may follow
	}
	return i + 1, data[:i], nil
}
