package timedtext

import (
	"io"
	"slices"
	"strings"

	"rushlight/pkg/timecode"
)

// Plain text with times has no standard. A time stands before a paragraph, on
// a line of its own, after the speaker's name, or in brackets inside a
// paragraph; a range gives the end as well. Lines that begin with # before the
// first time are comments.

type plainReader struct {
	*reader
	cues []Cue
	// block is the speaker of a label on a line of its own: it holds until a
	// blank line or the next label.
	block   string
	speaker string
	// waiting is that label as text until somebody speaks under it.
	waiting string
	// lead is talk that stands before the first time, from line leadAt on.
	// parted of its lines have a blank line behind them.
	lead           []string
	leadAt, parted int
	// names holds the speakers that a worksheet of ours lists.
	names []string
}

func (rd *reader) readPlain(r io.Reader) error {
	p := &plainReader{reader: rd}
	lines := newLines(r, true)
	for {
		line, ok := lines.next()
		if !ok {
			break
		}
		if err := p.line(strings.TrimRight(line, " \t\u00a0"), lines.n); err != nil {
			return err
		}
	}
	if err := lines.failure(); err != nil {
		return err
	}
	if len(p.cues) == 0 { // no time, whatever stands before one
		return rd.fail(1, "put a timecode such as [00:12:04] before each paragraph; if nobody knows more, one [00:00:00] before the first word", "no time found: got text without a timecode, want one")
	}
	p.spoken(false, false)
	p.collect()
	return nil
}

// spoken ends the wait of a label on a line of its own. One that nobody spoke
// under was text; but one alone after a time is a blank that nobody filled in,
// unless the cue goes on or a dash stands before it.
func (p *plainReader) spoken(under, goesOn bool) {
	if n := len(p.cues); p.waiting != "" && !under && n > 0 {
		rest, dash := splitDash(p.waiting)
		if c := &p.cues[n-1]; goesOn || dash || len(c.Lines) > 0 {
			c.Lines = append(c.Lines, Line{{Text: rest, Dash: dash}})
		}
	}
	p.waiting = ""
}

func (p *plainReader) line(line string, n int) error {
	line = strings.TrimLeftFunc(line, isMark)
	s := strings.TrimSpace(line)
	if s == "" {
		p.block = ""
		if len(p.cues) == 0 {
			p.parted = len(p.lead)
		}
		return nil
	}
	if len(p.cues) == 0 && strings.HasPrefix(s, "#") {
		p.header(strings.TrimSpace(strings.TrimLeft(s, "#")))
		return nil
	}
	if st, speaker, rest, ok := leadLine(line); ok {
		p.spoken(speaker == "" && p.block != "", false)
		if speaker == "" {
			speaker = p.block
		}
		if name, after, ok := strings.Cut(rest, ":"); ok && slices.Contains(p.names, name) {
			speaker, rest = name, strings.TrimSpace(after)
		}
		if name, after, ok := cutColumn(rest); ok && speaker == "" {
			speaker, rest = name, after
		}
		if err := p.begin(st, speaker, n); err != nil {
			return err
		}
		return p.text(rest, n)
	}
	if name, rest, ok := splitLabel(s); ok && rest == "" {
		p.spoken(false, true)
		p.block, p.speaker, p.waiting = name, name, s
		return nil
	}
	if len(p.cues) == 0 {
		if before, st, rest, ok := innerStamp(s); ok {
			p.untimed(strings.TrimSpace(before), n, true)
			who := p.block
			if name, _, ok := splitLabel(strings.TrimSpace(before)); ok {
				who = name
			}
			if err := p.begin(st, who, n); err != nil {
				return err
			}
			return p.text(rest, n)
		}
		p.untimed(s, n, false)
		return nil
	}
	return p.text(s, n)
}

