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

// zipped makes a package of parts.
func zipped(t testing.TB, parts ...[2]string) []byte {
	t.Helper()
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, p := range parts {
		f, err := z.Create(p[0])
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(f, p[1]); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

const testStyles = `<w:styles xmlns:w="` + wordSpace + `">
<w:style w:type="paragraph" w:default="1" w:styleId="Standard"><w:name w:val="Normal"/></w:style>
<w:style w:type="paragraph" w:styleId="berschrift1"><w:name w:val="heading 1"/><w:pPr><w:outlineLvl w:val="0"/></w:pPr><w:rPr><w:b/></w:rPr></w:style>
<w:style w:type="paragraph" w:styleId="Kapitel"><w:name w:val="Kapitel"/><w:basedOn w:val="berschrift1"/></w:style>
<w:style w:type="paragraph" w:styleId="Titel"><w:name w:val="Title"/></w:style>
<w:style w:type="paragraph" w:styleId="Sprecher"><w:name w:val="Sprecher"/></w:style>
<w:style w:type="character" w:styleId="Fett"><w:name w:val="Strong"/><w:rPr><w:b/></w:rPr></w:style></w:styles>`

// docxOf makes a document of the content of its body.
func docxOf(t testing.TB, body string) []byte {
	t.Helper()
	return zipped(
		t,
		[2]string{"[Content_Types].xml", docxTypes}, [2]string{"_rels/.rels", docxRels},
		[2]string{"word/_rels/document.xml.rels", docxParts}, [2]string{"word/styles.xml", testStyles},
		[2]string{"word/document.xml", xmlHead + `<w:document xmlns:w="` + wordSpace + `" xmlns:mc="` + compatSpace + `"><w:body>` + body + `<w:sectPr/></w:body></w:document>`},
	)
}

func readBytes(data []byte) (*Document, error) {
	return Read(bytes.NewReader(data), ReadOptions{Name: "x.docx", Base: at25})
}

// The shorthand of these tests: a paragraph of runs, each "b:", "i:" or plain;
// \t and \n are a tab and a line break.
func para(runs ...string) string { return styledPara("", runs...) }

func styledPara(style string, runs ...string) string {
	out := "<w:p>"
	if style != "" {
		out += `<w:pPr><w:pStyle w:val="` + style + `"/></w:pPr>`
	}
	for _, r := range runs {
		props := ""
		if s, ok := strings.CutPrefix(r, "b:"); ok {
			r, props = s, "<w:rPr><w:b/></w:rPr>"
		} else if s, ok := strings.CutPrefix(r, "i:"); ok {
			r, props = s, "<w:rPr><w:i/></w:rPr>"
		}
		text := `<w:t xml:space="preserve">` + xmlEscape(r) + `</w:t>`
		text = strings.NewReplacer("&#x9;", `</w:t><w:tab/><w:t xml:space="preserve">`, "&#xA;", `</w:t><w:br/><w:t xml:space="preserve">`).Replace(text)
		out += "<w:r>" + props + text + "</w:r>"
	}
	return out + "</w:p>"
}

func tableOf(rows ...string) string { // cells separated by |
	out := "<w:tbl>"
	for _, r := range rows {
		out += "<w:tr>"
		for c := range strings.SplitSeq(r, "|") {
			out += "<w:tc>" + para(c) + "</w:tc>"
		}
		out += "</w:tr>"
	}
	return out + "</w:tbl>"
}

// Layouts of transcripts: common practice, no source. Elements: ISO/IEC
// 29500-1 clause 17 (recalled).
func TestReadDOCX(t *testing.T) {
	cases := []struct {
		name, body, want string
		repairs          int
		comments         []string
	}{
		{"time before a paragraph", para("[0:10] It was the bell.") + para("[0:20] Who rang it?"), "10-20… It was the bell.\n20-end… Who rang it?", 0, nil},
		{"ranges, labels", para("01:00:12:10 - 01:00:14:00 INES: It was the bell."), "3612.40-3614 [INES] It was the bell.", 0, nil},
		{"a time on a line of its own", para("00:12:04") + para("INES: Bell.") + para("") + para("00:12:08") + para("Ring."), "724-728… [INES] Bell.\n728-end… Ring.", 0, nil},
		{"name and time above", para("b:Ines Corrigan", " 00:12:04") + para("It was ", "i:the", " bell."), "724-end… [Ines Corrigan] It was  [Ines Corrigan] the [Ines Corrigan]  bell.", 0, nil},
		{"runs split in a word", para("[0:1", "0] I", "t w", "as"), "10-end… It was", 0, nil},
		{"line breaks", para("[0:10] It was\nthe bell."), "10-end… It was / the bell.", 0, nil},
		{"tabs: time, name, text", para("00:00:10\tINES\tIt was.") + para("00:00:20\tJoss:\tWho?"), "10-20… [INES] It was.\n20-end… [Joss] Who?", 0, nil},
		{"tabs: name, time, text", para("INES\t00:00:10\tIt was."), "10-end… [INES] It was.", 0, nil},
		{"bold label with colon", para("[0:10] ", "b:Ines:", " It was.") + para("b:Joss", ": Who?"), "10-end… [Ines] It was. / [Joss] Who?", 0, nil},
		{"bold label without, twice", para("[0:10] ", "b:Ines", " It was.") + para("[0:20] ", "b:Joss", " Who?") + para("b:Ines ", "Nobody.") + para("b:Joss ", "No?"), "10-20… [Ines] It was.\n20-end… [Joss] Who? / [Ines] Nobody. / [Joss] No?", 0, nil},
		{"bold word, once", para("[0:10] ", "b:Nobody", " rings a bridge."), "10-end… Nobody  rings a bridge.", 0, nil},
		{"bold name alone, twice", para("b:Ines") + para("[0:10] It was.") + para("") + para("b:Joss") + para("[0:12] Who?") + para("") + para("b:Ines") + para("[0:14] Nobody.") + para("b:Joss") + para("No?"), "10-12… [Ines] It was.\n12-14… [Joss] Who?\n14-end… [Ines] Nobody. / [Joss] No?", 0, nil},
		{"bold name and short time alone", para("b:Ines Corrigan", " 0:10") + para("It was.") + para("b:Joss", " 0:20", "\nWho?"), "10-20… [Ines Corrigan] It was.\n20-end… [Joss] Who?", 0, nil},
		{"time and bold name alone, once", para("[0:10] ", "b:Ines Corrigan") + para("It was."), "10-end… [Ines Corrigan] It was.", 0, nil},
		{"heading", styledPara("berschrift1", "Second day") + para("[0:10] It was.") + styledPara("Kapitel", "The bell") + para("Yes."), "10-end… It was. / Yes.", 1, []string{"Second day", "The bell"}},
		{"timed heading", styledPara("berschrift1", "[0:10] INES:") + para("It was."), "10-end… [INES] It was.", 0, nil},
		{"tracked changes", "<w:p><w:r><w:t>[0:10] It </w:t></w:r><w:del><w:r><w:delText>is</w:delText></w:r></w:del><w:ins><w:r><w:t>was</w:t></w:r></w:ins><w:moveFrom><w:r><w:t>x</w:t></w:r></w:moveFrom><w:moveTo><w:r><w:t> so.</w:t></w:r></w:moveTo></w:p>", "10-end… It was so.", 1, nil},
		{"paragraph mark deleted", "<w:p><w:pPr><w:rPr><w:del/></w:rPr></w:pPr><w:r><w:t>[0:10] It </w:t></w:r></w:p>" + para("was."), "10-end… It was.", 0, nil},
		{"formatting before a change", "<w:p><w:r><w:rPr><w:rPrChange><w:rPr><w:vanish/></w:rPr></w:rPrChange></w:rPr><w:t>[0:10] It was.</w:t></w:r></w:p>", "10-end… It was.", 0, nil},
		{"comments and footnotes", "<w:p><w:commentRangeStart/><w:r><w:t>[0:10] It was.</w:t></w:r><w:commentRangeEnd/><w:r><w:commentReference/></w:r><w:r><w:footnoteReference/></w:r></w:p>", "10-end… It was.", 1, nil},
		{"hyperlink, smart tag, control, field", "<w:p><w:hyperlink><w:r><w:t>[0:10]</w:t></w:r></w:hyperlink><w:smartTag><w:r><w:t> It</w:t></w:r></w:smartTag><w:sdt><w:sdtPr><w:t>no</w:t></w:sdtPr><w:sdtContent><w:r><w:t xml:space='preserve" + "'> was</w:t></w:r></w:sdtContent></w:sdt><w:r><w:instrText>PAGE</w:instrText></w:r><w:fldSimple><w:r><w:t>.</w:t></w:r></w:fldSimple></w:p>", "10-end… It was.", 0, nil},
		{"hidden text", "<w:p><w:r><w:t>[0:10] It was.</w:t></w:r><w:r><w:rPr><w:vanish/></w:rPr><w:t>secret</w:t></w:r></w:p>", "10-end… It was.", 1, nil},
		{"one of two alternatives", "<w:p><w:r><w:t>[0:10] It</w:t></w:r><mc:AlternateContent><mc:Choice><w:r><w:t> was.</w:t></w:r></mc:Choice><mc:Fallback><w:r><w:t> was.</w:t></w:r></mc:Fallback></mc:AlternateContent></w:p>", "10-end… It was.", 0, nil},
		{"table with header", tableOf("TC In|TC Out|Speaker|Text", "01:00:12:10|01:00:14:00|Ines|It was.", "01:00:14:00||Joss:|Who?\nTell me."), "3612.40-3614 [Ines] It was.\n3614-end… [Joss] Who? / [Joss] Tell me.", 0, nil},
		{"table with a header in another language", tableOf("Zeit|Sprecher|Wortlaut", "00:00:10|Ines|It was the bell.", "00:00:20|Joss|Who rang it?"), "10-20… [Ines] It was the bell.\n20-end… [Joss] Who rang it?", 1, []string{"Zeit Sprecher Wortlaut"}},
		{"table without header", tableOf("0:10|Ines|It was the bell.", "0:20|Joss|Who rang it?"), "10-20… [Ines] It was the bell.\n20-end… [Joss] Who rang it?", 0, nil},
		{"table with ranges", tableOf("Timecode|Text", "00:00:10 - 00:00:12|Ines: It was.", "[00:00:20]|Who?"), "10-12 [Ines] It was.\n20-end… Who?", 0, nil},
		{"table with names by the times", tableOf("0:10\nINES|It was the bell.", "0:20\nJOSS|Who rang it?"), "10-20… [INES] It was the bell.\n20-end… [JOSS] Who rang it?", 0, nil},
		{"table of names and text", tableOf("INES|[0:10] It was.", "JOSS|[0:20] Who?"), "10-20… [INES] It was.\n20-end… [JOSS] Who?", 0, nil},
		{"row without a time", tableOf("Time|Text", "0:10|It was.", "|the bell."), "10-end… It was. / the bell.", 1, nil},
		{"text around a table", para("An interview") + tableOf("Time|Text", "0:10|It was.") + para("The end."), "10-end… It was.", 2, []string{"An interview", "The end."}},
		{"text in a box", "<w:p><w:r><w:pict><w:txbxContent>" + para("[0:10] It was.") + "</w:txbxContent></w:pict></w:r></w:p>", "10-end… It was.", 0, nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d, err := readBytes(docxOf(t, c.body))
			if err != nil {
				t.Fatal(err)
			}
			if got := told(d); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
			if d.Format != DOCX || len(d.Repairs) != c.repairs {
				t.Errorf("got %s, repairs %v, want docx, %d", d.Format, d.Repairs, c.repairs)
			}
			if fmt.Sprint(d.Comments) != fmt.Sprint(c.comments) {
				t.Errorf("got comments %q, want %q", d.Comments, c.comments)
			}
		})
	}
}

func TestDOCXStyles(t *testing.T) {
	want := `["It was " "INES" false {false false false } []]["the" "INES" false {true false false } []][" bell." "INES" false {false true false } []]` + "\n"
	for name, body := range map[string]string{
		"paragraph":        para("00:00:10 ", "b:INES: ", "It was ", "i:the", "b: bell."),
		"table":            "<w:tbl><w:tr><w:tc>" + para("Time") + "</w:tc><w:tc>" + para("Text") + "</w:tc></w:tr><w:tr><w:tc>" + para("b:0:10") + "</w:tc><w:tc>" + para("b:INES: ", "It was ", "i:the", "b: bell.") + "</w:tc></w:tr></w:tbl>",
		"character style":  strings.Replace(para("[0:10] INES: It was ", "i:the", "b: bell."), "<w:b/>", `<w:rStyle w:val="Fett"/>`, 1),
		"strict namespace": para("[0:10] INES: It was ", "i:the", "b: bell."),
	} {
		t.Run(name, func(t *testing.T) {
			data := docxOf(t, body)
			if name == "strict namespace" {
				data = zipped(t, [2]string{"word/document.xml", `<w:document xmlns:w="` + wordStrict + `"><w:body>` + body + `</w:body></w:document>`})
			}
			d, err := readBytes(data)
			if err != nil {
				t.Fatal(err)
			}
			if got := plainRuns(d.Cues[0].Lines); got != want {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
	t.Run("colour, underline, links", func(t *testing.T) {
		body := `<w:p><w:r><w:t xml:space="preserve">[0:10] It </w:t></w:r><w:r><w:rPr><w:color w:val="FF8800"/><w:u w:val="single"/></w:rPr><w:t>was</w:t></w:r><w:hyperlink><w:r><w:rPr><w:color w:val="0000FF"/><w:u w:val="single"/></w:rPr><w:t xml:space="preserve"> so.</w:t></w:r></w:hyperlink></w:p>`
		d, err := readBytes(docxOf(t, body))
		if err != nil {
			t.Fatal(err)
		}
		want := `["It " "" false {false false false } []]["was" "" false {false false true #ff8800} []][" so." "" false {false false false } []]` + "\n"
		if got := plainRuns(d.Cues[0].Lines); got != want {
			t.Errorf("got\n%s\nwant\n%s", got, want)
		}
	})
}

func TestDOCXHead(t *testing.T) {
	core := fmt.Sprintf(docxCore, "<dc:title>The Far Bank</dc:title><dc:language>en-GB</dc:language>")
	body := styledPara("Titel", "The Far Bank") + para("[0:10] It was.")
	doc := `<w:document xmlns:w="` + wordSpace + `"><w:body>` + body + `</w:body></w:document>`
	d, err := readBytes(zipped(t, [2]string{"word/document.xml", doc}, [2]string{"word/styles.xml", testStyles}, [2]string{"docProps/core.xml", core}))
	if err != nil {
		t.Fatal(err)
	}
	if d.Title != "The Far Bank" || d.Language != "en-GB" || len(d.Comments) > 0 || len(d.Repairs) > 0 {
		t.Errorf("got %q %q %q %v", d.Title, d.Language, d.Comments, d.Repairs)
	}
	// The language that most of the text is marked with.
	marked := strings.ReplaceAll(para("[0:10] It was the bell."), "<w:r>", `<w:r><w:rPr><w:lang w:val="de-CH"/></w:rPr>`)
	if d, err = readBytes(docxOf(t, marked)); err != nil || d.Language != "de-CH" {
		t.Errorf("got %q, %v, want de-CH", d.Language, err)
	}
}

func TestDOCXErrors(t *testing.T) {
	good := docxOf(t, para("[0:10] It was."))
	ole := append([]byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"), make([]byte, 500)...)
	bomb := docxOf(t, para("[0:10] "+strings.Repeat("a", 17<<20)))
	deep := docxOf(t, strings.Repeat("<w:tbl><w:tr><w:tc>", 300))
	cases := []struct {
		name string
		data []byte
		want string
		is   error
	}{
		{"old document", ole, "x.docx: document not understood: got an old binary document (.doc) or one with a password, want a transcript with times", ErrBinary},
		{"password", append(ole, utf16Of("EncryptedPackage")...), "x.docx: document not understood: got a document with a password, want a transcript with times", ErrBinary},
		{"no list of parts", good[:len(good)-30], "x.docx: the document is damaged: got not a valid zip file, want a whole .docx or .odt file", ErrFormat},
		{"spreadsheet", zipped(t, [2]string{"xl/workbook.xml", "<x/>"}), "x.docx: not a word-processing document: got a spreadsheet, want a transcript with times", ErrBinary},
		{"archive", zipped(t, [2]string{"a.wav", "RIFF"}), "x.docx: not a word-processing document: got an archive, want a transcript with times", ErrBinary},
		{"no times", docxOf(t, para("It was the bell.")), "x.docx: no time found: got a document without a timecode, want one", ErrFormat},
		{"no text", docxOf(t, ""), "x.docx: no time found: got a document without a timecode, want one", ErrFormat},
		{"broken XML", docxOf(t, "<w:p><w:r>"), "x.docx: the document is damaged: got XML that is not well formed in word/document.xml: element <r> closed by </body>", ErrFormat},
		{"not XML", zipped(t, [2]string{"word/document.xml", "\x00\x01"}), "", ErrFormat},
		{"unpacks to too much", bomb, "x.docx: word/document.xml unpacks to too much: got over 16 MiB, want less", ErrTooLarge},
		{"nested too deep", deep, "x.docx: the document is damaged: got XML not understood in word/document.xml: elements nested over 200 deep", ErrFormat},
		{"time without text that counts", docxOf(t, para("01:00:12:30 It was.")), `x.docx:1: time not understood: "01:00:12:30": frames 30, want 0 to 24 at 25 frames/s`, ErrFormat},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			_, err := readBytes(c.data)
			if err == nil {
				t.Fatal("got no error")
			}
			if c.want != "" && err.Error() != c.want {
				t.Errorf("got  %s\nwant %s", err, c.want)
			}
			var pe *ParseError
			if !errors.Is(err, c.is) || !errors.As(err, &pe) || pe.Hint == "" {
				t.Errorf("got %#v, want a ParseError with a hint that is %v", err, c.is)
			}
		})
	}
}

// Cut anywhere, or with any byte changed, a document gives an error that is
// ErrFormat, or is read.
func TestDOCXDamaged(t *testing.T) {
	good := docxOf(t, para("[0:10] It was.")+tableOf("Time|Text", "0:20|the bell."))
	for i := 0; i < len(good); i += 7 {
		for _, data := range [][]byte{good[:i], append(append(bytes.Clone(good[:i]), good[i]^0x55), good[i+1:]...)} {
			if _, err := Read(bytes.NewReader(data), ReadOptions{As: DOCX}); err != nil && !errors.Is(err, ErrFormat) {
				t.Fatalf("byte %d: got %v, want an error that is ErrFormat", i, err)
			}
		}
	}
}

// A zip file may list any number of parts at its end.
func TestDOCXManyParts(t *testing.T) {
	parts := make([][2]string, 22_000)
	for i := range parts {
		parts[i][0] = fmt.Sprintf("%05d", i)
	}
	_, err := readBytes(zipped(t, parts...))
	want := "x.docx: the document is damaged: got its list of parts is too long, want a whole .docx or .odt file"
	if !errors.Is(err, ErrFormat) || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// Read takes a document that cannot seek.
func TestDOCXFromPipe(t *testing.T) {
	d, err := Read(struct{ io.Reader }{bytes.NewReader(docxOf(t, para("[0:10] It was.")))}, ReadOptions{})
	if err != nil || len(d.Cues) != 1 {
		t.Errorf("got %v, %v", d, err)
	}
	// And one in the middle of a file.
	data := append([]byte("before"), docxOf(t, para("[0:10] It was."))...)
	r := bytes.NewReader(data)
	if _, err := r.Seek(6, io.SeekStart); err != nil {
		t.Fatal(err)
	}
	if d, err = Read(r, ReadOptions{}); err != nil || len(d.Cues) != 1 {
		t.Errorf("got %v, %v", d, err)
	}
}

// Documents made to be slow: each reading takes time in proportion to its
// length.
func TestDOCXNoSlowInput(t *testing.T) {
	const n = 10_000
	run := "<w:r><w:rPr><w:b/></w:rPr><w:t>x</w:t></w:r><w:r><w:t>y</w:t></w:r>"
	cases := map[string]string{
		"runs in a line":     "<w:p><w:r><w:t>[0:10] </w:t></w:r>" + strings.Repeat(run, n) + "</w:p>",
		"names in bold":      "<w:p><w:r><w:t>[0:10] </w:t></w:r>" + strings.Repeat("<w:r><w:rPr><w:b/></w:rPr><w:t>Ines: </w:t><w:tab/></w:r>", n) + "</w:p>",
		"paragraphs joined":  para("[0:10] It was.") + strings.Repeat("<w:p><w:pPr><w:rPr><w:del/></w:rPr></w:pPr>"+run+"</w:p>", n),
		"cells in a row":     para("[0:10] It was.") + "<w:tbl><w:tr>" + strings.Repeat("<w:tc>"+para("x")+"</w:tc>", n) + "</w:tr></w:tbl>",
		"cells spanned":      para("[0:10] It was.") + "<w:tbl><w:tr>" + strings.Repeat(`<w:tc><w:tcPr><w:gridSpan w:val="9999"/></w:tcPr>`+para("x")+"</w:tc>", n) + "</w:tr></w:tbl>",
		"rows of a table":    "<w:tbl>" + strings.Repeat("<w:tr><w:tc>"+para("0:10")+"</w:tc><w:tc>"+para("b:x", "y")+"</w:tc></w:tr>", n/4) + "</w:tbl>",
		"rows without times": "<w:tbl>" + strings.Repeat("<w:tr><w:tc>"+para("Time")+"</w:tc><w:tc>"+para("Text")+"</w:tc></w:tr>", n/4) + "</w:tbl>",
		"tables in a cell":   para("[0:10] It was.") + "<w:tbl><w:tr><w:tc>" + strings.Repeat("<w:tbl><w:tr><w:tc>"+para("x")+"</w:tc></w:tr></w:tbl>", n/4) + "</w:tc></w:tr></w:tbl>",
		"line breaks":        "<w:p><w:r><w:t>[0:10] </w:t>" + strings.Repeat("<w:br/><w:t>x</w:t>", n) + "</w:r></w:p>",
		"times in a line":    para(strings.Repeat("[0:10] x ", n)),
		"changes":            para("[0:10] It was.") + strings.Repeat("<w:del><w:r/></w:del>", n),
	}
	for name, body := range cases {
		t.Run(name, func(t *testing.T) {
			data := docxOf(t, body)
			began := time.Now()
			_, err := readBytes(data)
			if err != nil && !errors.Is(err, ErrFormat) {
				t.Fatal(err)
			}
			if d := time.Since(began); d > 2*time.Second {
				t.Errorf("took %v", d)
			} else {
				t.Logf("%d bytes in %v (%v)", len(body), d, err)
			}
		})
	}
}
