package timedtext

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"rushlight/pkg/timecode"
)

// docxColumns bounds the columns of a timed table.
const docxColumns = 100

// docxTimed is a table with a column of times.
type docxTimed struct {
	header []string
	rows   []docxRow
	// before are rows above the header.
	before []docxRow
}

// docxTable tells whether a table is timed: by a row that names its columns,
// or by what is in them.
func docxTable(rows []docxRow) (docxTimed, bool) {
	for i := range min(len(rows), 3) {
		if len(rows[i].cells) > docxColumns {
			return docxTimed{}, false
		}
		header := texts(rows[i])
		if _, ok := columns(header); ok {
			return docxTimed{header: header, rows: rows[i+1:], before: rows[:i]}, true
		}
	}
	if header, ok := guessColumns(rows); ok {
		t := docxTimed{header: header, rows: rows}
		if s := texts(rows[0]); len(s) == len(header) {
			if in := s[slices.Index(header, "in")]; in != "" && !stamped(in) {
				t.before, t.rows = rows[:1], rows[1:]
			}
		}
		return t, true
	}
	return docxTimed{}, false
}

// texts are the cells of a row as text.
func texts(r docxRow) []string {
	out := make([]string, len(r.cells))
	for i, c := range r.cells {
		lines := make([]string, 0, 1)
		for _, l := range without(c) {
			lines = append(lines, l.text)
		}
		out[i] = strings.Join(lines, "\n")
	}
	return out
}

// guessColumns names the columns of a table without a header: one or two that
// hold times wherever they hold something (the first row aside, which may be a
// header in another language), one of names, and the one with the most text.
func guessColumns(rows []docxRow) (header []string, ok bool) {
	var filled, timed, named, letters []int
	for i, r := range rows {
		if len(r.cells) > docxColumns {
			return nil, false
		}
		for len(filled) < len(r.cells) {
			filled, timed, named, letters = append(filled, 0), append(timed, 0), append(named, 0), append(letters, 0)
		}
		cells := texts(r)
		head := i == 0 && !slices.ContainsFunc(cells, isTimeCell)
		for j, s := range cells {
			isTime := isTimeCell(s)
			if s == "" || head && !isTime {
				continue
			}
			filled[j]++
			letters[j] += utf8.RuneCountInString(s)
			if isTime {
				timed[j]++
			}
			if isName(strings.TrimRight(s, ": ")) && !strings.HasSuffix(s, ".") {
				named[j]++
			}
		}
	}
	areNames := func(j int) bool { return filled[j] > 0 && named[j]*10 >= filled[j]*6 }
	header = make([]string, len(filled))
	in, text := -1, -1
	for j := range filled {
		switch {
		case timed[j] > 0 && timed[j]*10 >= filled[j]*8 && in < 0:
			in, header[j] = j, "in"
		case timed[j] > 0 && timed[j]*10 >= filled[j]*8 && !slices.Contains(header, "out"):
			header[j] = "out"
		case text < 0 || letters[j] > letters[text] && areNames(j) == areNames(text) || areNames(text) && !areNames(j) && letters[j] > 0:
			text = j
		}
	}
	if in < 0 || text < 0 || letters[text] == 0 {
		return nil, false
	}
	header[text] = "text"
	for j := range header {
		switch {
		case header[j] != "":
		case !slices.Contains(header, "speaker") && areNames(j):
			header[j] = "speaker"
		case filled[j] > 0:
			header[j] = fmt.Sprintf("column %d", j+1)
		}
	}
	return header, true
}

// isTimeCell tells whether a cell holds one time or two, a name with them or
// not, and nothing else.
func isTimeCell(s string) bool {
	_, _, rest, ok := leadLine(strings.ReplaceAll(s, "\n", "\t"))
	return ok && blank(rest)
}

