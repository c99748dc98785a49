package timedtext

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"runtime/metrics"
	"testing"
	"time"
	"unicode/utf8"
)

// mutationSeed is a small good file. A part is the text of a part of a package:
// it is packed again when it was changed.
type mutationSeed struct {
	name string
	as   Format
	data []byte
	part string
}

// mutationSeeds are files of every format: ours, hand-made ones, and those of
// the suites up to 8 KiB.
func mutationSeeds(t *testing.T) []mutationSeed {
	t.Helper()
	var out []mutationSeed
	for _, f := range allFormats {
		out = append(out, mutationSeed{name: "ours." + string(f), as: f, data: []byte(written(t, farBank(), f))})
	}
	for i, f := range []Format{SRT, WebVTT, TTML, ASS, PlainText, JSON, CSV} {
		out = append(out, mutationSeed{name: "seed." + string(f), as: f, data: []byte(fuzzSeeds[i])})
	}
	body := para("b:INES", " 00:00:10\nIt ", "i:was.") + styledPara("berschrift1", "Day") + tableOf("Time|Who|Text", "0:10|Ines|It was.", "|Joss|Who?")
	packed := docxOf(t, body)
	out = append(
		out,
		mutationSeed{name: "seed.docx", as: DOCX, data: packed},
		mutationSeed{name: "document.xml", as: DOCX, part: "word/document.xml", data: unzipped(t, packed, "word/document.xml")},
		mutationSeed{name: "styles.xml", as: DOCX, part: "word/styles.xml", data: []byte(testStyles)},
		mutationSeed{name: "seed.html", as: HTML, data: []byte("<html lang=en><title>x</title><h1>Day</h1><p>[0:10] <b>Ines:</b> It<br>was &amp;<table><tr><th>Time<th>Text<tr><td>0:20<td>x</table></html>")},
		mutationSeed{name: "seed.odt", as: ODT, data: odtOf(t, "<text:p>[0:10] It was.</text:p>")},
		mutationSeed{name: "content.xml", as: ODT, part: "content.xml", data: unzipped(t, odtOf(t, `<text:h>Day</text:h><text:p>[0:10] It <text:span text:style-name="T1">was</text:span>.</text:p>`), "content.xml")},
	)
	for _, s := range []struct {
		dir, pattern string
		as           Format
	}{
		{"srt", "*.srt", SRT},
		{"webvtt/wpt-file-parsing", "*.vtt", WebVTT},
		{"imsc/imsc1/ttml", "*/*.ttml", TTML},
		{"imsc/imsc1_1/ttml", "*/*.ttml", TTML},
		{"ebu-tt-d/ttml", "*.xml", TTML},
		{"ebu-stl/files", "*.stl", STL},
	} {
		for _, path := range glob(t, corpora(t, s.dir), s.pattern) {
			if info, err := os.Stat(path); err != nil || info.Size() > 8<<10 {
				continue
			}
			data, err := os.ReadFile(filepath.Clean(path))
			if err != nil {
				t.Fatal(err)
			}
			out = append(out, mutationSeed{name: filepath.Base(path), as: s.as, data: data})
		}
	}
	return out
}

// touched is a file with one byte changed.
func touched(r *rand.Rand, file []byte) []byte {
	out := bytes.Clone(file)
	const marks = "0123456789abcXYZ<>&:;.,-/\"' \n\t"
	if len(out) > 0 {
		out[r.IntN(len(out))] = marks[r.IntN(len(marks))]
	}
	return out
}

func unzipped(t *testing.T, data []byte, part string) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	f, err := z.Open(part)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	out, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// packedPart is a package with one changed part.
func packedPart(t *testing.T, part string, data []byte) []byte {
	t.Helper()
	parts := [][2]string{{part, string(data)}}
	switch part {
	case "content.xml":
		parts = append([][2]string{{"mimetype", "application/vnd.oasis.opendocument.text"}}, parts...)
	case "word/styles.xml":
		parts = append(parts, [2]string{"word/document.xml", `<w:document xmlns:w="` + wordSpace + `"><w:body>` + styledPara("Kapitel", "[0:10] ", "It was.") + `</w:body></w:document>`})
	}
	return zipped(t, parts...)
}

// Random mutations of small files of every format: no panic, no hang, memory
// bounded; what is read can be written, and what was written can be read.
// 3,000 of them, with RUSHLIGHT_SLOW 100,000.
func TestCorporaMutations(t *testing.T) {
	seeds := mutationSeeds(t)
	n := 3000
	if os.Getenv("RUSHLIGHT_SLOW") != "" {
		n = 100_000
	}
	r := rand.New(rand.NewPCG(5, 100_000))
	allocated := []metrics.Sample{{Name: "/gc/heap/allocs:bytes"}}
	good, slowest, largest := 0, time.Duration(0), uint64(0)
	began := time.Now()
	for i := range n {
		s := seeds[i%len(seeds)]
		data := touched(r, s.data)
		if r.IntN(2) == 0 {
			data = mutate(r, s.data, seeds[r.IntN(len(seeds))].data)
		}
		if s.part != "" {
			data = packedPart(t, s.part, data)
		}
		as := s.as
		if r.IntN(4) == 0 {
			as = ""
		}
		metrics.Read(allocated)
		before, start := allocated[0].Value.Uint64(), time.Now()
		d, err := Read(bytes.NewReader(data), ReadOptions{Name: s.name, As: as, Base: at25})
		took := time.Since(start)
		metrics.Read(allocated)
		used := allocated[0].Value.Uint64() - before
		slowest, largest = max(slowest, took), max(largest, used)
		// A reader has buffers of some 100 KiB; a package's parts may unpack to
		// 16 MiB each.
		if took > 2*time.Second || used > 64<<20 {
			t.Fatalf("mutation %d of %s: %v and %d bytes to read %d", i, s.name, took, used, len(data))
		}
		if err != nil {
			if !errors.Is(err, ErrFormat) {
				t.Fatalf("mutation %d of %s: got %v, want an error that is ErrFormat", i, s.name, err)
			}
			continue
		}
		good++
		mutationWritten(t, d, allFormats[i/len(seeds)%len(allFormats)])
	}
	t.Logf("FIGURE | Timed text | random mutations without panic or hang | %d of %d files in %v: %d read, %d refused; the slowest reading %v, the most allocated in one %d KiB | no panic",
		n, len(seeds), time.Since(began).Round(time.Millisecond), good, n-good, slowest.Round(time.Microsecond), largest>>10)
	if good < n/10 || n-good < n/100 {
		t.Errorf("got %d read of %d: the test tells too little", good, n)
	}
}

// mutationWritten writes what was read and reads that.
func mutationWritten(t *testing.T, d *Document, f Format) {
	t.Helper()
	for _, c := range d.Cues {
		if !utf8.ValidString(c.Plain()) || c.Out != NoTime && c.Out <= c.In {
			t.Fatalf("cue %v %q", c.Span, c.Plain())
		}
	}
	var b bytes.Buffer
	_, err := Write(&b, d, f, WriteOptions{Base: at25})
	if err != nil {
		if f != STL || !errors.Is(err, ErrFormat) {
			t.Fatalf("write %s: %v", f, err)
		}
		return
	}
	base := d.Base
	if !base.Rate.Known() {
		base = at25
	}
	if len(settled(d).Cues) == 0 {
		return
	}
	if _, err := Read(bytes.NewReader(b.Bytes()), ReadOptions{As: f, Base: base}); err != nil {
		t.Fatalf("read what was written as %s: %v\n%q", f, err, b.String())
	}
}
