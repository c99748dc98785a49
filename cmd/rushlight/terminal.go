package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"strings"
	"unicode"

	"golang.org/x/term"

	"github.com/rivo/uniseg"
)

// terminal is where a command reads and writes.
type terminal struct {
	in       io.Reader
	out, err io.Writer
}

func isTerminal(v any) bool {
	f, ok := v.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// shows tells whether progress can be shown: messages go to a terminal.
func (t terminal) shows() bool { return isTerminal(t.err) && os.Getenv("TERM") != "dumb" }

// paints tells whether text may be highlighted: words go to a terminal and
// nobody asked for none (https://no-color.org).
func (t terminal) paints() bool {
	if s, ok := t.out.(*sheet); ok {
		return s.paints
	}
	return isTerminal(t.out) && os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
}

// Where highlights begin and end, in characters that no text is made of
// (noncharacters: The Unicode Standard, section 23.7), until they are shown.
const (
	strongMark = "\uFDD0"
	faintMark  = "\uFDD1"
	endMark    = "\uFDD2"
)

// strong highlights text where that can be seen.
func (t terminal) strong(s string) string { return strongMark + s + endMark }

// faint puts text in the background where that can be seen.
func (t terminal) faint(s string) string { return faintMark + s + endMark }

// shown is a text as the terminal gets it: nothing steers it but our own
// highlights, and they only where it paints.
func shown(s string, paints bool) string {
	s = clean(s)
	strong, faint, end := "", "", ""
	if paints {
		strong, faint, end = "\x1b[1m", "\x1b[2m", "\x1b[0m"
	}
	// Not a strings.Replacer: making its tables takes longer than a page.
	return strings.ReplaceAll(strings.ReplaceAll(strings.ReplaceAll(s, strongMark, strong), faintMark, faint), endMark, end)
}

// sheet gathers what is printed; whether text may be highlighted is found out
// once.
type sheet struct {
	*bufio.Writer
	paints bool
}

// inOne lets words print in few writes.
func (t *terminal) inOne(words func()) error {
	out := t.out
	defer func() { t.out = out }()
	s := &sheet{bufio.NewWriterSize(out, 1<<14), t.paints()}
	t.out = s
	words()
	return s.Flush()
}

// printf writes words to the terminal.
func (t terminal) printf(format string, args ...any) {
	_, _ = io.WriteString(t.out, shown(fmt.Sprintf(format, args...), t.paints()))
}

// notef writes a message beside the data.
func (t terminal) notef(format string, args ...any) {
	_, _ = io.WriteString(t.err, shown(fmt.Sprintf(format, args...), false))
}

// ask puts a question on the terminal; without one the answer is no.
func (t terminal) ask(question string) bool {
	if !isTerminal(t.in) || !isTerminal(t.err) {
		return false
	}
	t.notef("%s [y/N] ", question)
	line, err := bufio.NewReader(t.in).ReadString('\n')
	if err != nil {
		return false
	}
	answer := strings.ToLower(strings.TrimSpace(line))
	return answer == "y" || answer == "yes"
}

// columns is the width that output for people keeps to.
const columns = 80

// wide is the number of terminal columns a text takes.
func wide(s string) int {
	for i := range len(s) {
		if s[i] < ' ' || s[i] > '~' {
			return uniseg.StringWidth(s)
		}
	}
	return len(s)
}

// clean takes out what would steer the terminal: control characters that came
// in with a transcript, a note or a file name. printf and notef do it; a text
// that is measured first must be clean before.
func clean(s string) string {
	if !strings.ContainsFunc(s, func(r rune) bool { return r < ' ' || r > '~' }) {
		return s // the usual case
	}
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' && r != '\t' {
			return '\uFFFD'
		}
		return r
	}, s)
}

