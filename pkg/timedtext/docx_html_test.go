package timedtext

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"testing"
)

// Layouts of transcripts on web pages: common practice, no source.
func TestReadHTML(t *testing.T) {
	cases := []struct {
		name, body, want string
		repairs          int
		comments         []string
	}{
		{"paragraphs", "<p>[0:10] It\n was &amp; so.<p>[0:20]&nbsp;Who?", "10-20… It was & so.\n20-end… Who?", 0, nil},
		{"bold labels", "<p>[0:10] <b>Ines:</b> It was.</p>\n<p><strong>Joss</strong>: Who?</p>", "10-end… [Ines] It was. / [Joss] Who?", 0, nil},
		{"line breaks", "<div>0:10:00<br>INES: It was<br/>the bell.</div>", "600-end… [INES] It was / [INES] the bell.", 0, nil},
		{"headings", "<h1>Second day</h1><p>[0:10] It was.</p>", "10-end… It was.", 1, []string{"Second day"}},
		{"scripts, styles, comments", "<script>if (a<b) {}</script><style>p{}</style><!-- x --><p>[0:10] It was.</p><noscript>y</noscript>", "10-end… It was.", 0, nil},
		{"table", "<table><caption>An interview</caption><tr><th>Time<th>Who<th>Text<tr><td>0:10<td>Ines<td>It was<br>the bell.<tr><td>0:20</td><td>Joss</td><td><p>Who?</p></td></tr></table>", "10-20… [Ines] It was / [Ines] the bell.\n20-end… [Joss] Who?", 1, []string{"An interview"}},
		{"table without header", "<table><tbody><tr><td>0:10</td><td>Ines</td><td>It was the bell.</td></tr><tr><td>0:20</td><td>Joss</td><td>Who rang it?</td></tr></tbody></table>", "10-20… [Ines] It was the bell.\n20-end… [Joss] Who rang it?", 0, nil},
		{"text as it is", "<pre>[0:10] It was.\n[0:20] Who?\n</pre>", "10-20… It was.\n20-end… Who?", 0, nil},
		{"list", "<ul><li>[0:10] It was.<li>[0:20] Who?</ul>", "10-20… It was.\n20-end… Who?", 0, nil},
		{"unclosed", "<p>[0:10] It <i>was<p>[0:20] Who?</table></td></b>", "10-20… It  was\n20-end… Who?", 0, nil},
	}
	for _, c := range cases {
		for _, head := range []string{"<!DOCTYPE html><html lang=\"en\"><head><title>The Far\n Bank</title></head><body>", "<?xml version=\"1.0\"?>\n<!doctype html><html lang='en'><title>The Far Bank</title>"} {
			t.Run(c.name, func(t *testing.T) {
				d, err := Read(strings.NewReader(head+c.body), ReadOptions{Name: "x.htm"})
				if err != nil {
					t.Fatal(err)
				}
				if got := told(d); got != c.want {
					t.Errorf("got\n%s\nwant\n%s", got, c.want)
				}
				if d.Format != HTML || d.Title != "The Far Bank" || d.Language != "en" || len(d.Repairs) != c.repairs || fmt.Sprint(d.Comments) != fmt.Sprint(c.comments) {
					t.Errorf("got %s %q %q, repairs %v, comments %q", d.Format, d.Title, d.Language, d.Repairs, d.Comments)
				}
			})
		}
	}
	d, err := Read(strings.NewReader("<html>\n<p>[0:10] One.\n<p>[0:20]\n Two."), ReadOptions{})
	if err != nil || d.Cues[1].Line != 3 {
		t.Errorf("got line %d, %v, want 3", d.Cues[1].Line, err)
	}
}

// ODT and HTML are read only.
func TestReadOnlyFormats(t *testing.T) {
	for _, f := range []Format{ODT, HTML} {
		_, err := Write(io.Discard, farBank(), f, WriteOptions{})
		if !errors.Is(err, ErrUnknown) {
			t.Errorf("%s: got %v, want ErrUnknown", f, err)
		}
	}
}

// Pages made to be slow.
func TestHTMLNoSlowInput(t *testing.T) {
	const n = 50_000
	for name, body := range map[string]string{
		"tables in tables": strings.Repeat("<table><tr><td>x", n),
		"bold in bold":     strings.Repeat("<b>x", n) + strings.Repeat("</i>", n),
		"cells":            "<table><tr>" + strings.Repeat("<td>x", n),
		"breaks":           strings.Repeat("<br>", n),
		"brackets":         strings.Repeat("<", n),
		"references":       strings.Repeat("&a", n),
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := Read(strings.NewReader("<html><p>[0:10] "+body), ReadOptions{}); err != nil && !errors.Is(err, ErrFormat) {
				t.Fatal(err)
			}
		})
	}
}

// FuzzDocument: no part of a package and no page may panic, hang, or give an
// error that is not ErrFormat.
func FuzzDocument(f *testing.F) {
	f.Add("word/document.xml", []byte(`<w:document xmlns:w="`+wordSpace+`"><w:body>`+para("b:INES", " 0:10:00\nIt ", "i:was.")+tableOf("Time|Who|Text", "0:10|Ines|It was.")+`</w:body></w:document>`))
	f.Add("word/styles.xml", []byte(testStyles))
	f.Add("content.xml", []byte(`<a xmlns:t="`+odfText+`" xmlns:b="`+odfTable+`"><t:h>x</t:h><t:p>[0:10] It <t:span>was</t:span><t:tab/>.</t:p><b:table><b:table-row><b:table-cell><t:p>0:10</t:p></b:table-cell></b:table-row></b:table></a>`))
	f.Add("", []byte("<html lang=en><h1>x</h1><p>[0:10] <b>Ines:</b> It<br>was<table><tr><td>0:20<td>x"))
	f.Fuzz(func(t *testing.T, part string, data []byte) {
		switch part {
		case "word/document.xml", "word/styles.xml", "content.xml":
			data = packedPart(t, part, data)
		case "":
		default:
			return
		}
		d, err := Read(bytes.NewReader(data), ReadOptions{Base: at25})
		if err != nil {
			if !errors.Is(err, ErrFormat) {
				t.Fatalf("got %v, want an error that is ErrFormat", err)
			}
			return
		}
		mutationWritten(t, d, DOCX)
	})
}

// Formats, Written and what Read and Write take agree.
func TestFormats(t *testing.T) {
	for _, f := range append(Formats(), "nonsense") {
		_, err := Write(io.Discard, farBank(), f, WriteOptions{Base: at25})
		if got := err == nil; got != f.Written() {
			t.Errorf("%s: written %v, error %v", f, f.Written(), err)
		}
		_, err = Read(strings.NewReader("x"), ReadOptions{As: f})
		if got := errors.Is(err, ErrUnknown); got != (f == "nonsense") {
			t.Errorf("%s: read: %v", f, err)
		}
	}
}