// cutColumn takes a name off the front of a line in columns, by tabs or bars.
func cutColumn(s string) (name, rest string, ok bool) {
	for _, sep := range []string{"\t", " | "} {
		if name, rest, ok := strings.Cut(s, sep); ok && isName(strings.TrimSpace(name)) {
			return strings.TrimSpace(name), strings.TrimSpace(rest), true
		}
	}
	return "", s, false
}

// header takes a comment; a worksheet says its frame rate in one.
func (p *plainReader) header(s string) {
	if s == "" {
		return
	}
	if v, ok := strings.CutPrefix(s, worksheetRate); ok && !p.doc.Base.Rate.Known() {
		if base, err := timecode.ParseBase(strings.TrimSpace(v)); err == nil {
			p.doc.Base = base
			return
		}
	}
	if v, ok := strings.CutPrefix(s, worksheetNames); ok {
		p.names = strings.Split(strings.TrimSpace(v), nameSeparator)
		return
	}
	p.doc.Comments = append(p.doc.Comments, s)
}

// untimed takes text before the first time: talk where somebody is said to
// speak, or where the time stands in the middle of a line; else a heading.
func (p *plainReader) untimed(s string, n int, inLine bool) {
	if s == "" {
		return
	}
	if _, rest, label := splitLabel(s); inLine || label && rest != "" || len(p.lead) > 0 {
		if len(p.lead) == 0 {
			p.leadAt = n
		}
		p.lead = append(p.lead, s)
		return
	}
	p.repair(n, "text before the first time: kept as a comment")
	p.doc.Comments = append(p.doc.Comments, s)
}

// begin starts a cue.
func (p *plainReader) begin(st stamp, speaker string, n int) error {
	in, err := p.time(st.in, n)
	if err != nil {
		return err
	}
	c := Cue{Span: timecode.Span{In: in, Out: NoTime}, OpenEnd: st.out == "", Line: n}
	if st.out != "" {
		if c.Out, err = p.time(st.out, n); err != nil {
			return err
		}
	}
	p.beginLead(in)
	p.cues = append(p.cues, c)
	p.speaker = speaker
	return nil
}

// beginLead makes a cue of the talk before the first time.
func (p *plainReader) beginLead(first timecode.Ticks) {
	if len(p.lead) == 0 || len(p.cues) > 0 {
		return
	}
	p.cues = append(p.cues, Cue{Span: timecode.Span{In: first, Out: NoTime}, OpenEnd: true, Line: p.leadAt})
	for _, s := range p.lead {
		p.add(s)
	}
	p.speaker, p.waiting = "", ""
}

// settleLead tells a head ("Reel: D1") from talk before the first time: its
// labels never come back, and a blank line parts it. Talk begins at 0, or before
// a timecode as much earlier as the words take.
func (p *plainReader) settleLead() {
	if len(p.lead) == 0 || len(p.cues) == 0 {
		return
	}
	speaks := map[string]bool{}
	for _, c := range p.cues[1:] {
		for _, l := range c.Lines {
			speaks[l[0].Speaker] = true
		}
	}
	c := &p.cues[0]
	for n := p.parted; n > 0 && len(c.Lines) > 0; n-- {
		name := c.Lines[0][0].Speaker
		if name == "" || speaks[name] {
			break
		}
		p.repair(p.leadAt, "text before the first time: kept as a comment")
		p.doc.Comments = append(p.doc.Comments, name+": "+c.Lines[0].Plain())
		c.Lines = c.Lines[1:]
		p.leadAt++
	}
	if len(c.Lines) == 0 {
		p.cues = p.cues[1:]
		return
	}
	const perWord = 400 * timecode.Millisecond
	in := timecode.Ticks(0)
	if p.doc.Labels {
		in = max(c.In-perWord*timecode.Ticks(len(strings.Fields(strings.Join(p.lead, " ")))), 0)
	}
	c.In, c.Line = min(in, c.In), p.leadAt
	p.repair(p.leadAt, "talk before the first time: taken to begin at %s", in)
}

