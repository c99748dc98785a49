package timedtext

import (
	"bufio"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"strings"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/unicode/norm"

	"rushlight/pkg/timecode"
)

// EBU STL is read by EBU Tech 3264-E (1991): one GSI block of 1,024 bytes, TTI
// blocks of 128. The GSI and TTI field names are those of the standard.

const (
	gsiSize = 1024
	ttiSize = 128
	tfSize  = 112
)

// stlFields are the GSI fields kept in Document.Metadata: name, offset,
// length.
var stlFields = []struct {
	name     string
	at, size int
}{
	{"CPN", 0, 3},
	{"DFC", 3, 8},
	{"DSC", 11, 1},
	{"CCT", 12, 2},
	{"LC", 14, 2},
	{"OPT", 16, 32},
	{"OET", 48, 32},
	{"TPT", 80, 32},
	{"TET", 112, 32},
	{"TN", 144, 32},
	{"TCD", 176, 32},
	{"SLR", 208, 16},
	{"CD", 224, 6},
	{"RD", 230, 6},
	{"RN", 236, 2},
	{"TNB", 238, 5},
	{"TNS", 243, 5},
	{"TNG", 248, 3},
	{"MNC", 251, 2},
	{"MNR", 253, 2},
	{"TCS", 255, 1},
	{"TCP", 256, 8},
	{"TCF", 264, 8},
	{"TND", 272, 1},
	{"DSN", 273, 1},
	{"CO", 274, 3},
	{"PUB", 277, 32},
	{"EN", 309, 32},
	{"ECD", 341, 32},
	{"UDA", 448, 576},
}

// stlLanguages maps language codes (Tech 3264 appendix 3, "LC") to BCP 47.
var stlLanguages = map[string]string{
	"01": "sq", "02": "br", "03": "ca", "04": "hr", "05": "cy", "06": "cs", "07": "da", "08": "de", "09": "en",
	"0A": "es", "0B": "eo", "0C": "et", "0D": "eu", "0E": "fo", "0F": "fr", "10": "fy", "11": "ga", "12": "gd",
	"13": "gl", "14": "is", "15": "it", "16": "se", "17": "la", "18": "lv", "19": "lb", "1A": "lt", "1B": "hu",
	"1C": "mt", "1D": "nl", "1E": "no", "1F": "oc", "20": "pl", "21": "pt", "22": "ro", "23": "rm", "24": "sr",
	"25": "sk", "26": "sl", "27": "fi", "28": "sv", "29": "tr", "2A": "nl-BE", "2B": "wa",
}

type stlReader struct {
	*reader
	base     timecode.Base
	table    stlTable
	teletext bool
	// text collects the TF of a subtitle over its extension blocks.
	text []byte
	head [ttiSize]byte
	at   int64
	open bool
	user []byte
	// codes are the time codes of each cue as they are: in and out.
	codes [][2]stlCode
}

func (rd *reader) readSTL(r *bufio.Reader) error {
	s := &stlReader{reader: rd}
	var gsi [gsiSize]byte
	if n, err := io.ReadFull(r, gsi[:]); err != nil {
		if !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
			return err
		}
		return &ParseError{
			Byte: int64(n), Problem: fmt.Sprintf("STL header cut off: got %d bytes, want %d", n, gsiSize),
			Hint: "copy the file again; it must be binary EBU STL",
		}
	}
	if err := s.header(gsi[:]); err != nil {
		return err
	}
	var block [ttiSize]byte
	for at := int64(gsiSize); ; at += ttiSize {
		n, err := io.ReadFull(r, block[:])
		switch {
		case errors.Is(err, io.EOF):
			return s.finishSTL()
		case errors.Is(err, io.ErrUnexpectedEOF):
			rd.doc.Repairs = append(rd.doc.Repairs, Repair{Byte: at, What: fmt.Sprintf("last block cut off: got %d bytes, want %d", n, ttiSize)})
			if n < ttiSize-tfSize {
				return s.finishSTL()
			}
			for i := n; i < ttiSize; i++ {
				block[i] = 0x8f
			}
		case err != nil:
			return err
		}
		s.tti(block[:], at)
	}
}

