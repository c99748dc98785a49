package timedtext

import (
	"bufio"
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode"

	"rushlight/pkg/timecode"
)

// ReadOptions steers Read; the zero value lets the file speak for itself.
type ReadOptions struct {
	// Name is the file's name, for messages; its ending helps to tell the
	// format where the content does not.
	Name string
	// As overrides the format, Encoding the character encoding (a name of the
	// WHATWG Encoding Standard).
	As       Format
	Encoding string
	// Base is the frame rate for timecode labels where the file declares none.
	Base timecode.Base
	// Stop is asked all the time; an error of it ends the reading with that error
	// (the Err of a context). nil is never.
	Stop func() error
}

// errFault marks a panic that was caught: a fault of this package.
var errFault = errors.New("fault in the reader, please report it with the file")

// reader is what every format's reader has at hand.
type reader struct {
	opt ReadOptions
	doc *Document
	// told holds the kinds of mend that are reported once in a file.
	told map[string]bool
	// slips holds the cues whose beginning isn't known.
	slips     map[int]bool
	firstSlip error
}

// Read reads one file of timed text. r is read to its end and not closed.
//
// Errors about the content are a *ParseError that wraps ErrFormat. What was
// wrong but could be mended is in the document's Repairs. Cues stay in the
// order of the file. Memory grows with the file, which must be under MaxSize.
func Read(r io.Reader, opt ReadOptions) (doc *Document, err error) {
	// A fault of ours in a reader must not take the program down with it.
	defer func() {
		if p := recover(); p != nil {
			doc, err = nil, fmt.Errorf("%s: reading: %w: %v", opt.Name, errFault, p)
		}
	}()
	in, err := newInput(r, opt)
	if err != nil {
		return nil, err
	}
	format := opt.As
	if format == "" {
		if format, err = detectInput(in); err != nil {
			return nil, err
		}
	}
	rd := &reader{opt: opt, doc: &Document{Format: format}}
	switch format {
	case STL:
		err = rd.readSTL(in.raw)
	case DOCX, ODT:
		err = rd.readPackage(in, r)
	default:
		err = rd.readText(in, format)
	}
	if err == nil {
		err = rd.stopped()
	}
	if err != nil {
		return nil, in.readError(err)
	}
	rd.finish()
	return rd.doc, nil
}

// detectInput is Detect for an opened file; a named encoding rules.
func detectInput(in *input) (Format, error) {
	if in.opt.Encoding == "" {
		return Detect(in.head, in.opt.Name)
	}
	probe := *in
	probe.raw = bufio.NewReaderSize(bytes.NewReader(in.head), headSize)
	text, _, err := probe.decode(true)
	if err != nil {
		return "", err
	}
	// The head may end inside a character; what comes before it is enough.
	decoded, err := io.ReadAll(text)
	if err != nil && len(decoded) == 0 {
		return "", in.readError(err)
	}
	return Detect(decoded, in.opt.Name)
}

func (rd *reader) readText(in *input, format Format) error {
	text, name, err := in.decode(format == WebVTT)
	if err != nil {
		return err
	}
	switch format {
	case SRT:
		err = rd.readSRT(text)
	case WebVTT:
		err = rd.readVTT(text)
	case TTML, EBUTTD:
		err = rd.readTTML(text)
	case ASS:
		err = rd.readASS(text)
	case PlainText:
		err = rd.readPlain(text)
	case JSON:
		err = rd.readJSON(text)
	case CSV:
		err = rd.readCSV(text)
	case HTML:
		err = rd.readHTML(text)
	default:
		return notKnown(format)
	}
	if err != nil {
		return err
	}
	var repairs []Repair
	rd.doc.Encoding, repairs = in.encoding(name)
	rd.doc.Repairs = append(rd.doc.Repairs, repairs...)
	return nil
}

// stopped asks the caller whether to go on.
func (rd *reader) stopped() error {
	if rd.opt.Stop == nil {
		return nil
	}
	return rd.opt.Stop()
}

// repair notes one mend.
func (rd *reader) repair(line int, format string, args ...any) {
	rd.doc.Repairs = append(rd.doc.Repairs, Repair{Line: line, What: fmt.Sprintf(format, args...)})
}

// repairOnce notes a mend that a file needs all over: where it is first met.
func (rd *reader) repairOnce(line int, what string) {
	if rd.told[what] {
		return
	}
	if rd.told == nil {
		rd.told = map[string]bool{}
	}
	rd.told[what] = true
	rd.repair(line, "%s", what)
}

// fail makes an error at a line.
func (rd *reader) fail(line int, hint, format string, args ...any) error {
	return &ParseError{Name: rd.opt.Name, Line: line, Problem: fmt.Sprintf(format, args...), Hint: hint}
}

// time reads a time as written, and notes whether it was a label.
func (rd *reader) time(s string, line int) (timecode.Ticks, error) {
	base := rd.doc.Base
	if !base.Rate.Known() {
		base = rd.opt.Base
	}
	w, err := timecode.Parse(s, base)
	if err != nil {
		if isLabel(s) && !base.Rate.Known() {
			return 0, rd.fail(line, "say how many frames a second has, such as 25 or 29.97df",
				"timecode without a frame rate: got %s, want a known rate", quoteShort(s))
		}
		return 0, rd.fail(line, "correct the time in the transcript", "%s", cutPrefix(err))
	}
	if w.Ticks > maxTime || w.Ticks < -maxTime {
		return 0, rd.fail(line, "correct the time in the transcript", "time too large: got %s, want under 10,000 hours", quoteShort(s))
	}
	if w.Frames {
		rd.doc.Labels = true
	}
	return w.Ticks, nil
}

