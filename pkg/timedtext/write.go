package timedtext

import (
	"bufio"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode"

	"rushlight/pkg/timecode"
)

// WriteOptions steers Write; the zero value takes what the document says.
type WriteOptions struct {
	// Base is the frame rate for formats that count frames (EBU STL) and for
	// timecode labels; the document's own if zero.
	Base timecode.Base
	// ProgrammeStart is the programme start of EBU STL; the document's own if
	// zero. Times are written as they are, not shifted by it.
	ProgrammeStart timecode.Ticks
	// Language (BCP 47) and Title stand in for the document's.
	Language, Title string
	// Made is the day that EBU STL says the subtitles were made, where the
	// document doesn't say it itself; zero is 1 January 2000. It isn't the day of
	// writing, so that one document gives the same bytes on any day.
	Made time.Time
}

// writer is what every format's writer has at hand.
type writer struct {
	*bufio.Writer
	doc  *Document
	opt  WriteOptions
	base timecode.Base

	kinds []string
	count map[string]int
	// replaced are the characters that the format doesn't have.
	replaced []rune
}

// Write writes the document in a format. lost has one line for each kind of
// thing that the format cannot carry (or not exactly), with how often; where it
// is empty, Read gives an equal document. doc is not changed.
func Write(out io.Writer, doc *Document, f Format, opt WriteOptions) (lost []string, err error) {
	w := &writer{Writer: bufio.NewWriter(out), opt: opt, base: opt.Base, count: map[string]int{}}
	w.prepare(doc)
	switch f {
	case SRT:
		w.writeSRT()
	case WebVTT:
		w.writeVTT()
	case TTML:
		w.writeTTML()
	case STL:
		err = w.writeSTL()
	case ASS:
		w.writeASS()
	case PlainText:
		w.writePlain()
	case JSON:
		err = w.writeJSON()
	case CSV:
		err = w.writeCSV()
	case DOCX:
		err = w.writeDOCX()
	case EBUTTD:
		w.writeEBUTTD()
	case ODT, HTML:
		return nil, &ParseError{Problem: fmt.Sprintf("this format is read, not written: got %s, want docx or another", f), Hint: "write a .docx file", kind: ErrUnknown}
	default:
		return nil, notKnown(f)
	}
	if err != nil {
		return nil, err
	}
	if err := w.Flush(); err != nil {
		return nil, fmt.Errorf("writing %s: %w", f, err)
	}
	for _, k := range w.kinds {
		line := fmt.Sprintf("%s (%d)", k, w.count[k])
		if k == lostCharacter {
			line += w.listReplaced()
		}
		lost = append(lost, line)
	}
	return lost, nil
}

// prepare copies the document with its text in order: no control characters,
// no empty lines or cues, no space at the ends of lines.
func (w *writer) prepare(doc *Document) {
	d := *doc
	if !w.base.Rate.Known() {
		w.base = d.Base
	}
	d.Title = w.clean(d.Title)
	if w.opt.Title != "" {
		d.Title = w.clean(w.opt.Title)
	}
	if w.opt.Language != "" {
		d.Language = w.opt.Language
	}
	if w.opt.ProgrammeStart != 0 {
		d.ProgrammeStart = w.opt.ProgrammeStart
	}
	d.Comments = nil
	for _, c := range doc.Comments {
		var lines []string
		for l := range strings.SplitSeq(c, "\n") {
			if l = strings.TrimSpace(w.clean(l)); l != "" {
				lines = append(lines, l)
			}
		}
		if len(lines) > 0 {
			d.Comments = append(d.Comments, strings.Join(lines, "\n"))
		}
	}
	d.Cues = make([]Cue, 0, len(doc.Cues))
	for _, c := range doc.Cues {
		c.Lines = w.cleanLines(c.Lines)
		c.ID = w.clean(c.ID)
		if len(c.Lines) == 0 {
			w.lose(lostEmpty)
			continue
		}
		d.Cues = append(d.Cues, c)
	}
	w.doc = &d
}

func (w *writer) cleanLines(lines []Line) []Line {
	out := make([]Line, 0, len(lines))
	for _, l := range lines {
		line := make(Line, 0, len(l))
		for _, r := range l {
			r.Text = w.clean(r.Text)
			r.Speaker = strings.Join(strings.Fields(w.clean(r.Speaker)), " ")
			line = append(line, r)
		}
		line, trimmed := trimEnds(line)
		if trimmed {
			w.lose(lostSpaces)
		}
		if len(line) > 0 {
			out = append(out, line)
		}
	}
	return tidy(out)
}

// clean replaces what no text format can hold in a line.
func (w *writer) clean(s string) string {
	bad := func(r rune) bool {
		return unicode.IsControl(r) && r != '\t' || r == '\u2028' || r == '\u2029' || r == '\ufeff'
	}
	if strings.IndexFunc(s, bad) < 0 && strings.ToValidUTF8(s, "") == s {
		return s
	}
	w.lose(lostControl)
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\r' || r == '\u2028' || r == '\u2029':
			return ' '
		case bad(r):
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, ""))
}

// ends gives in and out for a format that needs both, rounded to unit.
func (w *writer) ends(c *Cue, unit timecode.Ticks) (in, out timecode.Ticks) {
	in, out = c.In, c.Out
	if c.OpenEnd || out == NoTime {
		w.lose(lostOpenEnd)
		if out == NoTime || out <= in {
			out = in + 2*timecode.Second
		}
	}
	if out <= in {
		w.lose(lostBackward)
	}
	return w.round(in, unit), w.round(out, unit)
}

// round is the nearest whole unit, from zero on.
func (w *writer) round(t, unit timecode.Ticks) timecode.Ticks {
	if t < 0 {
		w.lose(lostNegative)
		return 0
	}
	if t%unit != 0 {
		w.lose(lostRounded)
		t = (t + unit/2) / unit * unit
	}
	return t
}

