package timedtext

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"strings"
)

// DOCX is a transcript as an Office Open XML word-processing document
// (ISO/IEC 29500, strict or transitional): a zip package with the text in one
// of its parts. Read are the paragraphs and tables of the main part, with what
// tracked changes inserted and without what they deleted; comments, notes,
// headers, footers and pictures are not read.
const DOCX Format = "docx"

const (
	// docxDirectory bounds what the list of parts may take: a zip file says
	// what it holds at its end, at any length.
	docxDirectory = 1 << 20
	// docxRatio and docxFloor bound what a part may unpack to: docxRatio
	// times what it takes in the file, but docxFloor at least. Text of one
	// word repeated packs to 1/1000, a transcript to 1/20.
	docxRatio, docxFloor = 250, 16 << 20
	// docxPieces bounds how many paragraphs, lines and cells a document may have:
	// one takes few bytes in the file and some hundred in memory. Ten hours of talk
	// have some ten thousand.
	docxPieces = 500_000
)

const (
	hintDamaged = "open it in the word processor, save it again, and give that"
	hintDoc     = "save it as .docx or as plain text (UTF-8) and give that"
)

// oleMagic begins a compound file: an old binary document, or one with a
// password.
var oleMagic = []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")

// detectPackage tells the formats that are zip files, and refuses old binary
// documents; ok is false where the file is neither.
func detectPackage(head []byte, name string) (f Format, ok bool, err error) {
	switch {
	case bytes.HasPrefix(head, []byte("PK\x03\x04")), bytes.HasPrefix(head, []byte("PK\x05\x06")):
		// ISO/IEC 26300-3 clause 3.3: the kind is in the first part, as it is.
		if bytes.Contains(head[:min(len(head), 120)], []byte("mimetypeapplication/vnd.oasis.opendocument.text")) {
			return ODT, true, nil
		}
		return DOCX, true, nil
	case bytes.HasPrefix(head, oleMagic):
		what := "an old binary document (.doc) or one with a password"
		if bytes.Contains(head, utf16Of("EncryptedPackage")) {
			what = "a document with a password"
		} else if bytes.Contains(head, utf16Of("WordDocument")) {
			what = "an old binary document (.doc)"
		}
		return "", true, &ParseError{
			Name: name, Problem: "document not understood: got " + what + ", want a transcript with times", Hint: hintDoc, kind: ErrBinary,
		}
	}
	return "", false, nil
}

func utf16Of(s string) []byte {
	out := make([]byte, 0, 2*len(s))
	for i := range len(s) {
		out = append(out, s[i], 0)
	}
	return out
}

// whole gives the file at random access: as it is where it can seek, else
// read into memory.
func (in *input) whole(r io.Reader) (io.ReaderAt, int64, error) {
	if f, ok := r.(interface {
		io.ReaderAt
		io.Seeker
	}); ok {
		at, err := f.Seek(0, io.SeekCurrent)
		end, err2 := f.Seek(0, io.SeekEnd)
		if err == nil && err2 == nil && at <= end {
			start := at - int64(in.raw.Buffered())
			if end-start > MaxSize {
				return nil, 0, ErrTooLarge
			}
			return io.NewSectionReader(f, start, end-start), end - start, nil
		}
	}
	data, err := io.ReadAll(in.raw)
	return bytes.NewReader(data), int64(len(data)), err
}

// readPackage reads a format that is a zip file.
func (rd *reader) readPackage(in *input, r io.Reader) error {
	at, size, err := in.whole(r)
	if err != nil {
		return err
	}
	return rd.readDOCX(at, size)
}

// thrifty fails once more than left bytes were read, while it counts.
type thrifty struct {
	io.ReaderAt
	left  int64
	count bool
}

var errDirectory = errors.New("its list of parts is too long")

func (t *thrifty) ReadAt(p []byte, off int64) (int, error) {
	if t.count {
		if t.left -= int64(len(p)); t.left < 0 {
			return 0, errDirectory
		}
	}
	return t.ReaderAt.ReadAt(p, off)
}

// docxPackage is an open package.
type docxPackage struct {
	*reader
	parts map[string]*zip.File // by name in small letters
	main  string
}

