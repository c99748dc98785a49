package timedtext

import (
	"encoding/xml"
	"strconv"
	"strings"
)

// ODT is a transcript as an OpenDocument text (ISO/IEC 26300): a zip package
// like DOCX with other names in it. It is read, not written.
const ODT Format = "odt"

const (
	odfText   = "urn:oasis:names:tc:opendocument:xmlns:text:1.0"
	odfTable  = "urn:oasis:names:tc:opendocument:xmlns:table:1.0"
	odfStyle  = "urn:oasis:names:tc:opendocument:xmlns:style:1.0"
	odfOffice = "urn:oasis:names:tc:opendocument:xmlns:office:1.0"
)

// odtStyle is what a style says; what it does not say is as in its parent.
type odtStyle struct {
	parent, name            string
	bold, italic, underline string // "on", "off"
	colour, lang            string
}

type odtBody struct {
	docxBody
	odt map[string]odtStyle // by name
	// def is the style being defined.
	def string
	// runs holds the styles of the open paragraphs and spans; space tells that the
	// last character was a space, or the line is new.
	runs  []docxRun
	space bool
}

func (p *docxPackage) readODT() error {
	p.doc.Format = ODT
	b := &odtBody{docxBody: docxBody{docxPackage: p, langs: map[string]int{}}, odt: map[string]odtStyle{}}
	for _, part := range []string{"styles.xml", "content.xml"} {
		if err := p.xml(part, b.token); err != nil {
			return err
		}
	}
	if p.parts["docprops/core.xml"] = p.parts["meta.xml"]; p.parts["meta.xml"] != nil {
		if err := p.core(); err != nil {
			return err
		}
	}
	if p.doc.Language == "" {
		p.doc.Language = b.language()
	}
	return p.prose(b.blocks)
}

func (b *odtBody) token(dec *xml.Decoder, tok xml.Token) (done bool, err error) {
	switch tok := tok.(type) {
	case xml.StartElement:
		switch tok.Name.Space {
		case odfText:
			return b.text(dec, tok)
		case odfTable:
			return false, b.table(tok)
		case odfStyle:
			b.style(tok)
		case odfOffice:
			switch tok.Name.Local {
			case "annotation":
				b.repairOnce(b.n, "comments in the margin and footnotes: left out")
				return true, dec.Skip()
			case "master-styles":
				// Headers and footers.
				return true, dec.Skip()
			}
		}
	case xml.EndElement:
		switch tok.Name.Space {
		case odfText:
			b.endText(tok.Name.Local)
		case odfTable:
			if tok.Name.Local == "table" {
				b.endTable()
			}
		}
	case xml.CharData:
		if len(b.runs) > 0 {
			b.chars(string(tok))
		}
	}
	return false, nil
}

// of is a style with what it has from its parents.
func (b *odtBody) of(name string) odtStyle {
	out := b.odt[name]
	for n, at := 0, out; n < 16 && at.parent != ""; n++ {
		up, ok := b.odt[at.parent]
		if !ok {
			up.name = at.parent
		}
		at = up
		for _, f := range []struct{ to, from *string }{
			{&out.name, &at.name},
			{&out.bold, &at.bold},
			{&out.italic, &at.italic},
			{&out.underline, &at.underline},
			{&out.colour, &at.colour},
			{&out.lang, &at.lang},
		} {
			if *f.to == "" {
				*f.to = *f.from
			}
		}
	}
	return out
}

// over is a run with a style laid over it.
func (r docxRun) over(s odtStyle, linked bool) docxRun {
	set := func(to *bool, say string) {
		if say != "" {
			*to = say == "on"
		}
	}
	set(&r.style.Bold, s.bold)
	set(&r.style.Italic, s.italic)
	if !linked {
		set(&r.style.Underline, s.underline)
		if c := colour(s.colour); c != "" && c != "#000000" {
			r.style.Colour = c
		}
	}
	if s.lang != "" {
		r.lang = s.lang
	}
	return r
}

