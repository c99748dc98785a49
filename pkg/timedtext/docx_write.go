package timedtext

import (
	"archive/zip"
	"bufio"
	"fmt"
	"io"
	"regexp"
	"slices"
	"strings"
	"unicode/utf8"

	"rushlight/pkg/timecode"
)

// The parts that a word-processing document needs (ISO/IEC 29500-2 clause 6;
// 29500-1 clause 11.3).
const (
	docxTypes = `<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/><Override PartName="/word/document.xml" ContentType="application/vnd.openxmlformats-officedocument.wordprocessingml.document.main+xml"/><Override PartName="/word/styles.xml" ContentType="application/vnd.openxmlformats-officedocument.wordprocessingml.styles+xml"/><Override PartName="/docProps/core.xml" ContentType="application/vnd.openxmlformats-package.core-properties+xml"/></Types>`
	docxRels  = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="word/document.xml"/><Relationship Id="rId2" Type="http://schemas.openxmlformats.org/package/2006/relationships/metadata/core-properties" Target="docProps/core.xml"/></Relationships>`
	docxParts = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles" Target="styles.xml"/></Relationships>`
	docxSheet = `<w:styles xmlns:w="` + wordSpace + `"><w:docDefaults><w:rPrDefault><w:rPr><w:rFonts w:ascii="Calibri" w:hAnsi="Calibri" w:cs="Calibri"/><w:sz w:val="22"/>%s</w:rPr></w:rPrDefault><w:pPrDefault/></w:docDefaults>` +
		`<w:style w:type="paragraph" w:default="1" w:styleId="Normal"><w:name w:val="Normal"/></w:style>` +
		`<w:style w:type="paragraph" w:styleId="Title"><w:name w:val="Title"/><w:basedOn w:val="Normal"/><w:next w:val="Normal"/><w:pPr><w:spacing w:after="240"/></w:pPr><w:rPr><w:sz w:val="36"/></w:rPr></w:style>` +
		`<w:style w:type="paragraph" w:customStyle="1" w:styleId="Note"><w:name w:val="Note"/><w:basedOn w:val="Normal"/><w:pPr><w:spacing w:after="120"/></w:pPr></w:style>` +
		`<w:style w:type="table" w:default="1" w:styleId="TableNormal"><w:name w:val="Normal Table"/><w:tblPr><w:tblInd w:w="0" w:type="dxa"/><w:tblCellMar><w:left w:w="108" w:type="dxa"/><w:right w:w="108" w:type="dxa"/></w:tblCellMar></w:tblPr></w:style>` +
		`<w:style w:type="table" w:styleId="TableGrid"><w:name w:val="Table Grid"/><w:basedOn w:val="TableNormal"/><w:tblPr><w:tblBorders><w:top w:val="single" w:sz="4" w:space="0" w:color="auto"/><w:left w:val="single" w:sz="4" w:space="0" w:color="auto"/><w:bottom w:val="single" w:sz="4" w:space="0" w:color="auto"/><w:right w:val="single" w:sz="4" w:space="0" w:color="auto"/><w:insideH w:val="single" w:sz="4" w:space="0" w:color="auto"/><w:insideV w:val="single" w:sz="4" w:space="0" w:color="auto"/></w:tblBorders></w:tblPr></w:style></w:styles>`
	docxCore = `<cp:coreProperties xmlns:cp="http://schemas.openxmlformats.org/package/2006/metadata/core-properties" xmlns:dc="http://purl.org/dc/elements/1.1/">%s</cp:coreProperties>`
	xmlHead  = `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>` + "\n"
)

// docxWriter writes the table of cues: in, out, speaker, text, and their
// identifiers where there are any.
type docxWriter struct {
	*writer
	out   *bufio.Writer
	stamp func(timecode.Ticks) string
	ids   bool
}

// languageTag is what w:lang takes: a language of BCP 47.
var languageTag = regexp.MustCompile(`^[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*$`)