// compose gives the lines of a cue with dashes, and unless the format has
// speakers of its own, labels, as text.
func (w *writer) compose(c *Cue, native bool) []Line {
	lines := c.Lines
	if !native {
		lines = w.onOwnLines(lines)
	}
	out := make([]Line, len(lines))
	speaker := ""
	for i, l := range lines {
		out[i] = slices.Clone(l)
		first := &out[i][0]
		prefix := ""
		if first.Dash {
			prefix, speaker = "- ", ""
		}
		if !native {
			if first.Speaker != speaker && first.Speaker != "" {
				prefix += first.Speaker + ": "
			}
			speaker = first.Speaker
		}
		first.Text = prefix + first.Text
		for j := range out[i] {
			out[i][j].Dash = false
			if !native {
				out[i][j].Speaker = ""
			}
		}
	}
	// Read it as a reader would: what comes out differently is lost.
	check := Cue{Lines: make([]Line, len(out))}
	for i, l := range out {
		check.Lines[i] = slices.Clone(l)
		for j := range check.Lines[i] {
			check.Lines[i][j].Words = nil
		}
	}
	markSpeakers(&check)
	if !sameLines(tidy(check.Lines), lines) {
		w.lose(lostLabels)
	}
	return out
}

// onOwnLines breaks lines where the speaker changes.
func (w *writer) onOwnLines(lines []Line) []Line {
	var out []Line
	for _, l := range lines {
		from := 0
		for j := 1; j < len(l); j++ {
			if l[j].Speaker != l[j-1].Speaker || l[j].Dash {
				w.lose(lostSplit)
				out = append(out, l[from:j])
				from = j
			}
		}
		out = append(out, l[from:])
	}
	return w.cleanLines(out)
}

// loseNames notes where first lines would be read as names of speakers.
func (w *writer) loseNames() {
	cues := make([]Cue, len(w.doc.Cues))
	for i, c := range w.doc.Cues {
		for _, l := range c.Lines {
			cues[i].Lines = append(cues[i].Lines, slices.Clone(l))
		}
	}
	namesOnTop(cues)
	for i, c := range cues {
		if len(c.Lines) != len(w.doc.Cues[i].Lines) {
			w.lose(lostLabels)
		}
	}
}

// sameLines tells whether two cues say the same in the same way, word times
// aside.
func sameLines(a, b []Line) bool {
	return slices.EqualFunc(a, b, func(x, y Line) bool {
		return slices.EqualFunc(x, y, func(r, s Run) bool {
			return r.Text == s.Text && r.Speaker == s.Speaker && r.Style == s.Style && r.Dash == s.Dash
		})
	})
}

// loseHead notes what of the document's head the format lacks.
func (w *writer) loseHead(title, language, comments bool) {
	d := w.doc
	if d.Title != "" && !title {
		w.lose(lostTitle)
	}
	if d.Language != "" && !language {
		w.lose(lostLanguage)
	}
	if !comments {
		for range d.Comments {
			w.lose(lostComments)
		}
	}
}

// loseTime notes what of the document's time the format lacks.
func (w *writer) loseTime(labels, rate, start bool) {
	d := w.doc
	if d.Labels && !labels {
		w.lose("timecode labels: written as clock times")
	}
	if d.Base.Rate.Known() && !rate {
		w.lose(lostRate)
	}
	if d.ProgrammeStart != 0 && !start {
		w.lose(lostStart)
	}
	if len(d.Regions) > 0 {
		w.lose(lostRegions)
	}
	if len(d.Metadata) > 0 {
		w.lose(lostMeta)
	}
}

// usualPlace tells whether a setting says only where subtitles stand anyway:
// in the middle at the bottom, under the name that our TTML gives it.
func usualPlace(name, value string) bool {
	return name == "align" && value == "center" || name == "region" && value == "bottom"
}

// loseCue notes what of a cue the format lacks; settings names those it has.
func (w *writer) loseCue(c *Cue, words bool, settings ...string) {
	for k, v := range c.Settings {
		if !slices.Contains(settings, k) && !usualPlace(k, v) {
			w.lose(lostSettings)
		}
	}
	if words {
		return
	}
	for _, l := range c.Lines {
		for _, r := range l {
			if len(r.Words) > 0 {
				w.lose(lostWords)
			}
		}
	}
}

// clock writes hh:mm:ss, a separator and milliseconds.
func clock(t timecode.Ticks, sep byte) string {
	ms := t.Millis(timecode.Nearest)
	return fmt.Sprintf("%02d:%02d:%02d%c%03d", ms/3_600_000, ms/60_000%60, ms/1000%60, sep, ms%1000)
}

// exact writes hh:mm:ss and as many digits as tell the tick, at least three.
func exact(t timecode.Ticks) string {
	s := t / timecode.Second
	// Nine digits tell every tick: one is 1.4 ns. Rounded up or down to the
	// nearest, since a reader rounds to the nearest tick.
	frac := fmt.Sprintf("%09d", (int64(t%timecode.Second)*1_000_000_000+int64(timecode.Second)/2)/int64(timecode.Second))
	for len(frac) > 3 && frac[len(frac)-1] == '0' {
		frac = frac[:len(frac)-1]
	}
	return fmt.Sprintf("%02d:%02d:%02d.%s", s/3600, s/60%60, s%60, frac)
}

// line prints one line.
func (w *writer) line(format string, args ...any) {
	fmt.Fprintf(w, format+"\n", args...)
}

// sortedKeys lists the keys of a map in order.
func sortedKeys(m map[string]string) []string { return slices.Sorted(maps.Keys(m)) }
