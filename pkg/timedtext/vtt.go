package timedtext

import (
	"fmt"
	"io"
	"strings"

	"rushlight/pkg/timecode"
)

// WebVTT is read by the parsing rules of W3C WebVTT section 6.1 ("WebVTT file
// parsing"): what those rules drop is kept as a comment and reported.

// vttCue is a cue as the file has it.
type vttCue struct {
	id       string
	in, out  timecode.Ticks
	settings map[string]string
	text     string
	line     int
}

type vttReader struct {
	*reader
	lines *lineReader
	cues  int
	// points is set once a time had a decimal point.
	points bool
	// emit takes each cue in turn.
	emit func(*vttCue)
}

func (rd *reader) readVTT(r io.Reader) error {
	v := &vttReader{reader: rd, lines: newLines(r, false)}
	v.emit = func(c *vttCue) {
		cue := Cue{ID: c.id, Span: timecode.Span{In: c.in, Out: c.out}, Settings: c.settings, Line: c.line}
		cue.Lines = rd.vttLines(c.text, c.in, c.line)
		rd.doc.Cues = append(rd.doc.Cues, cue)
	}
	return v.read()
}

func (v *vttReader) read() error {
	line, ok := v.lines.next()
	if !ok {
		return v.lines.failure()
	}
	line = strings.TrimPrefix(line, "\ufeff")
	if !isWebVTT(strings.ReplaceAll(line, "\x00", "\ufffd")) {
		return v.fail(1, "put WEBVTT on the first line", "not a WebVTT file: got %s, want WEBVTT first", quoteShort(line))
	}
	if title := strings.TrimSpace(strings.TrimPrefix(line, "WEBVTT")); title != "" {
		v.doc.Title = strings.TrimSpace(strings.TrimPrefix(title, "-"))
	}
	v.header()
	for {
		line, ok := v.lines.next()
		if !ok {
			return v.lines.failure()
		}
		if line != "" {
			v.lines.unread()
			v.block()
		}
	}
}

// header reads the lines between the signature and the first blank line.
func (v *vttReader) header() {
	for {
		line, ok := v.lines.next()
		if !ok || line == "" {
			return
		}
		if strings.Contains(line, "-->") {
			v.lines.unread()
			return
		}
		name, value, ok := strings.Cut(line, ":")
		if !ok {
			continue
		}
		name, value = strings.TrimSpace(name), strings.TrimSpace(value)
		if strings.EqualFold(name, "language") {
			v.doc.Language = value
			continue
		}
		if v.doc.Metadata == nil {
			v.doc.Metadata = map[string]string{}
		}
		v.doc.Metadata[name] = value
	}
}

// block reads up to the next blank line: "collect a WebVTT block".
func (v *vttReader) block() {
	var text []string
	var cue *vttCue
	start, n, seenArrow := v.lines.n+1, 0, false
	for {
		line, ok := v.lines.next()
		if !ok || line == "" {
			break
		}
		n++
		line = strings.ReplaceAll(line, "\x00", "\ufffd")
		if strings.Contains(line, "-->") {
			if seenArrow || n > 2 {
				v.lines.unread()
				break
			}
			c := &vttCue{line: v.lines.n}
			if err := c.timings(v.decimals(line)); err == nil {
				if len(text) > 0 {
					c.id = text[0]
				}
				cue, text, seenArrow = c, nil, true
				v.cues++
				continue
			} else if n == 1 || !isKeyword(text) {
				v.repair(v.lines.n, "cue left out: %v; its text is kept as a comment", err)
				// A bad time line ends nothing: what follows is its text.
				seenArrow = true
				text = nil
				continue
			}
			v.lines.unread()
			break
		}
		text = append(text, line)
	}
	switch {
	case cue != nil:
		cue.text = strings.Join(text, "\n")
		v.emit(cue)
	case len(text) > 0:
		v.other(text, start, seenArrow)
	}
}

func isKeyword(text []string) bool {
	if len(text) == 0 {
		return false
	}
	word, _, _ := strings.Cut(strings.TrimRight(text[0], " \t\f"), " ")
	return word == "NOTE" || word == "STYLE" || word == "REGION"
}

