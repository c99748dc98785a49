package timedtext

import (
	"bytes"
	"fmt"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

// extensions maps file name endings to formats.
var extensions = map[string]Format{
	".srt": SRT, ".vtt": WebVTT,
	".ttml": TTML, ".xml": TTML, ".dfxp": TTML,
	".stl": STL, ".ass": ASS, ".ssa": ASS,
	".txt": PlainText, ".json": JSON, ".jsonl": JSON, ".csv": CSV, ".tsv": CSV,
	".docx": DOCX, ".odt": ODT,
}

// Formats lists the formats that Read takes.
func Formats() []Format {
	return []Format{SRT, WebVTT, TTML, EBUTTD, STL, ASS, PlainText, JSON, CSV, DOCX, ODT, HTML}
}

// Written tells whether Write writes the format: all but OpenDocument texts
// and web pages.
func (f Format) Written() bool {
	return f != ODT && f != HTML && slices.Contains(Formats(), f)
}

// notKnown is the error for a format that neither Read nor Write has.
func notKnown(f Format) error {
	names := make([]string, 0, 12)
	for _, n := range Formats() {
		names = append(names, string(n))
	}
	return &ParseError{
		Problem: fmt.Sprintf("timed-text format not known: got %q, want one of %s", f, strings.Join(names, " ")),
		Hint:    "name one of them, or none to let the content tell", kind: ErrUnknown,
	}
}

// Extensions lists the file name endings of timed text, each with its dot, in
// order of the alphabet.
func Extensions() []string {
	out := make([]string, 0, len(extensions))
	for e := range extensions {
		out = append(out, e)
	}
	slices.Sort(out)
	return out
}

// FormatForPath tells the format by the ending of a file name. The error
// wraps ErrUnknown.
func FormatForPath(path string) (Format, error) {
	f, ok := extensions[strings.ToLower(filepath.Ext(path))]
	if !ok {
		return "", &ParseError{
			Name: path, Problem: fmt.Sprintf("timed-text format not known: got %q, want one of %s", filepath.Ext(path), strings.Join(Extensions(), " ")),
			Hint: "name the format", kind: ErrUnknown,
		}
	}
	return f, nil
}

var (
	arrowLine = regexp.MustCompile(`(?m)^[ \t]*-?\d{1,3}(:\d{1,2}){1,3}[.,;:]?\d*[ \t]*(-{1,3}|=|—|–)+>[ \t]*-?\d`)
	assHead   = regexp.MustCompile(`(?im)^\s*(\[(script info|v4\+? styles|events)\]|dialogue:\s*(marked=)?\d+,)`)
	jsonHead  = regexp.MustCompile(`^(\{\s*["}]|\[\s*[{\]\["])`)
	ttmlHead  = regexp.MustCompile(`<([A-Za-z_][\w.-]*:)?tt[\s>/]|/ns/(ttml|dfxp)|/ttaf1`)
)

// Detect tells the format from the first bytes of a file (64 KiB are enough),
// and where they fit none, from its name. Errors wrap ErrEmpty, ErrBinary or
// ErrUnknown.
func Detect(head []byte, name string) (Format, error) {
	if isSTL(head) {
		return STL, nil
	}
	if f, ok, err := detectPackage(head, name); ok {
		return f, err
	}
	text := strings.TrimLeft(decodeHead(head), " \t\r\n\ufeff")
	switch {
	case text == "" && len(head) < headSize:
		return "", &ParseError{Name: name, Problem: "the file is empty: got no text, want a transcript", Hint: "export the transcript again", kind: ErrEmpty}
	case isWebVTT(text):
		return WebVTT, nil
	}
	if at, bad := looksBinary(head); bad {
		return "", &ParseError{
			Name: name, Byte: int64(at), Problem: fmt.Sprintf("not a text file: got the byte 0x%02x at offset %d, want text", head[at], at),
			Hint: "give the transcript itself, not a recording, archive or document", kind: ErrBinary,
		}
	}
	if kind := document(text); kind != "" {
		return "", &ParseError{
			Name: name, Line: 1, Problem: "timed-text format not known: got " + kind + ", want text with times",
			Hint: "save it as plain text (UTF-8) and give that", kind: ErrUnknown,
		}
	}
	if isHTML(text) {
		return HTML, nil
	}
	if f, ok := detectText(text, strings.ToLower(filepath.Ext(name))); ok {
		return f, nil
	}
	if f, err := FormatForPath(name); err == nil {
		return f, nil
	}
	return "", &ParseError{
		Name: name, Line: 1, Problem: fmt.Sprintf("timed-text format not known: got %s, want cues with times", quoteHead(text)),
		Hint: "name the format, or put a timecode such as [00:12:04] before each paragraph; if nobody knows more, one [00:00:00] before the first word", kind: ErrUnknown,
	}
}

// document names a kind of document that holds text but is not timed text.
func document(text string) string {
	low := strings.ToLower(text[:min(len(text), 512)])
	switch {
	case strings.HasPrefix(low, `{\rtf`):
		return "a rich-text document"
	case strings.HasPrefix(low, "%pdf-"):
		return "a PDF document"
	}
	return ""
}

// detectText tells the format of decoded text without leading space. A file
// that is called a table, and looks like one, is never anything else.
func detectText(text, ending string) (Format, bool) {
	switch {
	case strings.HasPrefix(text, "<"):
		if ttmlHead.MatchString(text) {
			return TTML, true
		}
	case jsonHead.MatchString(text):
		return JSON, true
	}
	switch {
	case assHead.MatchString(text):
		return ASS, true
	case arrowLine.MatchString(text):
		return SRT, true
	case isTable(text):
		return CSV, true
	case extensions[ending] == CSV && hasShape(text), isTableByContent(text):
		return CSV, true
	case hasTimecodes(text):
		return PlainText, true
	}
	return "", false
}

func isWebVTT(text string) bool {
	rest, ok := strings.CutPrefix(text, "WEBVTT")
	return ok && (rest == "" || strings.ContainsRune(" \t\r\n", rune(rest[0])))
}

// isSTL tells an EBU STL file by the disk format code at offset 3.
func isSTL(head []byte) bool {
	return len(head) >= 11 && bytes.Equal(head[3:6], []byte("STL")) &&
		isDigit(head[6]) && isDigit(head[7]) && head[8] == '.'
}

// looksBinary finds a byte that text does not have: a zero byte (unless the
// head is UTF-16), or many control characters.
func looksBinary(head []byte) (at int, bad bool) {
	if name, _ := guessEncoding(head); name != utf8Name {
		return 0, false
	}
	if i := bytes.IndexByte(head, 0); i >= 0 {
		return i, true
	}
	n, first := 0, -1
	for i, c := range head {
		if c < ' ' && !strings.ContainsRune("\t\n\v\f\r\x1a\x1b", rune(c)) {
			if n++; first < 0 {
				first = i
			}
		}
	}
	return first, n*20 > len(head)
}

func quoteHead(text string) string {
	text, _, _ = strings.Cut(text, "\n")
	return quoteShort(strings.TrimSpace(text))
}

// quoteShort quotes s for a message, cut after 40 characters.
func quoteShort(s string) string {
	if r := []rune(s); len(r) > 40 {
		s = string(r[:40]) + "…"
	}
	return fmt.Sprintf("%q", s)
}

func isDigit(c byte) bool { return c >= '0' && c <= '9' }
