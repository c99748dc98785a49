package timedtext

import (
	"errors"
	"io"
	"strings"

	"rushlight/pkg/timecode"
)

// SRT has no standard; this reads it as met in practice: a number, a line
// with two times and an arrow, text until the next such line. Numbers and
// blank lines may be missing, decimals may follow a comma or a full stop.

// srtCue is a cue being collected.
type srtCue struct {
	Cue
	text  []srtLine
	after string // what follows the times on their line
}

type srtLine struct {
	n    int
	text string
}

type srtReader struct {
	*reader
	cur    *srtCue
	before []srtLine
	last   int // number of the last numbered cue
}

func (rd *reader) readSRT(r io.Reader) error {
	s := &srtReader{reader: rd}
	lines := newLines(r, true)
	for {
		line, ok := lines.next()
		if !ok {
			break
		}
		t, timed, err := s.times(line, lines.n)
		if err != nil && !s.passOver(err, lines.n, &t) {
			return err
		}
		switch {
		case timed:
			s.begin(t, lines.n)
		case s.cur != nil:
			s.cur.text = append(s.cur.text, srtLine{lines.n, line})
		default:
			s.before = append(s.before, srtLine{lines.n, line})
		}
	}
	if err := lines.failure(); err != nil {
		return err
	}
	if s.cur == nil {
		return rd.fail(1, "check that this is an SRT file", "no cue found: got no line with two times, want such as 00:00:01,000 --> 00:00:02,500")
	}
	s.end()
	return s.noneTimed()
}

// passOver keeps the words of a cue of whose times one can't be understood:
// between its neighbours, or until the next. False for what is wrong with the
// whole file.
func (s *srtReader) passOver(err error, n int, t *srtSpan) bool {
	var pe *ParseError
	if !errors.As(err, &pe) || strings.Contains(pe.Problem, "frame rate") {
		return false
	}
	known := t.known
	*t = srtSpan{in: t.in, open: true, out: NoTime}
	if known {
		s.repair(n, "%s: the cue ends where the next begins", pe.Problem)
		return true
	}
	s.repair(n, "%s: its words are kept between the cues beside it", pe.Problem)
	cue := len(s.doc.Cues)
	if t.in = 0; s.cur != nil {
		t.in = s.cur.behind()
		cue++ // the open one comes before
	}
	s.slip(cue, err)
	return true
}

// srtTime reads hh:mm:ss,mmm; spaces inside it and a colon before the
// milliseconds are met in practice.
func (s *srtReader) srtTime(v string, n int) (timecode.Ticks, error) {
	if t, ok := clockTime(v); ok {
		if v[8] == '.' {
			s.repairOnce(n, "full stop before the milliseconds: read as a comma")
		}
		return t, nil
	}
	switch strings.Count(v, ":") {
	case 0, 1:
		s.repairOnce(n, "times without hours: read as minutes and seconds")
	case 3:
		s.repairOnce(n, "times with four fields: the last is frames, or milliseconds where it has three digits")
	}
	w := strings.ReplaceAll(v, " ", "")
	if i := strings.LastIndexByte(w, ':'); i >= 0 && isLabel(w) && len(w)-i-1 == 3 {
		s.repair(n, "colon before the milliseconds in %s: read as a comma", quoteShort(v))
		w = w[:i] + "," + w[i+1:]
	}
	return s.time(w, n)
}

// clockTime reads the common forms hh:mm:ss,mmm and hh:mm:ss.mmm fast.
func clockTime(v string) (timecode.Ticks, bool) {
	if len(v) != 12 || v[2] != ':' || v[5] != ':' || v[8] != ',' && v[8] != '.' {
		return 0, false
	}
	var ms int64
	for i, weight := range [12]int64{36_000_000, 3_600_000, 0, 600_000, 60_000, 0, 10_000, 1000, 0, 100, 10, 1} {
		if weight == 0 {
			continue
		}
		if !isDigit(v[i]) {
			return 0, false
		}
		ms += weight * int64(v[i]-'0')
	}
	if v[3] > '5' || v[6] > '5' {
		return 0, false
	}
	return timecode.FromMillis(ms), true
}