// oneLine is a name that stays on its line: file names may hold line ends and
// tabs.
func oneLine(s string) string {
	if strings.ContainsAny(s, "\n\t") {
		s = strings.ReplaceAll(strings.ReplaceAll(s, "\n", "\uFFFD"), "\t", "\uFFFD")
	}
	return clean(s)
}

// pad fills a text up to n columns, or cuts it there.
func pad(s string, n int) string {
	s = oneLine(s)
	w := wide(s)
	if w <= n {
		return s + strings.Repeat(" ", n-w)
	}
	return cutTo(s, n)
}

// cutTo cuts a text to n columns, with an ellipsis for what is gone.
func cutTo(s string, n int) string {
	s = oneLine(s)
	if wide(s) <= n {
		return s
	}
	var b strings.Builder
	w := 0
	g := uniseg.NewGraphemes(s)
	for g.Next() {
		if w+g.Width() > n-1 {
			break
		}
		b.WriteString(g.Str())
		w += g.Width()
	}
	return b.String() + "…" + strings.Repeat(" ", max(0, n-1-w))
}

// narrowest is what a column of a table keeps however wide the others are.
const narrowest = 10

// squeeze takes columns from the widest column but the last until a line and
// the least of its last column fit.
func squeeze(width []int) {
	last := len(width) - 1
	total := min(width[last], narrowest)
	for _, w := range width[:last] {
		total += w + 2
	}
	for ; total > columns; total-- {
		widest := 0
		for i, w := range width[:last] {
			if w > width[widest] {
				widest = i
			}
		}
		if last == 0 || width[widest] <= narrowest {
			return
		}
		width[widest]--
	}
}

// table prints rows in aligned columns; the widest are cut where a line would
// be too long, the last one to what is left of the line.
func (t terminal) table(head []string, rows [][]string) {
	width := make([]int, len(head))
	for i, h := range head {
		width[i] = wide(h)
	}
	for _, r := range rows {
		for i, cell := range r {
			r[i] = oneLine(cell)
			width[i] = max(width[i], wide(r[i]))
		}
	}
	squeeze(width)
	line := func(r []string) string {
		var b strings.Builder
		left := columns
		for i, cell := range r {
			if i == len(r)-1 {
				b.WriteString(strings.TrimRight(cutTo(cell, max(left, narrowest)), " "))
				break
			}
			b.WriteString(pad(cell, width[i]) + "  ")
			left -= width[i] + 2
		}
		return strings.TrimRight(b.String(), " ")
	}
	t.printf("%s\n", t.faint(line(head)))
	for _, r := range rows {
		t.printf("%s\n", line(r))
	}
}

// labelled is a label in the first ten columns and a text wrapped beside it.
func labelled(label, text string) string {
	const indent = "          "
	return pad(label, len(indent)) + strings.TrimPrefix(wrap(text, columns, indent, plain), indent)
}

// word is one word of a text with its stretch of bytes.
type word struct {
	text       string
	start, end int
}

// wrap breaks a text into lines of at most n columns and indents them.
// paint is given each word and tells how it is shown.
func wrap(s string, n int, indent string, paint func(word) string) string {
	var b strings.Builder
	b.WriteString(indent)
	at := wide(indent)
	first := true
	for _, w := range words(s) {
		size := wide(clean(w.text))
		if !first && at+1+size > n {
			b.WriteString("\n" + indent)
			at, first = wide(indent), true
		}
		if !first {
			b.WriteByte(' ')
			at++
		}
		b.WriteString(paint(w))
		at += size
		first = false
	}
	return b.String()
}

func words(s string) []word {
	out := make([]word, 0, len(s)/5+1)
	start := -1
	for i, r := range s {
		if r == ' ' || r == '\n' || r == '\t' {
			if start >= 0 {
				out = append(out, word{s[start:i], start, i})
			}
			start = -1
			continue
		}
		if start < 0 {
			start = i
		}
	}
	if start >= 0 {
		out = append(out, word{s[start:], start, len(s)})
	}
	return out
}

func plain(w word) string { return w.text }