func (w *writer) writeDOCX() error {
	d := w.doc
	z := zip.NewWriter(w)
	title, language := strings.Join(strings.Fields(d.Title), " "), strings.TrimSpace(w.clean(d.Language))
	if title != d.Title || language != d.Language {
		w.lose(lostSpaces)
	}
	core, lang := "", ""
	if title != "" {
		core += "<dc:title>" + w.xmlText(title) + "</dc:title>"
	}
	if language != "" {
		core += "<dc:language>" + w.xmlText(language) + "</dc:language>"
	}
	if languageTag.MatchString(language) {
		lang = `<w:lang w:val="` + language + `"/>`
	}
	for _, part := range []struct{ name, text string }{
		{"[Content_Types].xml", docxTypes},
		{"_rels/.rels", docxRels},
		{"docProps/core.xml", fmt.Sprintf(docxCore, core)},
		{"word/_rels/document.xml.rels", docxParts},
		{"word/styles.xml", fmt.Sprintf(docxSheet, lang)},
	} {
		f, err := z.Create(part.name)
		if err == nil {
			_, err = io.WriteString(f, xmlHead+part.text)
		}
		if err != nil {
			return fmt.Errorf("writing docx: %w", err)
		}
	}
	f, err := z.Create("word/document.xml")
	if err != nil {
		return fmt.Errorf("writing docx: %w", err)
	}
	dw := &docxWriter{writer: w, out: bufio.NewWriter(f)}
	dw.body(title)
	// Errors of out stay in it until here.
	if err := dw.out.Flush(); err != nil {
		return fmt.Errorf("writing docx: %w", err)
	}
	if err := z.Close(); err != nil {
		return fmt.Errorf("writing docx: %w", err)
	}
	return nil
}

// docxEscape has no numbers for quotation marks: small readers show them as
// they are.
var docxEscape = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", "\ufffe", "\ufffd", "\uffff", "\ufffd")

// xmlText escapes text for an element; what XML cannot hold is replaced.
func (w *writer) xmlText(s string) string {
	if at := strings.IndexAny(s, "\ufffe\uffff"); at >= 0 {
		r, _ := utf8.DecodeRuneInString(s[at:])
		w.loseCharacter(r)
	}
	return docxEscape.Replace(s)
}

func (d *docxWriter) print(format string, args ...any) { fmt.Fprintf(d.out, format, args...) }

func (d *docxWriter) body(title string) {
	doc := d.doc
	labels := doc.Labels && d.base.Rate.Known()
	rate := doc.Base
	if labels {
		rate = d.base
	}
	d.loseTime(labels, rate == doc.Base, false)
	d.stamp = d.clockStamp
	if labels {
		d.stamp = d.plainStamp(true)
	}
	d.print(xmlHead+`<w:document xmlns:w="%s"><w:body>`, wordSpace)
	if title != "" {
		d.paragraph("Title", title)
	}
	if rate.Rate.Known() {
		d.paragraph("Note", worksheetRate+" "+rate.String())
	}
	for _, c := range doc.Comments {
		if strings.HasPrefix(c, worksheetRate) && !rate.Rate.Known() {
			d.lose(lostComments)
		}
		d.paragraph("Note", strings.Split(c, "\n")...)
	}
	d.loseNames()
	d.ids = slices.ContainsFunc(doc.Cues, func(c Cue) bool { return c.ID != "" })
	widths, heads := []int{1700, 1700, 1800, 4438}, []string{"In", "Out", "Speaker", "Text"}
	if d.ids {
		widths, heads = []int{900, 1700, 1700, 1800, 3538}, append([]string{"ID"}, heads...)
	}
	d.print(`<w:tbl><w:tblPr><w:tblStyle w:val="TableGrid"/><w:tblW w:w="9638" w:type="dxa"/><w:tblLayout w:type="fixed"/></w:tblPr><w:tblGrid>`)
	for _, n := range widths {
		d.print(`<w:gridCol w:w="%d"/>`, n)
	}
	d.print(`</w:tblGrid><w:tr><w:trPr><w:tblHeader/></w:trPr>`)
	for i, s := range heads {
		d.print(`<w:tc><w:tcPr><w:tcW w:w="%d" w:type="dxa"/></w:tcPr><w:p><w:r><w:rPr><w:b/></w:rPr><w:t>%s</w:t></w:r></w:p></w:tc>`, widths[i], s)
	}
	d.print(`</w:tr>`)
	for i := range doc.Cues {
		d.row(&doc.Cues[i], widths)
	}
	d.print(`</w:tbl><w:p/><w:sectPr><w:pgSz w:w="11906" w:h="16838"/><w:pgMar w:top="1134" w:right="1134" w:bottom="1134" w:left="1134" w:header="567" w:footer="567" w:gutter="0"/></w:sectPr></w:body></w:document>`)
}

