package timedtext

import (
	"encoding/binary"
	"fmt"
	"strings"
	"time"
	"unicode"

	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/unicode/norm"

	"rushlight/pkg/timecode"
)

// stlWriter writes EBU STL (Tech 3264): open subtitling (DSC 0), which has
// slant and underline but no colour.
type stlWriter struct {
	*writer
	base   timecode.Base
	table  stlTable
	blocks [][ttiSize]byte
	number int
	// subtitles counts those that are not comments.
	subtitles int
}

func (w *writer) writeSTL() error {
	s := &stlWriter{writer: w}
	if err := s.chooseBase(); err != nil {
		return err
	}
	if len(w.doc.Regions) > 0 {
		w.lose(lostRegions)
	}
	s.chooseTable()
	for _, c := range w.doc.Comments {
		var text []byte
		for i, l := range strings.Split(c, "\n") {
			if i > 0 {
				text = append(text, 0x8a)
			}
			text = s.encode(text, l)
		}
		s.add(text, [8]byte{}, 0, 0, 1)
	}
	for i := range w.doc.Cues {
		s.cue(&w.doc.Cues[i])
	}
	if err := s.readable(); err != nil {
		return err
	}
	gsi := s.header()
	w.Write(gsi[:])
	for i := range s.blocks {
		w.Write(s.blocks[i][:])
	}
	return nil
}

// readable refuses a text in another script, of which hardly a letter can be
// written: nobody could read the subtitles.
func (s *stlWriter) readable() error {
	letters := 0 // in pieces, as they are counted where they are lost
	for _, c := range s.doc.Cues {
		for _, r := range c.Plain() {
			if unicode.IsLetter(r) || unicode.IsMark(r) || r > 0x2FFF {
				letters++
			}
		}
	}
	if n := s.count[lostCharacter]; letters >= 8 && 10*n >= 9*letters {
		return &ParseError{
			Problem: "EBU STL does not have these letters: it knows Latin, Cyrillic, Arabic, Greek and Hebrew",
			Hint:    "write TTML or WebVTT instead",
		}
	}
	return nil
}

// chooseBase takes the base as it is where Tech 3264 knows it (25 and 30
// frames), else the nearest of the two that fits.
func (s *stlWriter) chooseBase() error {
	s.base = s.writer.base
	switch s.base.Rate.Nominal() {
	case 0:
		return &ParseError{Problem: "EBU STL counts frames: got no frame rate, want 25 or 30", Hint: "say how many frames a second has, such as 25"}
	case 25, 30:
	case 24, 48, 50:
		s.lose(lostRate)
		s.base = timecode.Base{Rate: timecode.Rate25}
	case 60:
		s.lose(lostRate)
		s.base = timecode.Base{Rate: timecode.Rate30}
		if s.writer.base.Rate == timecode.Rate5994 {
			s.base = timecode.Base{Rate: timecode.Rate2997, Drop: s.writer.base.Drop}
		}
	default:
		return &ParseError{Problem: fmt.Sprintf("EBU STL counts 25 or 30 frames: got %s", s.base), Hint: "convert to 25 or 30 frames"}
	}
	if s.base.Rate == timecode.Rate2997 {
		s.lose("29.97 frames: the file says 30; name the rate when reading it")
	}
	return nil
}

// chooseTable takes the first table that has every character, else Latin.
func (s *stlWriter) chooseTable() {
	texts := append([]string{}, s.doc.Comments...)
	for i := range s.doc.Cues {
		for _, l := range s.doc.Cues[i].Lines {
			for _, r := range l {
				texts = append(texts, norm.NFC.String(r.Speaker+r.Text))
			}
		}
	}
	for _, n := range []string{"00", "01", "02", "03", "04"} {
		s.table, _ = newSTLTable(n)
		if s.covers(texts) {
			return
		}
	}
	s.table, _ = newSTLTable("00")
}

func (s *stlWriter) covers(texts []string) bool {
	for _, t := range texts {
		for _, r := range t {
			if _, ok := s.table.encode(r); !ok && r != '\n' && stlStandIn[r] == "" {
				return false
			}
		}
	}
	return true
}

// encode appends text in the table.
func (s *stlWriter) encode(b []byte, text string) []byte {
	for _, r := range norm.NFC.String(text) {
		if c, ok := s.table.encode(r); ok {
			b = append(b, c...)
			continue
		}
		s.loseCharacter(r)
		instead, ok := stlStandIn[r]
		if !ok {
			instead = "?"
			if base := []rune(norm.NFD.String(string(r))); len(base) > 1 && base[0] < 0x7f {
				instead = string(base[0])
			}
		}
		for _, q := range instead {
			if c, ok := s.table.encode(q); ok {
				b = append(b, c...)
			}
		}
	}
	return b
}

func (s *stlWriter) cue(c *Cue) {
	s.loseCue(c, false, "align", "row", "group", "cumulative")
	if id, ok := number(c.ID); ok && id >= s.number && id <= 0xffff {
		s.number = id
	}
	if c.ID != "" && c.ID != fmt.Sprint(s.number) {
		s.lose(lostID)
	}
	in, out := c.In, c.Out
	if c.OpenEnd || out == NoTime {
		s.lose(lostOpenEnd)
		if out == NoTime || out <= in {
			out = in + 2*timecode.Second
		}
	}
	if out <= in {
		s.lose(lostBackward)
	}
	var codes [8]byte
	for i, t := range []timecode.Ticks{in, out} {
		copy(codes[4*i:], s.code(t))
	}
	var text []byte
	lines := s.compose(c, false)
	for i, l := range lines {
		if i > 0 {
			text = append(text, 0x8a)
		}
		for _, r := range l {
			if !norm.NFC.IsNormalString(r.Text) {
				s.lose("letters in pieces: composed")
			}
			text = s.run(text, r)
		}
		if plain := l.Plain(); strings.Contains(plain, "  ") {
			s.lose(lostSpaces)
		}
	}
	align := map[string]byte{"left": 1, "start": 1, "center": 2, "right": 3, "end": 3}[c.Settings["align"]]
	if align == 0 {
		align = 2
	}
	row, ok := number(c.Settings["row"])
	if !ok || row > 99 {
		row = max(23-len(lines), 1)
	}
	s.add(text, codes, byte(row), align, 0)
	s.subtitles++
}

