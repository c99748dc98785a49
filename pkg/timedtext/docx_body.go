package timedtext

import (
	"encoding/xml"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// docxPara is a paragraph: its lines, what it is, and its number in the
// document, from 1.
type docxPara struct {
	lines []docxLine
	kind  docxKind
	n     int
}

func (p *docxPara) blank() bool {
	return !slices.ContainsFunc(p.lines, func(l docxLine) bool { return !blank(l.text) })
}

// plain is the paragraph without its blank lines.
func (p *docxPara) plain() string {
	var out []string
	for _, l := range p.lines {
		if s := strings.TrimSpace(l.text); s != "" {
			out = append(out, s)
		}
	}
	return strings.Join(out, "\n")
}

type docxRow struct {
	cells [][]docxPara
	n     int
	gone  bool // deleted by a tracked change
}

func (p *docxPara) settle() {
	for i := range p.lines {
		p.lines[i].settle()
	}
}

// settle settles the lines of a block.
func (b *docxBlock) settle() {
	b.docxPara.settle()
	for _, r := range b.rows {
		for _, c := range r.cells {
			for i := range c {
				c[i].settle()
			}
		}
	}
}

// docxBlock is a paragraph, or a table where rows is not nil.
type docxBlock struct {
	docxPara
	rows []docxRow
}

// The namespaces of WordprocessingML, transitional and strict.
const (
	wordSpace   = "http://schemas.openxmlformats.org/wordprocessingml/2006/main"
	wordStrict  = "http://purl.oclc.org/ooxml/wordprocessingml/main"
	compatSpace = "http://schemas.openxmlformats.org/markup-compatibility/2006"
)

// docxBody reads the main part into blocks.
type docxBody struct {
	*docxPackage
	styles *docxStyles
	blocks []docxBlock
	langs  map[string]int

	open   []*docxOpen // paragraphs: a text box has some inside one
	tables []*docxBlock
	links  int
	text   int
	n      int
	count  int // of paragraphs, lines and cells
	// join tells that the mark of the last paragraph was deleted: it goes on
	// in the next.
	join bool
}

// docxOpen is a paragraph being read.
type docxOpen struct {
	docxPara
	base, run docxRun
	join      bool
}

// piece counts a paragraph, a line or a cell.
func (b *docxBody) piece() error {
	if b.count++; b.count > docxPieces {
		return &ParseError{
			Name: b.opt.Name, Problem: fmt.Sprintf("the document has too many paragraphs, lines and cells: got over %d, want fewer", docxPieces),
			Hint: "split the transcript", kind: ErrTooLarge,
		}
	}
	return nil
}

func (b *docxBody) token(dec *xml.Decoder, tok xml.Token) (done bool, err error) {
	switch tok := tok.(type) {
	case xml.StartElement:
		if tok.Name.Space == compatSpace && tok.Name.Local == "Fallback" {
			return true, dec.Skip()
		}
		if tok.Name.Space == wordSpace || tok.Name.Space == wordStrict {
			return b.start(dec, tok)
		}
	case xml.EndElement:
		if tok.Name.Space == wordSpace || tok.Name.Space == wordStrict {
			b.end(tok.Name.Local)
		}
	case xml.CharData:
		if b.text > 0 {
			b.put(string(tok))
		}
	}
	return false, nil
}

func (b *docxBody) start(dec *xml.Decoder, s xml.StartElement) (done bool, err error) {
	switch s.Name.Local {
	case "p":
		b.n++
		err = b.piece()
		o := &docxOpen{docxPara: docxPara{n: b.n, lines: make([]docxLine, 1)}}
		b.paragraphStyle(o, "")
		b.open = append(b.open, o)
	case "pPr":
		return true, b.paragraph(dec)
	case "r":
		if o := b.last(); o != nil {
			o.run = o.base
		}
	case "rPr":
		if o := b.last(); o != nil {
			return true, b.run(dec, &o.run, b.links > 0)
		}
		return true, dec.Skip()
	case "t":
		b.text++
	case "tab", "ptab":
		b.put("\t")
	case "br", "cr":
		if o := b.last(); o != nil && !o.run.hidden {
			o.lines = append(o.lines, docxLine{})
			err = b.piece()
		}
	case "noBreakHyphen":
		b.put("\u2011")
	case "hyperlink":
		b.links++
	case "del", "moveFrom":
		b.repairOnce(b.n, "tracked changes: what they deleted is left out, what they inserted is taken")
		return true, dec.Skip()
	case "ins", "moveTo":
		b.repairOnce(b.n, "tracked changes: what they deleted is left out, what they inserted is taken")
	case "commentReference", "footnoteReference", "endnoteReference":
		b.repairOnce(b.n, "comments in the margin and footnotes: left out")
	case "sym":
		b.repairOnce(b.n, "symbols from special fonts: left out")
	case "delText", "instrText", "delInstrText", "rt", "sdtPr", "sdtEndPr", "sectPr", "tblPr", "tblPrEx", "tblGrid", "rubyPr", "smartTagPr", "customXmlPr":
		return true, dec.Skip()
	default:
		return b.table(dec, s)
	}
	return false, err
}

// table acts on what belongs to tables.
func (b *docxBody) table(dec *xml.Decoder, s xml.StartElement) (done bool, err error) {
	if s.Name.Local == "tbl" {
		b.tables = append(b.tables, &docxBlock{docxPara: docxPara{n: b.n + 1}, rows: []docxRow{}})
		return false, nil
	}
	n := len(b.tables)
	if n == 0 {
		return false, nil
	}
	t := b.tables[n-1]
	switch s.Name.Local {
	case "tr":
		t.rows = append(t.rows, docxRow{n: b.n + 1})
		return false, b.piece()
	case "tc":
		if len(t.rows) > 0 {
			r := &t.rows[len(t.rows)-1]
			r.cells = append(r.cells, []docxPara{})
		}
		return false, b.piece()
	case "trPr":
		return true, within(dec, func(s xml.StartElement) (bool, error) {
			if s.Name.Local == "del" && len(t.rows) > 0 {
				t.rows[len(t.rows)-1].gone = true
			}
			return false, nil
		})
	case "tcPr":
		return true, within(dec, func(s xml.StartElement) (bool, error) {
			if s.Name.Local != "gridSpan" || len(t.rows) == 0 {
				return false, nil
			}
			span, _ := strconv.Atoi(attrOf(s, "val"))
			r := &t.rows[len(t.rows)-1]
			for range min(span, docxColumns) - 1 {
				if len(r.cells) > docxColumns {
					break
				}
				// The cell stands in the first of the columns that it spans.
				r.cells = append(r.cells, nil)
				if err := b.piece(); err != nil {
					return false, err
				}
			}
			return false, nil
		})
	}
	return false, nil
}

// last is the innermost open paragraph.
func (b *docxBody) last() *docxOpen {
	if n := len(b.open); n > 0 {
		return b.open[n-1]
	}
	return nil
}

// paragraph reads the properties of a paragraph (clause 17.3.1).
func (b *docxBody) paragraph(dec *xml.Decoder) error {
	o := b.last()
	if o == nil {
		return dec.Skip()
	}
	return within(dec, func(s xml.StartElement) (bool, error) {
		switch s.Name.Local {
		case "pStyle":
			b.paragraphStyle(o, attrOf(s, "val"))
		case "outlineLvl":
			if attrOf(s, "val") != "9" && o.kind == docxText {
				o.kind = docxHeading
			}
		case "del", "moveFrom":
			// The paragraph's mark is deleted.
			o.join = true
		case "pPrChange", "sectPr", "numPr":
			return true, dec.Skip()
		}
		return false, nil
	})
}

func (b *docxBody) paragraphStyle(o *docxOpen, id string) {
	st := b.styles.of(id)
	o.kind = st.kind
	o.base = docxRun{style: Style{Bold: st.bold == "on", Italic: st.italic == "on"}, lang: st.lang}
	if o.base.lang == "" {
		o.base.lang = b.styles.lang
	}
	o.run = o.base
}

var docxSpaces = strings.NewReplacer("\r\n", " ", "\n", " ", "\r", " ")

// put adds text to the open paragraph.
func (b *docxBody) put(s string) {
	o := b.last()
	if o == nil {
		return
	}
	if o.run.hidden {
		b.repairOnce(o.n, "hidden text: left out")
		return
	}
	for _, r := range s {
		if unicode.IsLetter(r) {
			b.langs[o.run.lang]++
		}
	}
	o.lines[len(o.lines)-1].add(docxSpaces.Replace(s), o.run.style)
}

// language is the one that most letters are marked with.
func (b *docxBody) language() string {
	best := ""
	for l, n := range b.langs {
		if n > b.langs[best] || n == b.langs[best] && l < best {
			best = l
		}
	}
	return best
}

func (b *docxBody) end(name string) {
	switch name {
	case "t":
		b.text = max(b.text-1, 0)
	case "hyperlink":
		b.links = max(b.links-1, 0)
	case "r":
		if o := b.last(); o != nil {
			o.run = o.base
		}
	case "p":
		if o := b.last(); o != nil {
			b.open = b.open[:len(b.open)-1]
			b.emit(o.docxPara)
			b.join = o.join
		}
	case "tr":
		if n := len(b.tables); n > 0 {
			if r := b.tables[n-1].rows; len(r) > 0 && r[len(r)-1].gone {
				b.repairOnce(b.n, "tracked changes: what they deleted is left out, what they inserted is taken")
				b.tables[n-1].rows = r[:len(r)-1]
			}
		}
	case "tbl":
		b.endTable()
	}
}

// endTable gives a table to what it stands in; one inside a cell becomes
// paragraphs of the cell.
func (b *docxBody) endTable() {
	n := len(b.tables)
	if n == 0 {
		return
	}
	t := b.tables[n-1]
	b.tables = b.tables[:n-1]
	b.join = false
	if n == 1 {
		b.blocks = append(b.blocks, *t)
		return
	}
	for _, r := range t.rows {
		for _, c := range r.cells {
			for _, p := range c {
				b.emit(p)
			}
		}
	}
}

// emit gives a paragraph to the cell or document it stands in.
func (b *docxBody) emit(p docxPara) {
	if n := len(b.tables); n > 0 {
		rows := b.tables[n-1].rows
		if len(rows) == 0 || len(rows[len(rows)-1].cells) == 0 {
			return
		}
		cells := rows[len(rows)-1].cells
		// The cell is before the empty ones of the columns it spans.
		i := len(cells) - 1
		for i > 0 && cells[i] == nil {
			i--
		}
		if last := len(cells[i]) - 1; b.join && last >= 0 {
			cells[i][last].goOn(p)
			return
		}
		cells[i] = append(cells[i], p)
		return
	}
	if last := len(b.blocks) - 1; b.join && last >= 0 && b.blocks[last].rows == nil {
		b.blocks[last].goOn(p)
		return
	}
	b.blocks = append(b.blocks, docxBlock{docxPara: p})
}

// goOn continues the paragraph with another.
func (p *docxPara) goOn(next docxPara) {
	if len(next.lines) == 0 {
		return
	}
	p.lines[len(p.lines)-1].follow(next.lines[0])
	p.lines = append(p.lines, next.lines[1:]...)
}
