package timedtext

import (
	"bytes"
	"errors"
	"io"
	"slices"
	"strings"

	"golang.org/x/net/html"
)

// HTML is a transcript as a web page: its paragraphs and tables are read as
// those of DOCX are, scripts and style sheets left out. It is read, not
// written. The tokens are those of the WHATWG HTML standard, by
// golang.org/x/net/html.
const HTML Format = "html"

// htmlDepth bounds tables inside tables.
const htmlDepth = 40

// htmlBlocks are the elements that begin a paragraph where they begin and end.
var htmlBlocks = []string{
	"p", "div", "li", "ul", "ol", "dl", "dt", "dd", "section", "article", "main", "header", "footer", "nav", "aside", "blockquote", "pre", "figure",
	"figcaption", "address", "form", "hr", "body", "h1", "h2", "h3", "h4", "h5", "h6", "table", "caption", "thead", "tbody", "tfoot", "tr", "td", "th",
}

// htmlSilent are the elements whose text nobody sees.
var htmlSilent = []string{"script", "style", "template", "noscript", "textarea", "select", "svg", "math", "iframe", "object", "rt"}

// isHTML tells a web page by how its text begins.
func isHTML(text string) bool {
	low := strings.ToLower(text[:min(len(text), 1024)])
	if after, ok := strings.CutPrefix(low, "<?xml"); ok {
		_, low, _ = strings.Cut(after, "?>")
		low = strings.TrimLeft(low, " \t\r\n")
	}
	for strings.HasPrefix(low, "<!--") {
		_, low, _ = strings.Cut(low, "-->")
		low = strings.TrimLeft(low, " \t\r\n")
	}
	for _, start := range []string{"<!doctype html", "<html", "<body", "<table", "<p>", "<p ", "<div", "<ul", "<ol", "<h1", "<h2", "<head", "<title", "<section", "<article", "<main"} {
		if strings.HasPrefix(low, start) {
			return true
		}
	}
	return false
}

type htmlBody struct {
	docxBody
	// bold, italic, underline and links count the open elements.
	bold, italic, underline int
	silent                  string
	depth                   int
	title                   bool
	heading                 string
	space, pre              bool
	line                    int
	full                    error // too many paragraphs, lines and cells
}

func (rd *reader) readHTML(r io.Reader) error {
	b := &htmlBody{docxBody: docxBody{docxPackage: &docxPackage{reader: rd}, langs: map[string]int{}}, line: 1}
	z := html.NewTokenizer(r)
	z.SetMaxBuf(MaxSize)
	for {
		kind := z.Next()
		if kind == html.ErrorToken {
			if err := z.Err(); !errors.Is(err, io.EOF) {
				return err
			}
			break
		}
		raw := bytes.Count(z.Raw(), []byte("\n"))
		switch kind {
		case html.TextToken:
			b.words(string(z.Text()))
		case html.StartTagToken, html.SelfClosingTagToken:
			name, more := z.TagName()
			if string(name) == "html" && more {
				for more {
					var k, v []byte
					if k, v, more = z.TagAttr(); string(k) == "lang" {
						rd.doc.Language = strings.TrimSpace(string(v))
					}
				}
			}
			b.startTag(string(name), kind == html.SelfClosingTagToken)
		case html.EndTagToken:
			name, _ := z.TagName()
			b.endTag(string(name))
		}
		if b.line += raw; b.full != nil {
			return b.full
		}
	}
	b.flush()
	for len(b.tables) > 0 {
		b.endTable()
	}
	rd.doc.Title = strings.Join(strings.Fields(rd.doc.Title), " ")
	return rd.prose(b.blocks)
}

func (b *htmlBody) startTag(name string, closed bool) {
	if b.silent != "" {
		if name == b.silent && !closed {
			b.depth++
		}
		return
	}
	switch {
	case slices.Contains(htmlSilent, name):
		if !closed {
			b.silent, b.depth = name, 1
		}
	case name == "title":
		b.title = !closed
	case name == "br":
		if o := b.paragraphOpen(); o != nil {
			o.lines = append(o.lines, docxLine{})
			b.space = true
			b.full = b.piece()
		}
	case slices.Contains(htmlBlocks, name):
		b.flush()
		b.tableTag(name)
		b.pre = name == "pre" && !closed
		b.full = b.piece()
		// A heading that nobody ended isn't the rest of the page.
		if b.heading = ""; isHeading(name) {
			b.heading = name
		}
	case !closed:
		b.inline(name, 1)
	}
}

