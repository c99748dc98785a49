package interchange

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// PaperOptions says how a paper edit is written.
type PaperOptions struct {
	// Target is the wanted running time, 0 if none.
	Target timecode.Ticks
}

// WritePaper writes a cut as a paper edit in Markdown: a head with running
// time against target, then for each piece a line of numbers (position, reel,
// in and out, length, running total so far, code) and the words, which can be
// read aloud from top to bottom. A speaker's name stands once above pieces of
// theirs that follow each other. Times are those of the saying itself:
// handles are taken off and not counted. Signs that Markdown would take for
// its own are escaped in every text.
//
// Errors wrap ErrCut (no frame rate) or come from w.
func WritePaper(w io.Writer, c story.Cut, opt PaperOptions) error {
	if err := checkCut(c); err != nil {
		return err
	}
	buf := bufio.NewWriter(w)
	p := paperWriter{w: buf, cut: c}
	p.head(opt)
	for _, e := range c.Events {
		p.event(e)
	}
	for i, n := range c.Notes {
		if i == 0 {
			p.printf("\n---\n\nNotes\n\n")
		}
		p.printf("- %s\n", markdown(flat(n)))
	}
	if err := buf.Flush(); err != nil {
		return fmt.Errorf("write paper edit: %w", err)
	}
	return nil
}

type paperWriter struct {
	w       *bufio.Writer
	cut     story.Cut
	number  int
	running timecode.Ticks
	speaker string
	spoken  bool // something stands above already
}

// printf writes; bufio keeps the first error for Flush.
func (p *paperWriter) printf(format string, a ...any) {
	_, _ = fmt.Fprintf(p.w, format, a...)
}

func (p *paperWriter) head(opt PaperOptions) {
	var total timecode.Ticks
	count := 0
	for _, e := range p.cut.Events {
		if !e.Gap {
			count++
			total += spokenLength(e)
		}
	}
	p.printf("# %s\n\n", markdown(flat(p.cut.Title)))
	p.printf("Running time %s", total.Short())
	if over := total - opt.Target; opt.Target > 0 {
		p.printf(" · target %s · ", opt.Target.Short())
		switch {
		case over > 0:
			p.printf("%s over", over.Short())
		case over < 0:
			p.printf("%s under", (-over).Short())
		default:
			p.printf("to the point")
		}
	}
	if count == 1 {
		p.printf(" · 1 piece")
	} else {
		p.printf(" · %d pieces", count)
	}
	p.printf(" · %s frames/s\n", p.cut.Base)
}

// spokenLength is how long a piece is without handles.
func spokenLength(e story.Event) timecode.Ticks {
	return max(e.Record.Length()-e.Lead-e.Tail, 0)
}

func (p *paperWriter) event(e story.Event) {
	if e.Gap {
		p.printf("\n*(%s of silence)*\n", e.Record.Length().Short())
		p.speaker, p.spoken = "", false
		return
	}
	p.number++
	length := spokenLength(e)
	p.running += length
	name := strings.ToUpper(flat(e.Speaker))
	if name == "" {
		name = "SPEAKER UNKNOWN"
	}
	if !p.spoken || name != p.speaker {
		p.printf("\n## %s\n", markdown(name))
	}
	p.speaker, p.spoken = name, true
	talk := e.Talk()
	clock := e.Clock
	if !clock.Base.Rate.Known() {
		clock.Base = p.cut.Base
	}
	p.printf("\n**%d.** %s · %s – %s · %s · running %s", p.number, markdown(flat(e.Reel)),
		clock.Timecode(talk.In, timecode.Floor), clock.Timecode(talk.Out, timecode.Ceil),
		length.Short(), p.running.Short())
	if e.Code != "" {
		p.printf(" · %s", e.Code)
	}
	p.printf("\n")
	if words := paragraphs(e.Text); len(words) > 0 {
		p.printf("\n> %s\n", strings.Join(words, "\n>\n> "))
	} else {
		p.printf("\n> (no transcript)\n")
	}
	if len(e.Themes) > 0 {
		themes := make([]string, len(e.Themes))
		for i, t := range e.Themes {
			themes[i] = markdown(flat(t))
		}
		p.printf("\nThemes: %s\n", strings.Join(themes, ", "))
	}
	if note := flat(e.Note); note != "" {
		p.printf("\nNote: %s\n", markdown(note))
	}
}

// paragraphs divides a text at empty lines and escapes each part.
func paragraphs(s string) []string {
	var out []string
	for _, part := range strings.Split(strings.ReplaceAll(s, "\r\n", "\n"), "\n\n") {
		if part = flat(part); part != "" {
			out = append(out, markdown(part))
		}
	}
	return out
}

// markdown escapes a single line of text after CommonMark, section 2.4
// (recalled): a backslash before any ASCII punctuation makes it plain. Only
// what can act is escaped, so that the source stays readable: inline signs
// anywhere, and at the start what would open a heading, quotation, rule or
// list.
func markdown(s string) string {
	var b strings.Builder
	for i, r := range s {
		if strings.ContainsRune("\\`*_[]<>&~|#$", r) || r == '!' && strings.HasPrefix(s[i+1:], "[") {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	out := b.String()
	digits := strings.IndexFunc(out, func(r rune) bool { return r < '0' || r > '9' })
	switch {
	case out == "":
		return out
	case strings.ContainsRune("-+=", rune(out[0])):
		return `\` + out
	case digits > 0 && (out[digits] == '.' || out[digits] == ')'):
		return out[:digits] + `\` + out[digits:]
	}
	return out
}