func (rd *reader) readDOCX(r io.ReaderAt, size int64) error {
	t := &thrifty{ReaderAt: r, left: docxDirectory, count: true}
	z, err := zip.NewReader(t, size)
	if err != nil && !errors.Is(err, zip.ErrInsecurePath) {
		return rd.damaged(err)
	}
	t.count = false
	p := &docxPackage{reader: rd, parts: make(map[string]*zip.File, len(z.File))}
	for _, f := range z.File {
		name := strings.ToLower(strings.TrimPrefix(strings.ReplaceAll(f.Name, `\`, "/"), "/"))
		if p.parts[name] == nil {
			p.parts[name] = f
		}
	}
	odt, err := p.find()
	if err != nil {
		return err
	}
	rd.doc.Format = DOCX
	if odt {
		return p.readODT()
	}
	rels, err := p.relations(p.main)
	if err != nil {
		return err
	}
	styles, err := p.styles(rels["styles"])
	if err != nil {
		return err
	}
	b := &docxBody{docxPackage: p, styles: styles, langs: map[string]int{}}
	if err := p.xml(p.main, b.token); err != nil {
		return err
	}
	if err := p.core(); err != nil {
		return err
	}
	if rd.doc.Language == "" {
		rd.doc.Language = b.language()
	}
	return rd.prose(b.blocks)
}

// find finds the main part, or says what the package is instead.
func (p *docxPackage) find() (odt bool, err error) {
	rels, err := p.relations("")
	if err != nil {
		return false, err
	}
	p.main = rels["officedocument"]
	if p.parts[p.main] == nil {
		p.main = "word/document.xml"
	}
	what, hint := "an archive", "unpack it and give the transcript itself"
	switch {
	case p.parts[p.main] != nil && !strings.HasPrefix(p.main, "xl/") && !strings.HasPrefix(p.main, "ppt/"):
		return false, nil
	case p.parts["xl/workbook.xml"] != nil:
		what, hint = "a spreadsheet", "save the sheet as CSV and give that"
	case p.parts["ppt/presentation.xml"] != nil:
		what, hint = "a presentation", hintDoc
	case p.parts["content.xml"] != nil && p.parts["mimetype"] != nil:
		return true, nil
	}
	return false, &ParseError{Name: p.opt.Name, Problem: "not a word-processing document: got " + what + ", want a transcript with times", Hint: hint, kind: ErrBinary}
}

// damaged makes the error for a package that cannot be unpacked.
func (rd *reader) damaged(err error) error {
	var corrupt flate.CorruptInputError
	var pe *ParseError
	switch {
	case errors.As(err, &pe), errors.Is(err, ErrTooLarge):
		return err
	case errors.Is(err, zip.ErrFormat), errors.Is(err, zip.ErrAlgorithm), errors.Is(err, zip.ErrChecksum), errors.Is(err, io.ErrUnexpectedEOF),
		errors.Is(err, io.EOF), errors.Is(err, errDirectory), errors.As(err, &corrupt):
		return rd.fail(0, hintDamaged, "the document is damaged: got %s, want a whole .docx or .odt file", strings.TrimPrefix(err.Error(), "zip: "))
	}
	return err
}

// part opens a part. It must be closed.
func (p *docxPackage) part(name string) (io.ReadCloser, error) {
	f := p.parts[name]
	if f.Flags&1 != 0 {
		return nil, p.fail(0, "save it without a password", "the document cannot be opened: got a part with a password (%s), want none", f.Name)
	}
	r, err := f.Open()
	if err != nil {
		return nil, p.damaged(err)
	}
	limit := min(max(docxFloor, docxRatio*int64(min(f.CompressedSize64, MaxSize))), MaxSize)
	return &docxPart{ReadCloser: r, p: p, name: f.Name, left: limit, limit: limit}, nil
}

// docxPart reads a part up to its bound, with errors that say what is wrong.
type docxPart struct {
	io.ReadCloser
	p           *docxPackage
	name        string
	left, limit int64
}

func (d *docxPart) Read(b []byte) (int, error) {
	n, err := d.ReadCloser.Read(b)
	if d.left -= int64(n); d.left < 0 {
		return 0, &ParseError{
			Name: d.p.opt.Name, Problem: fmt.Sprintf("%s unpacks to too much: got over %d MiB, want less", d.name, d.limit>>20),
			Hint: "split the transcript; a document that grows so much was not made by a word processor", kind: ErrTooLarge,
		}
	}
	if err != nil && !errors.Is(err, io.EOF) {
		err = d.p.damaged(err)
	}
	return n, err
}

// xml gives each token of a part to take, which tells whether it read an
// element to its end; a part that is not there has none.
func (p *docxPackage) xml(name string, take func(*xml.Decoder, xml.Token) (done bool, err error)) error {
	if p.parts[name] == nil {
		return nil
	}
	part, err := p.part(name)
	if err != nil {
		return err
	}
	defer part.Close()
	in, err := newInput(part, ReadOptions{Name: p.opt.Name, Stop: p.opt.Stop})
	if err != nil {
		var pe *ParseError
		if errors.As(err, &pe) && errors.Is(err, ErrEmpty) {
			return p.fail(0, hintDamaged, "the document is damaged: got nothing in %s, want XML", name)
		}
		return err
	}
	text, _, err := in.decode(false)
	if err != nil {
		return err
	}
	dec := xml.NewDecoder(text)
	dec.CharsetReader = func(_ string, in io.Reader) (io.Reader, error) { return in, nil }
	for depth := 0; ; {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		done := false
		if err == nil {
			switch tok.(type) {
			case xml.StartElement:
				depth++
			case xml.EndElement:
				depth--
			}
			if depth > maxDepth {
				err = errDeep
			} else {
				done, err = take(dec, tok)
			}
		}
		if err != nil {
			return p.xmlError(name, err)
		}
		if done {
			depth--
		}
	}
}

var errDeep = fmt.Errorf("xml: elements nested over %d deep", maxDepth)

func (p *docxPackage) xmlError(name string, err error) error {
	var syntax *xml.SyntaxError
	var pe *ParseError
	switch {
	case errors.As(err, &pe):
		return err
	case errors.As(err, &syntax):
		return p.fail(0, hintDamaged, "the document is damaged: got XML that is not well formed in %s: %s", name, syntax.Msg)
	}
	if what, ok := strings.CutPrefix(err.Error(), "xml: "); ok {
		return p.fail(0, hintDamaged, "the document is damaged: got XML not understood in %s: %s", name, what)
	}
	return p.damaged(err)
}

// relations lists what a part refers to inside the package: the last word of
// the relation's type, in small letters, and the part's name (ISO/IEC 29500-2
// clause 6.5). The package itself is "".
func (p *docxPackage) relations(part string) (map[string]string, error) {
	dir, base := path.Split(part)
	out := map[string]string{}
	err := p.xml(dir+"_rels/"+base+".rels", func(_ *xml.Decoder, tok xml.Token) (bool, error) {
		s, ok := tok.(xml.StartElement)
		if !ok || s.Name.Local != "Relationship" || attrOf(s, "TargetMode") == "External" {
			return false, nil
		}
		target := attrOf(s, "Target")
		if !strings.HasPrefix(target, "/") {
			target = path.Join("/", dir, target)
		}
		kind := strings.ToLower(path.Base(attrOf(s, "Type")))
		if out[kind] == "" {
			out[kind] = strings.ToLower(strings.TrimPrefix(path.Clean(target), "/"))
		}
		return false, nil
	})
	return out, err
}

// attrOf is the value of an attribute by its local name, "" if it has none.
func attrOf(s xml.StartElement, local string) string {
	for _, a := range s.Attr {
		if a.Name.Local == local {
			return a.Value
		}
	}
	return ""
}

// core reads title and language (ISO/IEC 29500-2 clause 8: core properties).
func (p *docxPackage) core() error {
	rels, err := p.relations("")
	if err != nil {
		return err
	}
	name := rels["core-properties"]
	if p.parts[name] == nil {
		name = "docprops/core.xml"
	}
	field := ""
	return p.xml(name, func(_ *xml.Decoder, tok xml.Token) (bool, error) {
		switch tok := tok.(type) {
		case xml.StartElement:
			field = tok.Name.Local
		case xml.EndElement:
			field = ""
		case xml.CharData:
			switch s := strings.Join(strings.Fields(string(tok)), " "); field {
			case "title":
				p.doc.Title += s
			case "language":
				p.doc.Language += s
			}
		}
		return false, nil
	})
}