func (s *stlReader) finishSTL() error {
	if s.open {
		s.doc.Repairs = append(s.doc.Repairs, Repair{Byte: s.at, What: "subtitle without its last block: its text so far is kept"})
		s.subtitle()
	}
	if len(s.user) > 0 {
		s.doc.Metadata["user data"] = string(s.user)
	}
	s.countFrames()
	s.times()
	return s.noneTimed()
}

// header reads the GSI block.
func (s *stlReader) header(b []byte) error {
	d := s.doc
	d.Metadata, d.Labels = map[string]string{}, true
	page := map[string]*charmap.Charmap{
		"437": charmap.CodePage437, "850": charmap.CodePage850, "860": charmap.CodePage860,
		"863": charmap.CodePage863, "865": charmap.CodePage865,
	}[string(b[:3])]
	d.Encoding = "cp" + string(b[:3])
	if page == nil {
		d.Repairs = append(d.Repairs, Repair{What: fmt.Sprintf("code page of the header not known: got %q, read as 850", b[:3])})
		page, d.Encoding = charmap.CodePage850, "cp850"
	}
	for _, f := range stlFields {
		raw, _ := page.NewDecoder().Bytes(b[f.at : f.at+f.size])
		if v := strings.TrimRight(string(raw), " \x00"); v != "" {
			d.Metadata[f.name] = v
		}
	}
	rate, ok := number(string(b[6:8]))
	if !ok || rate < 1 {
		return &ParseError{
			Byte: 3, Problem: fmt.Sprintf("disk format code not understood: got %q, want STL25.01 or STL30.01", b[3:11]),
			Hint: "check that this is an EBU STL file",
		}
	}
	s.base = stlBase(rate, s.opt.Base)
	d.Base = s.base
	cct := string(b[12:14])
	if b[13] <= 4 && b[12] == 0 { // binary instead of digits, met in practice
		cct = fmt.Sprintf("0%d", b[13])
	}
	if s.table, ok = newSTLTable(cct); !ok {
		d.Repairs = append(d.Repairs, Repair{Byte: 12, What: fmt.Sprintf("character code table not known: got %q, read as 00 (Latin)", cct)})
	}
	s.teletext = b[11] == '1' || b[11] == '2'
	d.Language = stlLanguages[strings.ToUpper(d.Metadata["LC"])]
	d.Title = d.Metadata["OPT"]
	return nil
}

// stlBase is the base for a rate of the disk format code; a base that counts
// as many frames rules, since the code can't tell 29.97 from 30.
func stlBase(rate int, opt timecode.Base) timecode.Base {
	if opt.Rate.Known() && opt.Rate.Nominal() == int64(rate) {
		return opt
	}
	switch rate {
	case 23:
		return timecode.Base{Rate: timecode.Rate23976}
	case 29:
		return timecode.Base{Rate: timecode.Rate2997}
	}
	return timecode.Base{Rate: timecode.Rate{Num: int64(rate), Den: 1}}
}

// tti takes one text block.
func (s *stlReader) tti(b []byte, at int64) {
	ebn := b[3]
	if ebn == 0xfe {
		s.user = append(s.user, b[16:]...)
		return
	}
	same := s.open && b[0] == s.head[0] && b[1] == s.head[1] && b[2] == s.head[2]
	if s.open && !same {
		s.doc.Repairs = append(s.doc.Repairs, Repair{Byte: s.at, What: "subtitle without its last block: its text so far is kept"})
		s.subtitle()
	}
	if !s.open {
		copy(s.head[:], b)
		s.at, s.open, s.text = at, true, nil
	}
	s.text = append(s.text, b[16:]...)
	if ebn == 0xff {
		s.subtitle()
	}
}

