package timedtext

import (
	"encoding/csv"
	"io"
	"slices"
	"strconv"
	"strings"
)

// strayQuotes passes a table through and closes a quotation mark that nobody
// closed where the next line is a row by itself: else all rows up to the next
// mark would be the text of one.
type strayQuotes struct {
	*reader
	lines *lineReader
	sep   byte
	shape tableShape
	// in and out are the columns of times, −1 for none; width is how many
	// columns the header names.
	in, out, width int

	inside bool // a quoted field goes on in the next line
	begun  bool
	buf    []byte
}

func (rd *reader) closeQuotes(r io.Reader, sep rune, shape tableShape) *strayQuotes {
	return &strayQuotes{reader: rd, lines: newLines(r, false), sep: byte(sep), shape: shape, in: -1, out: -1}
}

// head learns the columns from the header row.
func (q *strayQuotes) head(line string) {
	one := csv.NewReader(strings.NewReader(line))
	one.Comma, one.LazyQuotes = rune(q.sep), true
	row, err := one.Read()
	if err != nil {
		return // the table's reader says so
	}
	names := row
	if len(q.shape.rows) > 0 && slices.Equal(row, q.shape.rows[0]) {
		names, _, _ = q.shape.header()
	}
	cols, _ := columns(names)
	q.in, q.out, q.width = slices.Index(cols, colIn), slices.Index(cols, colOut), len(cols)
}

func (q *strayQuotes) Read(p []byte) (int, error) {
	if len(q.buf) == 0 {
		line, ok := q.lines.next()
		if !ok {
			if err := q.lines.failure(); err != nil {
				return 0, err
			}
			return 0, io.EOF
		}
		if q.inside && q.isRow(line) {
			q.repair(q.lines.n-1, "a quotation mark that nobody closed: closed at the end of the line")
			q.buf, q.inside = append(q.buf, '"'), false
		}
		if !q.begun {
			q.head(line)
		} else {
			q.buf = append(q.buf, '\n')
		}
		q.buf, q.begun = append(q.buf, line...), true
		q.scan(line)
	}
	n := copy(p, q.buf)
	q.buf = q.buf[n:]
	return n, nil
}

// scan follows quoted fields through a line, as encoding/csv reads them with
// LazyQuotes.
func (q *strayQuotes) scan(line string) {
	start := !q.inside
	for i := 0; i < len(line); i++ {
		c := line[i]
		switch {
		case q.inside && c == '"' && i+1 < len(line) && line[i+1] == '"':
			i++
		case q.inside:
			q.inside = c != '"' || i+1 < len(line) && line[i+1] != q.sep
		case start && c == '"':
			q.inside = true
		}
		start = !q.inside && c == q.sep
	}
}

// isRow tells whether a line is a row by itself, by its times.
func (q *strayQuotes) isRow(line string) bool {
	fields := strings.Split(line, string(q.sep))
	if len(fields) < q.width || q.in < 0 {
		return false
	}
	in := strings.Trim(fields[q.in], "\" ")
	if _, rest, ok := times(in, false); ok && blank(rest) {
		return true
	}
	if q.out < 0 {
		return false
	}
	_, err1 := strconv.ParseFloat(strings.Replace(in, ",", ".", 1), 64)
	_, err2 := strconv.ParseFloat(strings.Replace(strings.Trim(fields[q.out], "\" "), ",", ".", 1), 64)
	return err1 == nil && err2 == nil
}
