package timedtext

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// tableShape is what the first lines of a table tell of its columns, whatever
// these are called.
type tableShape struct {
	sep rune
	// line is the line of the first row, from 1; rows are those that were seen,
	// all as wide as the first.
	line int
	rows [][]string
}

// shapeOf finds the separator that cuts nearly all lines of text into equally
// many fields, two at least. ok is false for text that has no such separator,
// and for a single line.
func shapeOf(text string) (best tableShape, ok bool) {
	for _, sep := range []rune{'\t', ';', ',', '|'} {
		if !strings.ContainsRune(text, sep) {
			continue
		}
		s := tableShape{sep: sep}
		r := csv.NewReader(strings.NewReader(text))
		r.Comma, r.LazyQuotes, r.FieldsPerRecord = sep, true, -1
		var rows [][]string
		var lines []int
		widths := map[int]int{}
		for {
			row, err := r.Read()
			if err != nil {
				break
			}
			line, _ := r.FieldPos(0)
			rows, lines = append(rows, row), append(lines, line)
			widths[len(row)]++
		}
		if len(text) >= headSize/2 && len(rows) > 2 { // the last may be cut off
			rows = rows[:len(rows)-1]
		}
		width := 0
		for w, n := range widths {
			if n > widths[width] || n == widths[width] && w > width {
				width = w
			}
		}
		if width < 2 || widths[width]*10 < len(rows)*8 {
			continue
		}
		for i, row := range rows {
			if len(row) != width {
				continue
			}
			if s.line == 0 {
				s.line = lines[i]
			}
			s.rows = append(s.rows, row)
		}
		if len(s.rows) > 1 && (!ok || width > len(best.rows[0])) {
			best, ok = s, true
		}
	}
	return best, ok
}

func hasShape(text string) bool {
	_, ok := shapeOf(text)
	return ok
}

// isTime tells whether a field holds a time and nothing else.
func isTime(s string) bool {
	st, rest, ok := leadStamp(strings.TrimSpace(s))
	return ok && blank(rest) && st.out == ""
}

// timed tells whether a column holds times below its first row, nearly
// wherever it holds something.
func (s tableShape) timed(column int) bool {
	filled, times := 0, 0
	for _, row := range s.rows[1:] {
		if v := strings.TrimSpace(row[column]); v != "" {
			filled++
			if isTime(v) {
				times++
			}
		}
	}
	return times > 0 && times*10 >= filled*8
}

// later tells whether the times of a column come after those of another: not
// so where a second clock counts along.
func (s tableShape) later(column, than int) bool {
	for _, row := range s.rows[1:] {
		a, b := strings.TrimSpace(row[than]), strings.TrimSpace(row[column])
		if len(a) == len(b) && a != "" && b <= a {
			return false
		}
	}
	return true
}

// said tells whether a column holds what somebody said: several words in half
// of its fields.
func (s tableShape) said(column int) bool {
	several := 0
	for _, row := range s.rows[1:] {
		if len(strings.Fields(row[column])) > 1 {
			several++
		}
	}
	return several*2 >= len(s.rows)-1
}

// header names the columns of the first row by names known here. Where the row
// doesn't, what is in them tells: a column of times is the in, a second one with
// later times the out, and the only column then left is the text. by says which
// columns were told so; ok is false without an in or a text.
func (s tableShape) header() (names, by []string, ok bool) {
	names = slices.Clone(s.rows[0])
	cols, _ := columns(names)
	in := slices.Index(cols, colIn)
	take := func(i int, c column, name string) {
		by = append(by, strings.TrimSpace(names[i])+" as "+name)
		names[i], cols[i] = name, c
	}
	for i := range cols {
		if cols[i] != colOther || !s.timed(i) {
			continue
		}
		switch {
		case in < 0:
			in = i
			take(i, colIn, "in")
		case !slices.Contains(cols, colOut) && !slices.Contains(cols, colLength) && s.later(i, in):
			take(i, colOut, "out")
		}
	}
	if in >= 0 && slices.Contains(cols, colOut) && !slices.Contains(cols, colText) {
		left := -1
		for i, c := range cols {
			switch {
			case c != colOther || blank(names[i]):
			case left >= 0:
				return names, by, false
			default:
				left = i
			}
		}
		if left >= 0 && s.said(left) {
			take(left, colText, "text")
		}
	}
	return names, by, in >= 0 && slices.Contains(cols, colText)
}