// text adds one line of text to the cue, or to several where it has times in
// brackets inside.
func (p *plainReader) text(s string, n int) error {
	for {
		before, st, rest, ok := innerStamp(s)
		p.add(strings.TrimSpace(before))
		if !ok {
			return nil
		}
		if err := p.begin(st, p.speaker, n); err != nil {
			return err
		}
		s = rest
	}
}

func (p *plainReader) add(s string) {
	if s == "" {
		return
	}
	run := Run{}
	rest, dash := splitDash(s)
	name, after, label := splitLabel(rest)
	p.spoken(!dash && !label, true)
	whole := s
	if dash {
		run.Dash, s, p.speaker = true, rest, ""
	}
	if label {
		p.speaker, s = name, after
	}
	if s == "" {
		p.waiting = whole
		return
	}
	run.Text, run.Speaker = s, p.speaker
	c := &p.cues[len(p.cues)-1]
	c.Lines = append(c.Lines, Line{run})
}

// collect drops the cues without text; such a time ends the cue before it.
func (p *plainReader) collect() {
	coarse := true
	p.settleLead()
	for _, c := range p.cues {
		out := p.doc.Cues
		if len(c.Lines) > 0 {
			p.doc.Cues = append(out, c)
			coarse = coarse && c.OpenEnd
			continue
		}
		if n := len(out); n > 0 && out[n-1].OpenEnd && c.In > out[n-1].In {
			out[n-1].Out, out[n-1].OpenEnd = c.In, false
		}
	}
	namesOnTop(p.doc.Cues)
	namesBeforeDash(p.doc.Cues)
	p.doc.Coarse = coarse && len(p.doc.Cues) > 0
}

// namesOnTop takes the first line of each cue as its speaker where nearly all
// cues have a bare name there, or half of them have one in capitals or one that
// comes back:
//
//	00:12:04 Ines Corrigan
//	It was the bell.
func namesOnTop(cues []Cue) {
	name := func(c *Cue) string {
		if len(c.Lines) < 2 || c.Speaker() != "" || c.Lines[0][0].Dash || !isName(c.Lines[0].Plain()) {
			return ""
		}
		return c.Lines[0].Plain()
	}
	n, sure := 0, 0
	often := map[string]int{}
	for i := range cues {
		if who := name(&cues[i]); who != "" {
			often[who]++
			n++
		}
	}
	known := func(who string) bool { return often[who] > 1 || len(who) > 1 && strings.ToUpper(who) == who }
	for who, times := range often {
		if known(who) {
			sure += times
		}
	}
	all := n > 2 && n*10 >= len(cues)*8
	if !all && (sure < 2 || sure*2 < len(cues)) {
		return
	}
	for i := range cues {
		c := &cues[i]
		if who := name(c); who != "" && (all || known(who)) {
			c.Lines = c.Lines[1:]
			for _, l := range c.Lines {
				l[0].Speaker = who
			}
		}
	}
}

// namesBeforeDash takes a name before a dash as the speaker where nearly all
// cues have one: "(0:10) Ines – It was the bell."
func namesBeforeDash(cues []Cue) {
	cut := func(c *Cue) (name, rest string) {
		if len(c.Lines) == 0 || c.Speaker() != "" || c.Lines[0][0].Dash {
			return "", ""
		}
		for _, dash := range []string{" – ", " — ", " - "} {
			if name, rest, ok := strings.Cut(c.Lines[0][0].Text, dash); ok && isName(name) && !blank(rest) {
				return name, strings.TrimSpace(rest)
			}
		}
		return "", ""
	}
	n := 0
	for i := range cues {
		if name, _ := cut(&cues[i]); name != "" {
			n++
		}
	}
	if n < 2 || n*10 < len(cues)*8 {
		return
	}
	for i := range cues {
		if name, rest := cut(&cues[i]); name != "" {
			cues[i].Lines[0][0].Text = rest
			for _, l := range cues[i].Lines {
				l[0].Speaker = name
			}
		}
	}
}
