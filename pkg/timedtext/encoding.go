package timedtext

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"unicode/utf8"

	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/unicode"
	"golang.org/x/text/transform"
)

// headSize is how much of a file is looked at to tell encoding and format.
const headSize = 64 << 10

const (
	utf8Name    = "utf-8"
	utf16LEName = "utf-16le"
	utf16BEName = "utf-16be"
	cp1252Name  = "windows-1252"
)

// input is a file being read: its raw bytes, its head, and what it is called
// in messages.
type input struct {
	opt  ReadOptions
	raw  *bufio.Reader
	head []byte
	text *utf8Mender
	// guessed tells that the encoding was told by the letters.
	guessed bool
	// belied is an encoding that the file says but doesn't have.
	belied string
}

// newInput looks at the head of r. An empty file is an error.
func newInput(r io.Reader, opt ReadOptions) (*input, error) {
	in := &input{opt: opt, raw: bufio.NewReaderSize(&capped{r: r, stop: opt.Stop}, headSize)}
	head, err := in.raw.Peek(headSize)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, in.readError(err)
	}
	in.head = head
	if len(bytes.TrimSpace(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")))) == 0 && len(head) < headSize {
		return nil, &ParseError{
			Name: opt.Name, Problem: "the file is empty: got no text, want a transcript",
			Hint: "export the transcript again", kind: ErrEmpty,
		}
	}
	return in, nil
}

// capped stops reading after MaxSize, and when it is told to.
type capped struct {
	r    io.Reader
	n    int64
	stop func() error
}

func (c *capped) Read(p []byte) (int, error) {
	if c.stop != nil {
		if err := c.stop(); err != nil {
			return 0, err
		}
	}
	n, err := c.r.Read(p)
	c.n += int64(n)
	if c.n > MaxSize {
		return 0, ErrTooLarge
	}
	return n, err
}

// readError gives an error from reading its place and name.
func (in *input) readError(err error) error {
	var pe *ParseError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &pe):
		if pe.Name == "" {
			pe.Name = in.opt.Name
		}
		return err
	case errors.Is(err, ErrTooLarge):
		return &ParseError{
			Name: in.opt.Name, Problem: fmt.Sprintf("the file is too large: got over %d MiB, want less", MaxSize>>20),
			Hint: "split the transcript", kind: ErrTooLarge,
		}
	}
	name := in.opt.Name
	if name == "" {
		name = "timed text"
	}
	return fmt.Errorf("%s: reading: %w", name, err)
}

// decode opens the text of the file as valid UTF-8 without byte order mark
// and tells the encoding (a call later than the last read tells it surely:
// see input.encoding).
func (in *input) decode(allowNUL bool) (io.Reader, string, error) {
	name, skip := guessEncoding(in.head)
	good, bad := 0, 0
	if said := xmlEncoding(in.head); said != "" && skip == 0 && in.opt.Encoding == "" && name == utf8Name {
		// A file that was saved anew as UTF-8 may still say what it was.
		if g, b := countUTF8(in.head); g == 0 || b > 0 {
			name = said
		} else {
			in.belied = said
		}
	}
	if in.opt.Encoding == "" && name == utf8Name {
		if good, bad = countUTF8(in.head[skip:]); bad > good && skip == 0 {
			if guess := guessSingleByte(in.head); guess != cp1252Name {
				name, in.guessed = guess, true
			}
		}
	}
	if in.opt.Encoding != "" {
		enc, err := htmlindex.Get(strings.TrimSpace(in.opt.Encoding))
		if err != nil {
			return nil, "", &ParseError{
				Name: in.opt.Name, Problem: fmt.Sprintf("encoding not known: got %q, want a name such as utf-8 or windows-1252", in.opt.Encoding),
				Hint: "use a name from the WHATWG Encoding Standard", kind: ErrUnknown,
			}
		}
		marked := name
		if name, _ = htmlindex.Name(enc); skip == 2 && strings.HasPrefix(name, "utf-16") {
			name = marked // the byte order mark knows better
		}
		if name == utf8Name && skip != 3 {
			skip = 0
		}
	}
	if name == utf8Name || name == utf16LEName || name == utf16BEName {
		if _, err := in.raw.Discard(skip); err != nil {
			return nil, "", in.readError(err)
		}
	}
	in.text = &utf8Mender{allowNUL: allowNUL, at: int64(skip), width: 1, seenUTF8: good > 0 && good >= bad || skip == 3}
	switch name {
	case utf8Name:
		return transform.NewReader(in.raw, in.text), name, nil
	case utf16LEName, utf16BEName:
		in.text.width = 2
		order := unicode.LittleEndian
		if name == utf16BEName {
			order = unicode.BigEndian
		}
		dec := unicode.UTF16(order, unicode.IgnoreBOM).NewDecoder()
		return transform.NewReader(transform.NewReader(in.raw, dec), in.text), name, nil
	}
	enc, err := htmlindex.Get(name)
	if err != nil {
		return nil, "", fmt.Errorf("timedtext: %q: %w", name, err)
	}
	return transform.NewReader(transform.NewReader(in.raw, enc.NewDecoder()), in.text), name, nil
}