// maxTime bounds times, so that sums of them cannot overflow.
const maxTime = 1_000_000 * timecode.Hour

// cutPrefix is the text of an error of package timecode.
func cutPrefix(err error) string {
	if errors.Is(err, timecode.ErrTimecode) {
		return err.Error()
	}
	return "time not understood: " + err.Error()
}

// isLabel tells whether s has the four fields of a timecode.
func isLabel(s string) bool {
	n := 0
	for _, c := range s {
		if c == ':' || c == ';' {
			n++
		}
	}
	return n == 3
}

// finish does what all formats share: speakers from labels in the text, ends
// that the file does not give, and notes about times that run backwards.
func (rd *reader) finish() {
	d := rd.doc
	cues := d.Cues[:0]
	for _, c := range d.Cues {
		markSpeakers(&c)
		c.Lines = tidy(c.Lines)
		cues = append(cues, c)
	}
	d.Cues = cues
	rd.pastMidnight()
	rd.shareSlips()
	for i := range d.Cues {
		c := &d.Cues[i]
		if i > 0 && c.In < d.Cues[i-1].In {
			rd.repairAt(c, "times run backwards: got %s after %s", c.In, d.Cues[i-1].In)
		}
		if !c.OpenEnd && c.Out <= c.In {
			rd.repairAt(c, "the out %s is not after the in %s: the cue ends where the next begins", c.Out, c.In)
			c.OpenEnd = true
		}
		if c.OpenEnd {
			c.Out = NoTime
		}
	}
	closeEnds(d.Cues)
	rd.dropBareLabels()
}

// pastMidnight counts timecode labels on where they begin again at midnight,
// which is a fall by more than half a day.
func (rd *reader) pastMidnight() {
	if !rd.doc.Labels {
		return
	}
	const half = 12 * timecode.Hour
	day := rd.day()
	var add, last timecode.Ticks
	for i := range rd.doc.Cues {
		c := &rd.doc.Cues[i]
		switch {
		case c.In+add < last-half:
			add += day
		case add > 0 && c.In+add > last+half:
			add -= day
		}
		if !c.OpenEnd && c.In-c.Out > half {
			c.Out += day
		}
		if add != 0 {
			c.move(add)
		}
		last = c.In
	}
}

// day is the length of 24 hours of labels: at 29.97 frames without drop and its
// like more than 24 hours of clock.
func (rd *reader) day() timecode.Ticks {
	for _, b := range []timecode.Base{rd.doc.Base, rd.opt.Base} {
		if b.Rate.Known() {
			return b.Rate.Ticks(b.FramesPerDay())
		}
	}
	return timecode.Day
}

// move adds to every time of a cue.
func (c *Cue) move(by timecode.Ticks) {
	add := func(t *timecode.Ticks) {
		if *t != NoTime {
			*t += by
		}
	}
	add(&c.In)
	add(&c.Out)
	for _, l := range c.Lines {
		for _, r := range l {
			for i := range r.Words {
				add(&r.Words[i].In)
				add(&r.Words[i].Out)
			}
		}
	}
}

// closeEnds gives each cue without an end the next later In.
func closeEnds(cues []Cue) {
	var later []timecode.Ticks // Ins that follow, each later than the one after it
	for i := len(cues) - 1; i >= 0; i-- {
		c := &cues[i]
		for len(later) > 0 && later[len(later)-1] <= c.In {
			later = later[:len(later)-1]
		}
		if c.OpenEnd && len(later) > 0 {
			c.Out = later[len(later)-1]
		}
		later = append(later, c.In)
	}
}

func (rd *reader) repairAt(c *Cue, format string, args ...any) {
	rd.doc.Repairs = append(rd.doc.Repairs, Repair{Line: c.Line, Byte: c.Byte, What: fmt.Sprintf(format, args...)})
}

// tidy drops empty runs and joins neighbours that differ in nothing; a line
// that holds nothing is dropped.
func tidy(lines []Line) []Line {
	out := lines[:0]
	for _, l := range lines {
		kept := l[:0]
		for _, r := range l {
			if r.Text == "" {
				continue
			}
			if n := len(kept); n > 0 && kept[n-1].Style == r.Style && kept[n-1].Speaker == r.Speaker && !r.Dash {
				kept[n-1].Text += r.Text
				kept[n-1].Words = append(kept[n-1].Words, r.Words...)
				continue
			}
			kept = append(kept, r)
		}
		if len(kept) > 0 && !blank(Line(kept).Plain()) {
			out = append(out, kept)
		}
	}
	return out
}

// trimEnds takes the white space off both ends of a line, with the runs that
// hold nothing else, and tells whether there was any. The line's array is
// changed.
func trimEnds(l Line) (out Line, trimmed bool) {
	for len(l) > 0 {
		t := strings.TrimLeftFunc(l[0].Text, unicode.IsSpace)
		trimmed = trimmed || t != l[0].Text
		if l[0].Text = t; t != "" {
			break
		}
		l = l[1:]
	}
	for n := len(l); n > 0; n = len(l) {
		t := strings.TrimRightFunc(l[n-1].Text, unicode.IsSpace)
		trimmed = trimmed || t != l[n-1].Text
		if l[n-1].Text = t; t != "" {
			break
		}
		l = l[:n-1]
	}
	return l, trimmed
}