// run appends a run with its attributes: 80/81 slant, 82/83 underline.
func (s *stlWriter) run(b []byte, r Run) []byte {
	if r.Style.Bold {
		s.lose("weight")
	}
	if r.Style.Colour != "" {
		s.lose(lostColour)
	}
	if r.Style.Italic {
		b = append(b, 0x80)
	}
	if r.Style.Underline {
		b = append(b, 0x82)
	}
	b = s.encode(b, r.Text)
	if r.Style.Underline {
		b = append(b, 0x83)
	}
	if r.Style.Italic {
		b = append(b, 0x81)
	}
	return b
}

// code is the time code of the nearest frame.
func (s *stlWriter) code(t timecode.Ticks) []byte {
	n := s.base.Rate.Frame(t, timecode.Nearest)
	if s.base.Rate.Ticks(n) != t {
		s.lose(lostRounded)
	}
	if n < 0 || n >= s.base.FramesPerDay() {
		s.lose("times beyond the day of the timecode")
	}
	label := s.base.Label(n)
	b := make([]byte, 4)
	for i := range b {
		b[i] = (label[3*i]-'0')*10 + label[3*i+1] - '0'
	}
	return b
}

// add appends the blocks of one subtitle or comment: 112 bytes of text each,
// numbered 0, 1 …, the last FF. A diacritic stays with its letter.
func (s *stlWriter) add(text []byte, codes [8]byte, row, align, comment byte) {
	if s.number > 0xffff {
		s.lose("subtitles over 65,536: numbers begin again")
	}
	for ebn := 0; ; ebn++ {
		var b [ttiSize]byte
		n := min(len(text), tfSize)
		if n == tfSize && len(text) > n && s.table.parts == nil && text[n-1] >= 0xc0 && text[n-1] <= 0xcf {
			n--
		}
		binary.LittleEndian.PutUint16(b[1:], uint16(s.number))
		b[3] = byte(min(ebn, 0xef))
		copy(b[5:], codes[:])
		b[13], b[14], b[15] = row, align, comment
		for i := copy(b[16:], text[:n]); i < tfSize; i++ {
			b[16+i] = 0x8f
		}
		text = text[n:]
		if len(text) == 0 {
			b[3] = 0xff
		}
		s.blocks = append(s.blocks, b)
		if len(text) == 0 {
			break
		}
	}
	s.number++
}

// header makes the GSI block.
func (s *stlWriter) header() [gsiSize]byte {
	var b [gsiSize]byte
	for i := range b {
		b[i] = ' '
	}
	label := func(t timecode.Ticks) string {
		l := s.base.Label(s.base.Rate.Frame(t, timecode.Nearest))
		return l[0:2] + l[3:5] + l[6:8] + l[9:11]
	}
	first := timecode.Ticks(0)
	if len(s.doc.Cues) > 0 {
		first = max(s.doc.Cues[0].In, 0)
	}
	date := s.doc.Metadata["CD"]
	if len(date) != 6 || !digits(date) {
		made := s.opt.Made
		if made.IsZero() {
			made = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
		}
		date = made.UTC().Format("060102")
	}
	values := map[string]string{
		"CPN": "850", "DFC": fmt.Sprintf("STL%02d.01", s.base.Rate.Nominal()), "DSC": "0", "CCT": s.table.number,
		"LC": s.language(), "OPT": s.title(), "CD": date, "RD": date, "RN": "00",
		"TNB": fmt.Sprintf("%05d", min(len(s.blocks), 99999)), "TNS": fmt.Sprintf("%05d", min(s.subtitles, 99999)), "TNG": "001",
		"MNC": "40", "MNR": "23", "TCS": "1", "TCP": label(s.doc.ProgrammeStart), "TCF": label(first), "TND": "1", "DSN": "1",
	}
	for _, f := range stlFields {
		if v, ok := values[f.name]; ok {
			copy(b[f.at:f.at+f.size], v)
		}
	}
	return b
}

// language is the code of Tech 3264 for the document's language.
func (s *stlWriter) language() string {
	lang := strings.ToLower(s.doc.Language)
	if lang == "" {
		return "00"
	}
	main, _, _ := strings.Cut(lang, "-")
	best := ""
	for code, tag := range stlLanguages {
		if strings.EqualFold(tag, lang) || best == "" && tag == main {
			best = code
		}
	}
	if best == "" || !strings.EqualFold(stlLanguages[best], lang) {
		s.lose(lostLanguage)
	}
	if best == "" {
		return "00"
	}
	return best
}

// title is the document's title in the header's code page, 32 letters.
func (s *stlWriter) title() string {
	var b []byte
	for _, r := range s.doc.Title {
		c, ok := charmap.CodePage850.EncodeRune(r)
		if !ok {
			s.loseCharacter(r)
			c = '?'
		}
		if len(b) == 32 {
			s.lose("title beyond 32 letters")
			break
		}
		b = append(b, c)
	}
	return string(b)
}