var xmlDeclaration = regexp.MustCompile(`^\s*<\?xml[^>]*\bencoding\s*=\s*["']([A-Za-z0-9._-]+)["']`)

// xmlEncoding is the single-byte encoding that an XML declaration names, ""
// if none or not known.
func xmlEncoding(head []byte) string {
	m := xmlDeclaration.FindSubmatch(head[:min(len(head), 200)])
	if m == nil {
		return ""
	}
	enc, err := htmlindex.Get(string(m[1]))
	if err != nil {
		return ""
	}
	name, err := htmlindex.Name(enc)
	if err != nil || strings.HasPrefix(name, "utf-") {
		return ""
	}
	return name
}

// encoding is the encoding that the text turned out to have, and the mends.
func (in *input) encoding(name string) (string, []Repair) {
	t := in.text
	if in.belied != "" {
		return name, []Repair{{What: "says that it is " + in.belied + ", but is UTF-8: read as that"}}
	}
	if in.guessed {
		return name, []Repair{{What: "not UTF-8: read as " + name + " by its letters; if the text looks wrong, name its encoding"}}
	}
	if t == nil || t.bad == 0 {
		return name, nil
	}
	if t.switched {
		if t.high > t.low {
			return cp1252Name, []Repair{{
				Byte: t.firstBad,
				What: "not UTF-8 and read as Windows-1252, but most letters are beyond ASCII: if the text looks wrong, name its encoding",
			}}
		}
		return cp1252Name, []Repair{{Byte: t.firstBad, What: "not UTF-8: read as Windows-1252"}}
	}
	return name, []Repair{{
		Byte: t.firstBad,
		What: fmt.Sprintf("%d bytes are not UTF-8: read as Windows-1252", t.bad),
	}}
}

// guessEncoding tells the encoding from a byte order mark or, without one,
// from where zero bytes lie. skip is the length of the mark.
func guessEncoding(head []byte) (name string, skip int) {
	switch {
	case bytes.HasPrefix(head, []byte("\xef\xbb\xbf")):
		return utf8Name, 3
	case bytes.HasPrefix(head, []byte("\xff\xfe")):
		return utf16LEName, 2
	case bytes.HasPrefix(head, []byte("\xfe\xff")):
		return utf16BEName, 2
	}
	var zero [2]int
	n := min(len(head), 4096) &^ 1
	for i := range n {
		if head[i] == 0 {
			zero[i&1]++
		}
	}
	switch {
	case n >= 4 && zero[0] == 0 && zero[1]*10 >= n/2 && plausible16(head[:n], unicode.LittleEndian):
		return utf16LEName, 0
	case n >= 4 && zero[1] == 0 && zero[0]*10 >= n/2 && plausible16(head[:n], unicode.BigEndian):
		return utf16BEName, 0
	}
	return utf8Name, 0
}

