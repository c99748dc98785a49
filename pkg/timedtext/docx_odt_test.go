package timedtext

import (
	"fmt"
	"strings"
	"testing"
)

// odtOf makes a document of the content of its text.
func odtOf(t testing.TB, body string) []byte {
	t.Helper()
	const head = `xmlns:office="` + odfOffice + `" xmlns:text="` + odfText + `" xmlns:table="` + odfTable + `" xmlns:style="` + odfStyle + `" xmlns:fo="urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0"`
	return zipped(
		t,
		[2]string{"mimetype", "application/vnd.oasis.opendocument.text"},
		[2]string{"meta.xml", `<office:document-meta ` + head + ` xmlns:dc="http://purl.org/dc/elements/1.1/"><office:meta><dc:title>The Far Bank</dc:title></office:meta></office:document-meta>`},
		[2]string{"content.xml", `<office:document-content ` + head + `><office:automatic-styles>` +
			`<style:style style:name="T1" style:family="text"><style:text-properties fo:font-weight="bold"/></style:style>` +
			`<style:style style:name="T2" style:family="text"><style:text-properties fo:font-style="italic" fo:language="de" fo:country="CH"/></style:style>` +
			`<style:style style:name="P1" style:family="paragraph" style:parent-style-name="Heading_20_1"/>` +
			`</office:automatic-styles><office:body><office:text>` + body + `</office:text></office:body></office:document-content>`},
	)
}

// Elements: ISO/IEC 26300 (recalled).
func TestReadODT(t *testing.T) {
	cases := []struct {
		name, body, want string
		repairs          int
		comments         []string
	}{
		{"paragraphs", "<text:p>[0:10] It\n was<text:s text:c=\"2\"/>so.</text:p><text:p>[0:20] Who?</text:p>", "10-20… It was  so.\n20-end… Who?", 0, nil},
		{"bold label", `<text:p>[0:10] <text:span text:style-name="T1">Ines:</text:span> It was.</text:p>`, "10-end… [Ines] It was.", 0, nil},
		{"tabs and breaks", `<text:p>0:10:00<text:tab/>INES<text:tab/>It was<text:line-break/>the bell.</text:p>`, "600-end… [INES] It was / [INES] the bell.", 0, nil},
		{"headings", `<text:h text:outline-level="1">Second day</text:h><text:p text:style-name="P1">On the ferry</text:p><text:p>[0:10] It was.</text:p>`, "10-end… It was.", 1, []string{"Second day", "On the ferry"}},
		{"changes, comments, notes", `<text:tracked-changes><text:changed-region><text:deletion><text:p>[0:05] gone</text:p></text:deletion></text:changed-region></text:tracked-changes><text:p>[0:10] It<office:annotation><text:p>x</text:p></office:annotation> was<text:note><text:note-body><text:p>y</text:p></text:note-body></text:note>.</text:p>`, "10-end… It was.", 2, nil},
		{"links", `<text:p><text:a>[0:10]</text:a> It was.</text:p>`, "10-end… It was.", 0, nil},
		{"table", `<table:table><table:table-column/><table:table-row><table:table-cell><text:p>Time</text:p></table:table-cell><table:table-cell><text:p>Text</text:p></table:table-cell></table:table-row><table:table-row><table:table-cell><text:p>0:10</text:p></table:table-cell><table:table-cell><text:p>INES: It</text:p><text:p>was.</text:p></table:table-cell></table:table-row></table:table>`, "10-end… [INES] It / [INES] was.", 0, nil},
		{"list", `<text:list><text:list-item><text:p>[0:10] It was.</text:p></text:list-item></text:list>`, "10-end… It was.", 0, nil},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			d, err := readBytes(odtOf(t, c.body))
			if err != nil {
				t.Fatal(err)
			}
			if got := told(d); got != c.want {
				t.Errorf("got\n%s\nwant\n%s", got, c.want)
			}
			if d.Format != ODT || d.Title != "The Far Bank" || len(d.Repairs) != c.repairs || fmt.Sprint(d.Comments) != fmt.Sprint(c.comments) {
				t.Errorf("got %s %q, repairs %v, comments %q", d.Format, d.Title, d.Repairs, d.Comments)
			}
		})
	}
	d, err := readBytes(odtOf(t, `<text:p>[0:10] It <text:span text:style-name="T2">was the bell</text:span>.</text:p>`))
	if err != nil {
		t.Fatal(err)
	}
	if want := `["It " "" false {false false false } []]["was the bell" "" false {true false false } []]["." "" false {false false false } []]`; strings.TrimSpace(plainRuns(d.Cues[0].Lines)) != want || d.Language != "de-CH" {
		t.Errorf("got %s, %q", plainRuns(d.Cues[0].Lines), d.Language)
	}
}