// headless names the columns of a table whose first row holds times already:
// a number or none, an in, an out or none, a name or none, the text. nil for
// anything else.
func (s tableShape) headless() []string {
	row := s.rows[0]
	var names []string
	if len(row) > 2 && digits(strings.TrimSpace(row[0])) {
		names, row = append(names, "id"), row[1:]
	}
	if !isTime(row[0]) {
		return nil
	}
	names, row = append(names, "in"), row[1:]
	if len(row) > 1 && isTime(row[0]) {
		names, row = append(names, "out"), row[1:]
	}
	switch len(row) {
	case 1:
		return append(names, "text")
	case 2:
		return append(names, "speaker", "text")
	}
	return nil
}

// isTableByContent tells whether text is a table with names of columns above
// that aren't all known, three at least.
func isTableByContent(text string) bool {
	s, ok := shapeOf(text)
	if !ok || len(s.rows[0]) < 3 || slices.ContainsFunc(s.rows[0], isTime) {
		return false
	}
	_, _, ok = s.header()
	return ok
}

// openTable finds the header of a table: by its names, else by the shape of the
// rows; one is put before a table that has none. What stands above the header
// is kept as comments.
func (rd *reader) openTable(br *bufio.Reader) (table io.Reader, sep rune, shape tableShape, err error) {
	head, err := br.Peek(headSize)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, 0, shape, err
	}
	shape, shaped := shapeOf(string(head))
	// The names of the columns are found among the first bytes.
	first, sep, ok := rd.skipPreamble(br, string(head[:min(len(head), 4096)]))
	header := headless(first)
	switch {
	case ok:
		return br, sep, shape, nil
	case header != nil:
		_, sep, _ = firstTimes(first)
	case shaped && shape.headless() != nil:
		header, sep = shape.headless(), shape.sep
	case shaped:
		return br, shape.sep, shape, rd.above(br, string(head), shape.line)
	default:
		return nil, 0, shape, rd.fail(1, "begin the table with a row such as: in,out,speaker,text",
			"no header row: got %s, want names of columns, among them one for the time and one for the text", quoteShort(first))
	}
	rd.repair(1, "no header row: read as %s", strings.Join(header, ", "))
	return io.MultiReader(strings.NewReader(strings.Join(header, string(sep))+"\n"), br), sep, shape, nil
}

// above keeps the lines before a line as comments.
func (rd *reader) above(br *bufio.Reader, head string, line int) error {
	for n, l := range strings.SplitAfterN(head, "\n", line)[:line-1] {
		if _, err := br.Discard(len(l)); err != nil {
			return err
		}
		if !blank(l) {
			rd.repair(n+1, "text above the header row: kept as a comment")
			rd.doc.Comments = append(rd.doc.Comments, strings.TrimSpace(l))
		}
	}
	return nil
}

// names is the header row with the columns named that their content tells. The
// error lists what was found and what is known.
func (c *csvReader) names(row []string, shape tableShape, line int) ([]string, error) {
	names, by := slices.Clone(row), []string(nil)
	_, ok := columns(row)
	if len(shape.rows) > 0 && slices.Equal(row, shape.rows[0]) {
		names, by, ok = shape.header()
	}
	if ok {
		if len(by) > 0 {
			c.repair(line, "columns told by what is in them: %s", strings.Join(by, ", "))
		}
		return names, nil
	}
	found := make([]string, len(row))
	for i, s := range row {
		found[i] = quoteShort(strings.TrimSpace(s))
	}
	return nil, c.fail(line, fmt.Sprintf("name them so: %s for the in, %s for the out, %s for who speaks, %s for the words",
		known(colIn), known(colOut), known(colSpeaker), known(colText)),
		"columns not known: got %s, want one for the time and one for the text", strings.Join(found, ", "))
}

// known lists some names of a column.
func known(c column) string { return strings.Join(columnNames[c][:3], " or ") }