// other takes a block that is no cue: a note, a style sheet, a region, or
// text without times.
func (v *vttReader) other(text []string, line int, reported bool) {
	word := strings.TrimRight(text[0], " \t\f")
	switch {
	case reported:
		v.doc.Comments = append(v.doc.Comments, strings.Join(text, "\n"))
	case word == "STYLE":
		v.meta("STYLE", strings.Join(text[1:], "\n"))
	case word == "REGION" && v.cues == 0:
		v.doc.Regions = append(v.doc.Regions, vttRegion(strings.Join(text[1:], " ")))
	case word == "NOTE" || strings.HasPrefix(word, "NOTE ") || strings.HasPrefix(word, "NOTE\t"):
		text[0] = strings.TrimLeft(strings.TrimPrefix(word, "NOTE"), " \t")
		if note := strings.TrimSpace(strings.Join(text, "\n")); note != "" {
			v.doc.Comments = append(v.doc.Comments, note)
		}
	case word == "REGION":
		v.repair(line, "a region after the first cue has no effect: left out")
	default:
		v.repair(line, "text without times: kept as a comment")
		v.doc.Comments = append(v.doc.Comments, strings.Join(text, "\n"))
	}
}

func (v *vttReader) meta(name, value string) {
	if v.doc.Metadata == nil {
		v.doc.Metadata = map[string]string{}
	}
	if old := v.doc.Metadata[name]; old != "" {
		value = old + "\n\n" + value
	}
	v.doc.Metadata[name] = value
}

// decimals reads decimal commas, as in SubRip, as points. The standard drops
// such a cue; a transcript should lose no words. Only among times none of which
// is right (as in W3C's timings-garbage) it is dropped.
func (v *vttReader) decimals(line string) string {
	in, rest, _ := strings.Cut(line, "-->")
	rest = strings.TrimLeft(rest, vttSpace)
	out, settings := rest, ""
	if i := strings.IndexAny(rest, vttSpace); i >= 0 {
		out, settings = rest[:i], rest[i:]
	}
	hopeless := v.points && v.cues == 0
	v.points = v.points || strings.Contains(in, ".")
	if hopeless || !strings.Contains(in, ",") && !strings.Contains(out, ",") {
		return line
	}
	mended := strings.ReplaceAll(in, ",", ".") + "--> " + strings.ReplaceAll(out, ",", ".") + settings
	if (&vttCue{}).timings(mended) != nil {
		return line
	}
	v.repairOnce(v.lines.n, "times with decimal commas: read as decimal points")
	return mended
}

const vttSpace = " \t\n\f\r"

// timings reads "in --> out settings".
func (c *vttCue) timings(line string) error {
	s := strings.TrimLeft(line, vttSpace)
	in, rest, ok := vttTime(s)
	if !ok {
		return fmt.Errorf("time not understood: got %s, want 00:00:01.000", quoteShort(s))
	}
	rest = strings.TrimLeft(rest, vttSpace)
	rest, ok = strings.CutPrefix(rest, "-->")
	if !ok {
		return fmt.Errorf("no arrow after the time: got %s, want -->", quoteShort(rest))
	}
	rest = strings.TrimLeft(rest, vttSpace)
	out, after, ok := vttTime(rest)
	if !ok {
		return fmt.Errorf("time not understood: got %s, want 00:00:01.000", quoteShort(rest))
	}
	c.in, c.out = in, out
	c.settings = vttSettings(after)
	return nil
}

// vttTime reads "collect a WebVTT timestamp" and gives what follows it.
func vttTime(s string) (t timecode.Ticks, rest string, ok bool) {
	if len(s) >= 12 && (len(s) == 12 || !isDigit(s[12])) {
		if t, ok := clockTime(s[:12]); ok && s[8] == '.' {
			return t, s[12:], true
		}
	}
	field := func() (v int64, digits int) {
		for digits < len(s) && isDigit(s[digits]) {
			if v < 1e9 {
				v = v*10 + int64(s[digits]-'0')
			}
			digits++
		}
		s = s[digits:]
		return v, digits
	}
	skip := func(c byte) bool {
		if s != "" && s[0] == c {
			s = s[1:]
			return true
		}
		return false
	}
	a, n := field()
	if n == 0 || !skip(':') {
		return 0, s, false
	}
	hours := n != 2 || a > 59
	b, n := field()
	if n != 2 {
		return 0, s, false
	}
	var sec int64
	if hours || s != "" && s[0] == ':' {
		if !skip(':') {
			return 0, s, false
		}
		if sec, n = field(); n != 2 {
			return 0, s, false
		}
	} else {
		a, b, sec = 0, a, b
	}
	if !skip('.') {
		return 0, s, false
	}
	ms, n := field()
	if n != 3 || b > 59 || sec > 59 || a > 1_000_000 {
		return 0, s, false
	}
	return timecode.FromMillis(((a*60+b)*60+sec)*1000 + ms), s, true
}