// subtitle ends a subtitle: its blocks are together.
func (s *stlReader) subtitle() {
	s.open = false
	b := s.head[:]
	lines := s.lines(s.text)
	if b[15] == 1 { // CF: comment, not to be shown
		var text []string
		for _, l := range lines {
			text = append(text, l.Plain())
		}
		if c := strings.Join(text, "\n"); c != "" {
			s.doc.Comments = append(s.doc.Comments, c)
		}
		return
	}
	c := Cue{ID: fmt.Sprint(binary.LittleEndian.Uint16(b[1:])), Lines: lines, Byte: s.at}
	if len(lines) == 0 {
		return
	}
	if v := [...]string{"", "left", "center", "right"}[min(b[14]&0x7f, 4)%4]; v != "" {
		c.set("align", v)
	}
	c.set("row", fmt.Sprint(b[13]))
	if b[0] != 0 {
		c.set("group", fmt.Sprint(b[0]))
	}
	if v := b[4]; v >= 1 && v <= 3 {
		c.set("cumulative", [...]string{"first", "intermediate", "last"}[v-1])
	}
	s.doc.Cues = append(s.doc.Cues, c)
	s.codes = append(s.codes, [2]stlCode{stlCode(b[5:9]), stlCode(b[9:13])})
}

// stlColours are the teletext colours, control codes 0 to 7.
var stlColours = [8]string{"black", "red", "lime", "yellow", "blue", "magenta", "cyan", "white"}

// lines decodes the text field: Tech 3264 section 5 and appendix 2.
func (s *stlReader) lines(tf []byte) []Line {
	b := newRuns()
	var text strings.Builder
	var mark rune
	flush := func() {
		if text.Len() > 0 {
			b.add(norm.NFC.String(text.String()))
			text.Reset()
		}
	}
	for _, c := range tf {
		switch {
		case c == 0x8f: // unused space
			continue
		case c == 0x8a:
			flush()
			b.add("\n")
			b.style.Colour = ""
		case c >= 0x80 && c <= 0x85:
			flush()
			s.attribute(b, c)
		case c < 0x20:
			if !s.teletext && c > 7 {
				continue
			}
			flush()
			if c <= 7 {
				b.style.Colour = stlColours[c]
				if c == 7 {
					b.style.Colour = ""
				}
			}
			// A control code takes the room of a space on the screen.
			text.WriteByte(' ')
		default:
			r, isMark, ok := s.table.decode(c)
			switch {
			case isMark && ok:
				mark = r
				continue
			case !ok:
				r = '\ufffd'
				s.lost(c)
			}
			text.WriteRune(r)
			if mark != 0 {
				text.WriteRune(mark)
				mark = 0
			}
		}
	}
	flush()
	return squeeze(tidy(b.done(0)))
}

// lost reports a code without a character, once for each code.
func (s *stlReader) lost(c byte) {
	what := fmt.Sprintf("code %02x is not in character table %s: shown as \ufffd", c, s.table.number)
	if !s.told[what] {
		s.repairOnce(0, what)
		s.doc.Repairs[len(s.doc.Repairs)-1].Byte = s.at
	}
}

func (s *stlReader) attribute(b *runs, c byte) {
	switch c {
	case 0x80, 0x81:
		b.style.Italic = c == 0x80
	case 0x82, 0x83:
		b.style.Underline = c == 0x82
	}
}

// squeeze takes the spaces that control codes left off the ends of lines and
// leaves one between words.
func squeeze(lines []Line) []Line {
	for _, l := range lines {
		space := true
		for i := range l {
			var out strings.Builder
			for _, r := range l[i].Text {
				if r == ' ' {
					if !space {
						out.WriteByte(' ')
					}
					space = true
					continue
				}
				space = false
				out.WriteRune(r)
			}
			l[i].Text = out.String()
		}
		for i := len(l) - 1; i >= 0; i-- {
			l[i].Text = strings.TrimRight(l[i].Text, " ")
			if l[i].Text != "" {
				break
			}
		}
	}
	return tidy(lines)
}