func isHeading(name string) bool { return len(name) == 2 && name[0] == 'h' && isDigit(name[1]) }

func (b *htmlBody) inline(name string, by int) {
	add := func(n *int) { *n = max(*n+by, 0) }
	switch name {
	case "b", "strong":
		add(&b.bold)
	case "i", "em":
		add(&b.italic)
	case "u":
		add(&b.underline)
	case "a":
		add(&b.links)
	}
}

func (b *htmlBody) endTag(name string) {
	if b.silent == "rt" && name == "ruby" {
		b.silent = "" // the end of rt may be left out
	}
	if b.silent != "" {
		if name == b.silent {
			if b.depth--; b.depth == 0 {
				b.silent = ""
			}
		}
		return
	}
	switch {
	case name == "title":
		b.title = false
	case slices.Contains(htmlBlocks, name):
		b.flush()
		switch name {
		case "table":
			b.endTable()
		case "pre":
			b.pre = false
		default:
			if isHeading(name) { // any ends any, by the standard
				b.heading = ""
			}
		}
	default:
		b.inline(name, -1)
	}
}

// tableTag opens a table, a row or a cell.
func (b *htmlBody) tableTag(name string) {
	if name == "table" && len(b.tables) < htmlDepth {
		b.tables = append(b.tables, &docxBlock{docxPara: docxPara{n: b.line}, rows: []docxRow{}})
		return
	}
	if len(b.tables) == 0 {
		return
	}
	t := b.tables[len(b.tables)-1]
	switch {
	case name == "tr", (name == "td" || name == "th") && len(t.rows) == 0:
		t.rows = append(t.rows, docxRow{n: b.line})
	}
	if name == "td" || name == "th" {
		r := &t.rows[len(t.rows)-1]
		r.cells = append(r.cells, []docxPara{})
	}
}

// paragraphOpen is the open paragraph, begun if there is none.
func (b *htmlBody) paragraphOpen() *docxOpen {
	if len(b.open) == 0 {
		o := &docxOpen{docxPara: docxPara{n: b.line, lines: make([]docxLine, 1)}}
		if b.heading != "" {
			o.kind = docxHeading
		}
		b.open, b.space = append(b.open, o), true
	}
	return b.open[0]
}

// flush ends the open paragraph; one without text is only space between
// elements.
func (b *htmlBody) flush() {
	if len(b.open) == 0 {
		return
	}
	p := b.open[0].docxPara
	b.open = b.open[:0]
	if p.settle(); p.blank() {
		return
	}
	if n := len(b.tables); n > 0 {
		if rows := b.tables[n-1].rows; len(rows) == 0 || len(rows[len(rows)-1].cells) == 0 {
			// A caption, or text where no cell is open.
			b.blocks = append(b.blocks, docxBlock{docxPara: p})
			return
		}
	}
	b.emit(p)
}

func (b *htmlBody) words(s string) {
	switch {
	case b.silent != "":
		return
	case b.title:
		b.doc.Title += s
		return
	case len(b.open) == 0 && blank(s):
		return
	}
	o := b.paragraphOpen()
	o.run = docxRun{style: Style{Bold: b.bold > 0, Italic: b.italic > 0, Underline: b.underline > 0 && b.links == 0}}
	if !b.pre {
		if s = collapse(s, &b.space); s != "" {
			b.put(s)
		}
		return
	}
	for i, l := range strings.Split(s, "\n") {
		if i > 0 {
			o.lines = append(o.lines, docxLine{})
		}
		b.put(l)
	}
}

// collapse is text with runs of white space made one; space tells whether it
// follows some.
func collapse(s string, space *bool) string {
	var out strings.Builder
	for _, r := range s {
		if strings.ContainsRune(" \t\n\r\f", r) {
			if !*space {
				out.WriteByte(' ')
			}
			*space = true
			continue
		}
		*space = false
		out.WriteRune(r)
	}
	return out.String()
}
