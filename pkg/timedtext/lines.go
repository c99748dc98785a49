package timedtext

import (
	"bufio"
	"errors"
	"io"
	"strings"
)

// lineReader reads lines of any length, ended by LF, CR or CRLF.
type lineReader struct {
	r *bufio.Reader
	// n is the number of the last line given, from 1.
	n int
	// mendCR takes CR CR LF as one line end: a file that was converted twice.
	mendCR bool

	rest []string
	back bool
	last string
	err  error
}

func newLines(r io.Reader, mendCR bool) *lineReader {
	return &lineReader{r: bufio.NewReaderSize(r, headSize), mendCR: mendCR}
}

// next gives the next line without its end; ok is false at the end of the
// file or on an error, which err then holds.
func (l *lineReader) next() (line string, ok bool) {
	if l.back {
		l.back = false
		l.n++
		return l.last, true
	}
	if len(l.rest) == 0 && !l.fill() {
		return "", false
	}
	l.last, l.rest = l.rest[0], l.rest[1:]
	l.n++
	return l.last, true
}

// unread makes next give the last line again.
func (l *lineReader) unread() {
	l.back = true
	l.n--
}

func (l *lineReader) fill() bool {
	if l.err != nil {
		return false
	}
	chunk, err := l.r.ReadSlice('\n')
	var long []byte
	for errors.Is(err, bufio.ErrBufferFull) {
		long = append(long, chunk...)
		chunk, err = l.r.ReadSlice('\n')
	}
	if long != nil {
		chunk = append(long, chunk...)
	}
	l.err = err
	if errors.Is(err, io.EOF) {
		if len(chunk) == 0 {
			return false
		}
	} else if err != nil {
		return false
	}
	s := string(chunk)
	lf := strings.HasSuffix(s, "\n")
	s = strings.TrimSuffix(s, "\n")
	if lf {
		s = strings.TrimSuffix(s, "\r")
		for l.mendCR && strings.HasSuffix(s, "\r") {
			s = s[:len(s)-1]
		}
	} else {
		s = strings.TrimSuffix(s, "\r")
	}
	if strings.IndexByte(s, '\r') < 0 {
		l.rest = append(l.rest[:0], s)
		return true
	}
	l.rest = strings.Split(s, "\r")
	return true
}

// failure is the error that ended reading, nil at the end of the file.
func (l *lineReader) failure() error {
	if l.err == nil || errors.Is(l.err, io.EOF) {
		return nil
	}
	return l.err
}
