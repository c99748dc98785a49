package timedtext

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
	"time"
)

// packed makes a zip package of names and their text in turn.
func packed(t *testing.T, parts ...string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for i := 0; i < len(parts); i += 2 {
		f, err := z.Create(parts[i])
		if err == nil {
			_, err = io.WriteString(f, parts[i+1])
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Documents that take some kilobytes in the file, and gigabytes in memory if
// each of their empty paragraphs, lines and cells is kept.
func TestDocumentBombs(t *testing.T) {
	const first, size = `<w:p><w:r><w:t>[0:01] x</w:t></w:r></w:p>`, 14 << 20
	word := func(body string) []byte {
		return packed(t, "word/document.xml", `<w:document xmlns:w="`+wordSpace+`"><w:body>`+body+`</w:body></w:document>`)
	}
	odt := func(body string) []byte {
		return packed(t, "mimetype", "application/vnd.oasis.opendocument.text", "content.xml", `<office:document-content xmlns:office="`+odfOffice+
			`" xmlns:text="`+odfText+`" xmlns:table="`+odfTable+`"><office:body><office:text>`+body+`</office:text></office:body></office:document-content>`)
	}
	const cell, spanned = `<table:table-cell table:number-columns-repeated="99"/>`, `<w:tr><w:tc><w:tcPr><w:gridSpan w:val="100"/></w:tcPr></w:tc></w:tr>`
	for name, file := range map[string][]byte{
		"paragraphs": word(first + strings.Repeat("<w:p/>", size/6)),
		"lines":      word(`<w:p><w:r><w:t>[0:01] x</w:t>` + strings.Repeat("<w:br/>", size/7) + `</w:r></w:p>`),
		"cells":      word(first + `<w:tbl>` + strings.Repeat(spanned, size/len(spanned)) + `</w:tbl>`),
		"odt cells":  odt(`<table:table><table:table-row>` + strings.Repeat(cell, size/len(cell)) + `</table:table-row></table:table>`),
		"web page":   []byte("<p>[0:01] x" + strings.Repeat("<br>", 2*docxPieces)),
	} {
		if _, err := Read(bytes.NewReader(file), ReadOptions{Name: name}); !errors.Is(err, ErrTooLarge) {
			t.Errorf("%s: got %v, want too large", name, err)
		}
	}
	d, err := Read(bytes.NewReader(odt(`<text:p>[0:01] x<text:s text:c="1000000"/>y</text:p>`)), ReadOptions{})
	if err != nil || len(d.Cues) != 1 || len(d.Cues[0].Plain()) != 102 {
		t.Errorf("a million spaces: got %v, %v, want a hundred", d, err)
	}
	// A cell that stands for several columns (ISO/IEC 26300-3, 19.677).
	d, err = Read(bytes.NewReader(odt(`<table:table><table:table-row><table:table-cell><text:p>in</text:p></table:table-cell><table:table-cell><text:p>out</text:p></table:table-cell>`+
		`<table:table-cell><text:p>speaker</text:p></table:table-cell><table:table-cell><text:p>text</text:p></table:table-cell></table:table-row><table:table-row><table:table-cell><text:p>0:01</text:p></table:table-cell>`+
		`<table:table-cell table:number-columns-repeated="2"/><table:table-cell><text:p>It rang.</text:p></table:table-cell></table:table-row></table:table>`)), ReadOptions{})
	if err != nil || told(d) != "1-end… It rang." {
		t.Errorf("a cell for two columns: got %v, %v", d, err)
	}
}

// Styles that refer to many that refer to many, and a paragraph of words with
// times of their own: each takes time in proportion to its length.
func TestTTMLInTime(t *testing.T) {
	const head = `<tt xmlns="http://www.w3.org/ns/ttml" xmlns:tts="http://www.w3.org/ns/ttml#styling">`
	var styles, words strings.Builder
	for i := range 40 {
		fmt.Fprintf(&styles, `<style xml:id="s%d" style="%s s0"/>`, i, strings.Repeat(fmt.Sprintf("s%d ", i+1), 3))
	}
	styles.WriteString(`<style xml:id="s40" tts:fontStyle="italic"/>`)
	const n = 20_000
	for i := range n {
		fmt.Fprintf(&words, `<span begin="%d.1s" end="%d.9s">word</span> <br/>`, i, i)
	}
	began := time.Now()
	d, err := Read(strings.NewReader(head+`<head><styling>`+styles.String()+`</styling></head><body><div><p style="s0" begin="1s" end="2s">x</p><p>`+words.String()+`</p></div></body></tt>`), ReadOptions{})
	if err != nil || len(d.Cues) != n+1 || !d.Cues[0].Lines[0][0].Style.Italic || d.Cues[n].Plain() != "word" {
		t.Fatalf("got %v, want %d cues, the first slanted", err, n+1)
	}
	if took := time.Since(began); took > 4*time.Second {
		t.Errorf("took %v", took)
	}
}

// Web pages as they are met; XML that says another encoding than it has.
func TestPagesAsMet(t *testing.T) {
	for _, c := range []struct{ file, want string }{
		{"<p>00:00:05 <ruby>鐘<rt>kane</ruby> rang.</p><p>00:00:09 Still.</p>", "5-9… 鐘 rang.\n9-end… Still."},
		{"<h2>Day 2<p>00:00:05 INES: It rang.</p><p>And on it went.</p>", "5-end… [INES] It rang. / [INES] And on it went."},
		{"<h2>Day 2</h3><p>00:00:05 INES: It rang.</p><p>And on it went.</p>", "5-end… [INES] It rang. / [INES] And on it went."},
		{"<!-- saved -->\n<p>00:00:05 INES: It rang.</p>", "5-end… [INES] It rang."},
		{`<?xml version="1.0" encoding="iso-8859-1"?><tt xmlns="http://www.w3.org/ns/ttml"><body><div><p begin="1s" end="2s">Café.</p></div></body></tt>`, "1-2 Café."},
		{`<?xml version="1.0" encoding="iso-8859-1"?><tt xmlns="http://www.w3.org/ns/ttml"><body><div><p begin="1s" end="2s">Caf` + "\xe9" + `.</p></div></body></tt>`, "1-2 Café."},
	} {
		d, err := Read(strings.NewReader(c.file), ReadOptions{})
		if err != nil || told(d) != c.want {
			t.Errorf("%q: got %v, %v, want %s", c.file, d, err, c.want)
		}
	}
}

// What TTML has no name or value for is written as a number, or not at all
// (TTML2 sections 10.2.38 and 10.3.5).
func TestTTMLNames(t *testing.T) {
	doc := &Document{Cues: []Cue{{Settings: map[string]string{"align": "middle"}, Lines: []Line{{{Text: "x", Style: Style{Colour: "orange"}}, {Text: "y", Style: Style{Colour: "lime"}}}}}}}
	doc.Cues[0].Out = at25.Rate.Ticks(25)
	var b strings.Builder
	lost, err := Write(&b, doc, TTML, WriteOptions{})
	if err != nil || len(lost) != 2 || !strings.Contains(b.String(), `tts:color="#ffa500"`) || !strings.Contains(b.String(), `tts:color="lime"`) || strings.Contains(b.String(), "middle") {
		t.Errorf("lost %v, %v: %s", lost, err, b.String())
	}
}