func plausible16(b []byte, order unicode.Endianness) bool {
	out, err := unicode.UTF16(order, unicode.IgnoreBOM).NewDecoder().Bytes(b)
	if err != nil {
		return false
	}
	for _, r := range string(out) {
		if r < ' ' && !strings.ContainsRune("\t\n\r\f\v", r) {
			return false
		}
	}
	return true
}

// utf8Mender passes valid UTF-8 through. Until a character beyond ASCII was
// seen as UTF-8, a byte that is not UTF-8 means that the file is Windows-1252;
// afterwards it is one stray byte, read as Windows-1252 too and counted. A zero
// byte is an error unless allowed: the file is not text.
type utf8Mender struct {
	allowNUL bool
	// at is the offset in the file, in units of width bytes after a mark.
	at    int64
	width int64

	seenUTF8, switched bool
	bad                int
	firstBad           int64
	// low and high count the letters of ASCII and the bytes beyond it.
	low, high int
}

func (m *utf8Mender) Reset() {}

func (m *utf8Mender) Transform(dst, src []byte, atEOF bool) (nDst, nSrc int, err error) {
	start := m.at
	defer func() {
		if m.width == 1 {
			m.at = start + int64(nSrc)
		} else {
			m.at = start + m.width*int64(utf8.RuneCount(src[:nSrc]))
		}
	}()
	for nSrc < len(src) {
		c := src[nSrc]
		if c < utf8.RuneSelf {
			if c == 0 && !m.allowNUL {
				return nDst, nSrc, binaryAt(start + m.width*int64(utf8.RuneCount(src[:nSrc])))
			}
			if nDst == len(dst) {
				return nDst, nSrc, transform.ErrShortDst
			}
			if c >= 'A' {
				m.low++
			}
			dst[nDst] = c
			nDst++
			nSrc++
			continue
		}
		r, size := utf8.DecodeRune(src[nSrc:])
		switch {
		case m.switched:
			r, size = charmap.Windows1252.DecodeByte(c), 1
		case r != utf8.RuneError || size != 1:
			m.seenUTF8 = true
		case !atEOF && !utf8.FullRune(src[nSrc:]):
			return nDst, nSrc, transform.ErrShortSrc
		default:
			if m.bad == 0 {
				m.firstBad = start + int64(nSrc)
			}
			m.bad++
			m.switched = !m.seenUTF8
			r, size = charmap.Windows1252.DecodeByte(c), 1
		}
		if nDst+utf8.UTFMax > len(dst) {
			return nDst, nSrc, transform.ErrShortDst
		}
		m.high++
		nDst += utf8.EncodeRune(dst[nDst:], r)
		nSrc += size
	}
	return nDst, nSrc, nil
}

func binaryAt(off int64) error {
	return &ParseError{
		Byte:    off,
		Problem: fmt.Sprintf("not a text file: got a zero byte at offset %d, want text", off),
		Hint:    "give the transcript itself, not a recording, archive or document; or name its encoding",
		kind:    ErrBinary,
	}
}

// decodeHead is the head of a file as text, cut at a whole character; for
// detection only.
func decodeHead(head []byte) string {
	name, skip := guessEncoding(head)
	head = head[skip:]
	var enc encoding.Encoding
	switch name {
	case utf16LEName:
		enc = unicode.UTF16(unicode.LittleEndian, unicode.IgnoreBOM)
	case utf16BEName:
		enc = unicode.UTF16(unicode.BigEndian, unicode.IgnoreBOM)
	default:
		return strings.ToValidUTF8(string(head), "\ufffd")
	}
	out, err := enc.NewDecoder().Bytes(head[:len(head)&^1])
	if err != nil {
		return ""
	}
	return string(out)
}