// style reads the definition of a style (clause 16).
func (b *odtBody) style(s xml.StartElement) {
	switch s.Name.Local {
	case "style":
		b.def = attrOf(s, "name")
		name := attrOf(s, "display-name")
		if name == "" && !autoName(b.def) {
			name = b.def
		}
		b.odt[b.def] = odtStyle{parent: attrOf(s, "parent-style-name"), name: name}
	case "default-style":
		b.def = ""
	case "text-properties":
		st, ok := b.odt[b.def]
		if !ok {
			return
		}
		say := func(v string, off ...string) string {
			if v == "" {
				return ""
			}
			for _, o := range off {
				if v == o {
					return "off"
				}
			}
			return "on"
		}
		st.bold, st.italic = say(attrOf(s, "font-weight"), "normal", "100", "200", "300", "400", "500"), say(attrOf(s, "font-style"), "normal")
		st.underline, st.colour = say(attrOf(s, "text-underline-style"), "none"), attrOf(s, "color")
		if l, c := attrOf(s, "language"), attrOf(s, "country"); l != "" && l != "none" {
			if st.lang = l; c != "" && c != "none" {
				st.lang += "-" + c
			}
		}
		b.odt[b.def] = st
	}
}

// autoName tells the names that programs give to styles of their own making:
// P1, T12.
func autoName(s string) bool {
	_, err := strconv.Atoi(strings.TrimLeft(s, "PTLR"))
	return err == nil
}

func (b *odtBody) text(dec *xml.Decoder, s xml.StartElement) (done bool, err error) {
	switch s.Name.Local {
	case "p", "h":
		b.n++
		st := b.of(attrOf(s, "style-name"))
		o := &docxOpen{docxPara: docxPara{n: b.n, lines: make([]docxLine, 1), kind: kindByName(strings.ReplaceAll(st.name, "_20_", " "))}}
		if s.Name.Local == "h" && o.kind == docxText {
			o.kind = docxHeading
		}
		b.open = append(b.open, o)
		b.runs = append(b.runs, docxRun{}.over(st, false))
		b.space = true
		return false, b.piece()
	case "a":
		b.links++
	case "span":
		if n := len(b.runs); n > 0 {
			b.runs = append(b.runs, b.runs[n-1].over(b.of(attrOf(s, "style-name")), b.links > 0))
		}
	case "tab":
		b.space = false
		b.say("\t")
	case "line-break":
		if o := b.last(); o != nil {
			o.lines = append(o.lines, docxLine{})
			b.space = true
			return false, b.piece()
		}
	case "s":
		n, err := strconv.Atoi(attrOf(s, "c"))
		if err != nil || n < 1 {
			n = 1
		}
		b.say(strings.Repeat(" ", min(n, 100)))
	case "tracked-changes":
		b.repairOnce(b.n, "tracked changes: what they deleted is left out, what they inserted is taken")
		return true, dec.Skip()
	case "note":
		b.repairOnce(b.n, "comments in the margin and footnotes: left out")
		return true, dec.Skip()
	case "sequence-decls", "variable-decls", "ruby-text":
		return true, dec.Skip()
	}
	return false, nil
}

func (b *odtBody) endText(name string) {
	switch name {
	case "a":
		b.links = max(b.links-1, 0)
	case "span":
		if n := len(b.runs); n > len(b.open) {
			b.runs = b.runs[:n-1]
		}
	case "p", "h":
		if o := b.last(); o != nil {
			b.open = b.open[:len(b.open)-1]
			b.runs = b.runs[:len(b.runs)-1]
			b.emit(o.docxPara)
		}
	}
}

// chars adds text with its white space collapsed (clause 6.1.2).
func (b *odtBody) chars(s string) {
	if s = collapse(s, &b.space); s != "" {
		b.say(s)
	}
}

func (b *odtBody) say(s string) {
	if o := b.last(); o != nil && len(b.runs) > 0 {
		o.run = b.runs[len(b.runs)-1]
		b.put(s)
	}
}

func (b *odtBody) table(s xml.StartElement) error {
	if s.Name.Local == "table" {
		b.tables = append(b.tables, &docxBlock{docxPara: docxPara{n: b.n + 1}, rows: []docxRow{}})
		return nil
	}
	n := len(b.tables)
	if n == 0 {
		return nil
	}
	t := b.tables[n-1]
	switch s.Name.Local {
	case "table-row":
		t.rows = append(t.rows, docxRow{n: b.n + 1})
		return b.piece()
	case "table-cell", "covered-table-cell":
		// A cell may say how many columns it stands for (19.677).
		n, _ := strconv.Atoi(attrOf(s, "number-columns-repeated"))
		for range max(1, min(n, docxColumns)) {
			if len(t.rows) > 0 {
				r := &t.rows[len(t.rows)-1]
				r.cells = append(r.cells, []docxPara{})
			}
			if err := b.piece(); err != nil {
				return err
			}
		}
	}
	return nil
}