// rows reads the rows of a timed table as those of a CSV file.
func (p *docxProse) rows(t docxTimed) error {
	for _, r := range t.before {
		if s := strings.Join(strings.Fields(strings.Join(texts(r), " ")), " "); s != "" {
			p.repairOnce(r.n, "headings: kept as comments")
			p.doc.Comments = append(p.doc.Comments, s)
		}
	}
	// What a range or a name in the column of times says has columns too.
	header := slices.Clone(t.header)
	cols, _ := columns(header)
	if !slices.Contains(cols, colOut) {
		header = append(header, "out")
	}
	if !slices.Contains(cols, colSpeaker) {
		header = append(header, "speaker")
	}
	c := &csvReader{reader: p.reader}
	line := 0
	if len(t.rows) > 0 {
		line = t.rows[0].n
	}
	c.begin(header, line)
	first := len(p.doc.Cues)
	for _, r := range t.rows {
		if err := p.row(c, r, len(t.header)); err != nil {
			return err
		}
	}
	namesOnTop(p.doc.Cues[first:])
	return nil
}

func (p *docxProse) row(c *csvReader, r docxRow, width int) error {
	row := texts(r)
	for i := width; i < len(row); i++ {
		if row[i] != "" {
			c.repair(r.n, "more cells than the header names: %s is left out", quoteShort(row[i]))
		}
	}
	row = append(row, make([]string, len(c.cols))...)[:len(c.cols)]
	clear(row[width:])
	at := func(col column) *string {
		if i := slices.Index(c.cols, col); i >= 0 {
			return &row[i]
		}
		return new(string)
	}
	in, out, speaker, text := at(colIn), at(colOut), at(colSpeaker), at(colText)
	if st, who, rest, ok := leadLine(strings.ReplaceAll(strings.TrimSpace(*in), "\n", "\t")); ok {
		*in = st.in
		if st.out != "" && *out == "" {
			*out = st.out
		}
		if name := strings.TrimRight(rest, ": "); isName(name) && who == "" && *speaker == "" {
			who, rest = name, ""
		}
		if *speaker == "" {
			*speaker = who
		}
		if rest != "" {
			*text = strings.TrimRight(strings.ReplaceAll(rest, "\t", "\n")+"\n"+*text, "\n")
		}
	}
	*speaker = strings.TrimRight(strings.ReplaceAll(*speaker, "\n", " "), ": ")
	for i, col := range c.cols {
		if col != colIn && col != colOut && col != colLength || row[i] == "" {
			continue
		}
		if st, rest, ok := leadStamp(strings.TrimSpace(row[i])); ok && blank(rest) {
			row[i] = st.in
		} else if _, err := c.cell(i, row[i], r.n); err != nil {
			c.repair(r.n, "time not understood and left out: got %s", quoteShort(row[i]))
			row[i] = ""
		}
	}
	return p.csvRow(c, row, r)
}

// csvRow reads one row in the columns of the header, with the styles of its
// text.
func (p *docxProse) csvRow(c *csvReader, row []string, r docxRow) error {
	cues, lines := len(c.doc.Cues), 0
	if cues > 0 {
		lines = len(c.doc.Cues[cues-1].Lines)
	}
	if err := c.row(row, r.n); err != nil {
		return err
	}
	n := len(c.doc.Cues)
	if n == 0 {
		return nil
	}
	cue := &c.doc.Cues[n-1]
	if n > cues {
		lines = 0
		// A label after midnight.
		if c.doc.Labels && !cue.OpenEnd && cue.In-cue.Out > 12*timecode.Hour {
			cue.Out += timecode.Day
		}
	}
	if i := slices.Index(c.cols, colText); i >= 0 && i < len(r.cells) {
		src := without(r.cells[i])
		for j, l := range src {
			// A label in the text is no emphasis, unless it was left there.
			left := slices.ContainsFunc(cue.Lines[lines:], func(x Line) bool { return len(x) == 1 && x[0].Text == l.text })
			if _, after, ok := splitLabel(l.text); ok && !left && strings.HasSuffix(l.text, after) {
				at := len(l.text) - len(after)
				src[j] = l.behind(l.text[:at], at)
			}
		}
		restyle(cue.Lines[lines:], src...)
	}
	return nil
}
