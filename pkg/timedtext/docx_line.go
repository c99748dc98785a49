package timedtext

import (
	"slices"
	"strings"
	"unicode"
)

// docxMark is the style of a stretch of a line, in bytes.
type docxMark struct {
	from, to int
	style    Style
}

// docxLine is one line of a paragraph with the styles in it, in order.
type docxLine struct {
	text  string
	marks []docxMark
	// buf is text to come after: put there until the line is settled, so that a
	// line of many pieces takes no more time than one of few.
	buf []byte
}

// add puts text at the end of the line; settle must follow.
func (l *docxLine) add(s string, style Style) {
	from := len(l.text) + len(l.buf)
	l.buf = append(l.buf, s...)
	l.mark(from, from+len(s), style)
}

func (l *docxLine) settle() {
	if len(l.buf) > 0 {
		l.text += string(l.buf)
		l.buf = nil
	}
}

func (l *docxLine) empty() bool { return len(l.text)+len(l.buf) == 0 }

func (l *docxLine) mark(from, to int, style Style) {
	if n := len(l.marks); n > 0 && l.marks[n-1].to == from && l.marks[n-1].style == style {
		l.marks[n-1].to = to
	} else if style != (Style{}) && from < to {
		l.marks = append(l.marks, docxMark{from, to, style})
	}
}

// follow puts another line at the end of this one; settle must follow.
func (l *docxLine) follow(o docxLine) {
	at := len(l.text) + len(l.buf)
	l.buf = append(append(l.buf, o.text...), o.buf...)
	for _, m := range o.marks {
		l.mark(at+m.from, at+m.to, m.style)
	}
}

// behind is the line from a byte on, behind a prefix without style.
func (l docxLine) behind(prefix string, from int) docxLine {
	out := docxLine{text: prefix + l.text[from:]}
	for _, m := range l.marks {
		if m.to > from {
			out.mark(max(m.from, from)-from+len(prefix), m.to-from+len(prefix), m.style)
		}
	}
	return out
}

// trimmed is the line without space at its ends.
func (l docxLine) trimmed() docxLine {
	text := strings.TrimRightFunc(l.text, unicode.IsSpace)
	from := len(text) - len(strings.TrimLeftFunc(text, unicode.IsSpace))
	if from == 0 && len(text) == len(l.text) {
		return l
	}
	l.text = text
	l.marks = slices.Clone(l.marks)
	for i := range l.marks {
		l.marks[i].to = min(l.marks[i].to, len(text))
	}
	l.marks = slices.DeleteFunc(l.marks, func(m docxMark) bool { return m.from >= m.to })
	return l.behind("", from)
}

// runs gives the bytes from and to as runs like r.
func (l docxLine) runs(from, to int, r Run) Line {
	var out Line
	add := func(a, b int, style Style) {
		if a < b {
			n := r
			n.Text, n.Style = l.text[a:b], style
			n.Dash = r.Dash && len(out) == 0
			out = append(out, n)
		}
	}
	at := from
	for _, m := range l.marks {
		if m.to <= at || m.from >= to {
			continue
		}
		add(at, max(m.from, at), Style{})
		at = max(m.from, at)
		add(at, min(m.to, to), m.style)
		at = min(m.to, to)
	}
	add(at, to, Style{})
	return out
}

// restyle gives lines made of the text of src, in order, the styles that the
// text had there.
func restyle(lines []Line, src ...docxLine) {
	k, at := 0, 0
	for i, l := range lines {
		if len(l) != 1 || l[0].Text == "" {
			continue
		}
		for j := k; j < len(src); j++ {
			from := 0
			if j == k {
				from = at
			}
			x := strings.Index(src[j].text[from:], l[0].Text)
			if x < 0 {
				continue
			}
			k, at = j, from+x+len(l[0].Text)
			if len(src[j].marks) > 0 {
				lines[i] = src[j].runs(from+x, at, l[0])
			}
			break
		}
	}
}

// boldName is a name in bold at byte from, without the space before it: where
// it ends, and whether a colon is at its end.
func (l docxLine) boldName(from int) (name string, end int, colon, ok bool) {
	for from < len(l.text) && (l.text[from] == ' ' || l.text[from] == '\t') {
		from++
	}
	end = from
	for _, m := range l.marks {
		if m.style.Bold && m.from <= end && m.to > end {
			end = m.to
		}
	}
	raw := strings.TrimRight(l.text[from:end], " \t\u00a0")
	name = strings.TrimRight(strings.TrimRight(raw, ":"), " \u00a0")
	colon = name != raw || strings.HasPrefix(l.text[end:], ":")
	return name, end, colon, isName(name)
}