func (d *docxWriter) paragraph(style string, lines ...string) {
	d.print(`<w:p><w:pPr><w:pStyle w:val="%s"/></w:pPr>`, style)
	for i, s := range lines {
		d.run(Run{Text: s}, i > 0)
	}
	d.print(`</w:p>`)
}

// clockStamp writes a time as exactly as it is.
func (d *docxWriter) clockStamp(t timecode.Ticks) string {
	if t < 0 {
		d.lose(lostNegative)
		t = 0
	}
	return exact(t)
}

func (d *docxWriter) row(c *Cue, widths []int) {
	d.loseCue(c, false)
	cells := make([]string, 0, 4)
	if d.ids {
		if strings.TrimSpace(c.ID) != c.ID {
			d.lose(lostID)
		}
		cells = append(cells, c.ID)
	}
	out := ""
	if !c.OpenEnd && c.Out != NoTime {
		if c.Out <= c.In {
			d.lose(lostBackward)
		}
		out = d.stamp(c.Out)
	}
	speaker, lines := d.docxSpeaker(c)
	cells = append(cells, d.stamp(c.In), out, speaker)
	d.print(`<w:tr>`)
	for i, s := range cells {
		d.print(`<w:tc><w:tcPr><w:tcW w:w="%d" w:type="dxa"/></w:tcPr><w:p>`, widths[i])
		if s != "" {
			d.run(Run{Text: s}, false)
		}
		d.print(`</w:p></w:tc>`)
	}
	d.print(`<w:tc><w:tcPr><w:tcW w:w="%d" w:type="dxa"/></w:tcPr><w:p>`, widths[len(cells)])
	for i, l := range lines {
		for j, r := range l {
			d.run(r, i > 0 && j == 0)
		}
	}
	d.print(`</w:p></w:tc></w:tr>`)
}

// docxSpeaker gives the speaker of a cue and its lines; where several speak,
// the lines have labels instead.
func (d *docxWriter) docxSpeaker(c *Cue) (string, []Line) {
	who := c.Lines[0][0].Speaker
	for _, l := range c.Lines {
		for _, r := range l {
			if r.Speaker != who {
				return "", d.compose(c, false)
			}
		}
	}
	if strings.TrimRight(who, ": ") != who {
		d.lose(lostLabels)
	}
	return who, d.compose(c, true)
}

// run writes a run, its tabs as such, after a line break if asked for.
func (d *docxWriter) run(r Run, brk bool) {
	props := ""
	if r.Style.Bold {
		props += `<w:b/>`
	}
	if r.Style.Italic {
		props += `<w:i/>`
	}
	if c := d.hexColour(r.Style.Colour); c == "#000000" {
		d.lose(lostColour) // the colour of text that nobody coloured
	} else if c != "" {
		props += `<w:color w:val="` + strings.ToUpper(c[1:]) + `"/>`
	}
	if r.Style.Underline {
		props += `<w:u w:val="single"/>`
	}
	d.print(`<w:r>`)
	if props != "" {
		d.print(`<w:rPr>%s</w:rPr>`, props)
	}
	if brk {
		d.print(`<w:br/>`)
	}
	for i, s := range strings.Split(r.Text, "\t") {
		if i > 0 {
			d.print(`<w:tab/>`)
		}
		if s != "" {
			d.print(`<w:t xml:space="preserve">%s</w:t>`, d.xmlText(s))
		}
	}
	d.print(`</w:r>`)
}