// begin ends the cue before and starts one at a line with times.
func (s *srtReader) begin(t srtSpan, n int) {
	next := &srtCue{Cue: Cue{Span: timecode.Span{In: t.in, Out: t.out}, OpenEnd: t.open, Line: n}, after: t.after}
	text := &s.before
	if s.cur != nil {
		text = &s.cur.text
	}
	s.closeUp(text, n)
	if k := len(*text) - 1; k >= 0 {
		id := strings.TrimSpace(fullWidth.Replace((*text)[k].text))
		alone := k == 0 && s.cur == nil || k > 0 && blank((*text)[k-1].text)
		if num, isNum := number(id); isNum && (alone || num == s.last+1) {
			if num <= s.last {
				s.repair(n-1, "cue number out of order: got %d after %d", num, s.last)
			}
			next.ID, s.last = id, num
			if s.cur != nil && !alone {
				s.repair(n-1, "no blank line before cue %s", id)
			}
			*text = (*text)[:k]
		} else if s.cur != nil && id != "" {
			s.repair(n, "cue without a number: the line above it is text of the cue before")
		}
	}
	s.end()
	s.cur = next
}

// closeUp takes away blank lines between a cue's number and its times.
func (s *srtReader) closeUp(text *[]srtLine, n int) {
	k := len(*text) - 1
	for k >= 0 && blank((*text)[k].text) {
		k--
	}
	if k < 0 || k == len(*text)-1 || k > 0 && !blank((*text)[k-1].text) {
		return
	}
	if num, ok := number(strings.TrimSpace((*text)[k].text)); ok && num == s.last+1 {
		s.repair(n, "blank line between cue number %d and its times", num)
		*text = (*text)[:k+1]
	}
}

func number(s string) (int, bool) {
	if s == "" || len(s) > 9 {
		return 0, false
	}
	n := 0
	for i := range len(s) {
		if !isDigit(s[i]) {
			return 0, false
		}
		n = n*10 + int(s[i]-'0')
	}
	return n, true
}

// end takes the collected text into the document.
func (s *srtReader) end() {
	if s.cur == nil {
		for _, l := range s.before {
			if !blank(l.text) {
				s.repair(l.n, "text before the first time: kept as a comment")
				s.doc.Comments = append(s.doc.Comments, strings.TrimSpace(l.text))
			}
		}
		return
	}
	text := s.cur.text
	for len(text) > 0 && blank(text[len(text)-1].text) {
		text = text[:len(text)-1]
	}
	c := s.cur.Cue
	p := srtText{runs: newRuns(), reader: s.reader}
	isPlace := isPlacing(s.cur.after)
	if s.cur.after != "" && !isPlace {
		s.repairOnce(c.Line, "text on the line of the times")
		p.line(s.cur.after, c.Line)
	}
	for i, l := range text {
		if blank(l.text) {
			if i > 0 {
				s.repair(l.n, "blank line inside a cue: the text after it is kept")
			}
			continue
		}
		if p.begun() {
			p.add("\n")
		}
		p.line(strings.TrimRight(l.text, " \t"), l.n)
	}
	if len(p.open) > 0 {
		s.repair(c.Line, "<%s> is not closed in its cue", p.open[len(p.open)-1].name)
	}
	c.Lines = p.done(c.In)
	c.Settings = p.settings
	if isPlace {
		c.set("coordinates", s.cur.after)
	}
	s.doc.Cues = append(s.doc.Cues, c)
}

// isPlacing tells whether what follows the times is a place on the picture:
// X1:63 X2:223, or settings as WebVTT has them.
func isPlacing(s string) bool {
	for f := range strings.FieldsSeq(s) {
		name, value, ok := strings.Cut(f, ":")
		if !ok || value == "" || strings.Trim(name, "abcdefghijklmnopqrstuvwxyzXY12") != "" {
			return false
		}
	}
	return s != ""
}

// set sets one setting.
func (c *Cue) set(name, value string) {
	if c.Settings == nil {
		c.Settings = map[string]string{}
	}
	c.Settings[name] = value
}
