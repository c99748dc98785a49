package timedtext

import (
	"slices"
	"strings"

	"rushlight/pkg/timecode"
)

// docxProse makes cues of the blocks of a document: of a table with a column
// of times row by row, of everything else as plain text is read, paragraph by
// paragraph.
type docxProse struct {
	*reader
	plain *plainReader
	// names counts the names that stand in bold in front of paragraphs or
	// alone in them.
	names  map[string]int
	tables int
}

// prose reads blocks; lines in messages are the numbers of paragraphs.
func (rd *reader) prose(blocks []docxBlock) error {
	p := &docxProse{reader: rd, names: map[string]int{}}
	for i := range blocks {
		blocks[i].settle()
		p.count(&blocks[i])
	}
	for i := range blocks {
		if err := p.stopped(); err != nil {
			return err
		}
		if err := p.block(&blocks[i]); err != nil {
			return err
		}
	}
	p.settle()
	if p.tables > 0 {
		rd.doc.Coarse = false
		return nil
	}
	if len(rd.doc.Cues) == 0 {
		return rd.fail(0, "put a timecode such as [00:12:04] before each paragraph, or in a column of a table",
			"no time found: got a document without a timecode, want one")
	}
	return nil
}

// count counts the names in bold of a block.
func (p *docxProse) count(b *docxBlock) {
	add := func(para *docxPara) {
		for _, l := range para.lines {
			l = l.trimmed()
			_, _, rest, ok := leadLine(l.text)
			from := 0
			if ok {
				from = len(l.text) - len(rest)
			}
			if name, _, _, ok := l.boldName(from); ok {
				p.names[name]++
			} else if name := strings.TrimRight(l.text, ": "); para.kind != docxText && isName(name) {
				p.names[name]++
			}
		}
	}
	for _, r := range b.rows {
		for _, c := range r.cells {
			for i := range c {
				add(&c[i])
			}
		}
	}
	add(&b.docxPara)
}

func (p *docxProse) block(b *docxBlock) error {
	if b.rows == nil {
		return p.paragraph(&b.docxPara)
	}
	if t, ok := docxTable(b.rows); ok {
		p.settle()
		p.tables++
		return p.rows(t)
	}
	for _, r := range b.rows {
		if err := p.paragraph(r.paragraph()); err != nil {
			return err
		}
	}
	return nil
}

// paragraph makes one paragraph of a row: the cells that have one line with tabs
// between them, then the lines of the last.
func (r docxRow) paragraph() *docxPara {
	out := docxPara{n: r.n, lines: make([]docxLine, 1)}
	for _, c := range r.cells {
		first := true
		for _, p := range c {
			for _, l := range p.lines {
				if blank(l.text) {
					continue
				}
				last := &out.lines[len(out.lines)-1]
				switch {
				case first && !last.empty():
					last.add("\t", Style{})
					last.follow(l)
				case first:
					last.follow(l)
				default:
					out.lines = append(out.lines, l)
				}
				first = false
			}
		}
	}
	out.settle()
	return &out
}

// settle ends a stretch of paragraphs.
func (p *docxProse) settle() {
	if p.plain == nil {
		return
	}
	p.plain.spoken(false, false)
	p.plain.collect()
	p.plain = nil
}

func (p *docxProse) paragraph(para *docxPara) error {
	if p.plain == nil {
		p.plain = &plainReader{reader: p.reader}
	}
	if para.blank() {
		return p.plain.line("", para.n)
	}
	if para.kind != docxText && !p.speaks(para) {
		p.aside(para)
		return nil
	}
	for i := range para.lines {
		l := p.labelled(para.lines[i].trimmed(), para.kind == docxSpeaker || para.kind == docxHeading)
		if l.text == "" {
			continue
		}
		if p.tables > 0 && len(p.plain.cues) == 0 && !stamped(l.text) {
			p.repairOnce(para.n, "text beside the table: kept as a comment")
			p.doc.Comments = append(p.doc.Comments, l.text)
			continue
		}
		cues, lines := p.at()
		if err := p.plain.line(l.text, para.n); err != nil {
			return err
		}
		p.restyleFrom(cues, lines, l)
	}
	return nil
}

func stamped(s string) bool {
	_, _, _, lead := leadLine(s)
	_, _, _, inner := innerStamp(s)
	return lead || inner
}

// at is how many cues and lines in the last there are.
func (p *docxProse) at() (cues, lines int) {
	if cues = len(p.plain.cues); cues > 0 {
		lines = len(p.plain.cues[cues-1].Lines)
	}
	return cues, lines
}

// restyleFrom gives what was added since at the styles of its line.
func (p *docxProse) restyleFrom(cues, lines int, l docxLine) {
	if len(l.marks) == 0 {
		return
	}
	// Where one line made several cues their text is in order in it.
	var added []Line
	var homes []*Line
	for i := max(cues-1, 0); i < len(p.plain.cues); i++ {
		from := 0
		if i == cues-1 {
			from = lines
		}
		for j := from; j < len(p.plain.cues[i].Lines); j++ {
			home := &p.plain.cues[i].Lines[j]
			added, homes = append(added, *home), append(homes, home)
		}
	}
	restyle(added, l)
	for i, home := range homes {
		*home = added[i]
	}
}

// speaks tells whether a paragraph that is no text by its style is part of the
// transcript: it has a time, or names a speaker.
func (p *docxProse) speaks(para *docxPara) bool {
	for _, l := range para.lines {
		s := strings.TrimSpace(l.text)
		name := strings.TrimRight(s, ": ")
		switch {
		case para.kind == docxNote:
			return false
		case stamped(s):
			return true
		case para.kind == docxSpeaker:
			return true
		case name != s && isName(name), para.kind == docxHeading && isName(name) && p.names[name] > 1:
			return true
		}
	}
	return false
}

// aside keeps a title, a heading or a note.
func (p *docxProse) aside(para *docxPara) {
	s := para.plain()
	switch {
	case para.kind == docxTitle && p.doc.Title == "":
		p.doc.Title = strings.ReplaceAll(s, "\n", " ")
		return
	case para.kind == docxTitle && p.doc.Title == strings.Join(strings.Fields(s), " "):
		return
	case para.kind == docxNote:
		if v, ok := strings.CutPrefix(s, worksheetRate); ok && !p.doc.Base.Rate.Known() {
			if base, err := timecode.ParseBase(strings.TrimSpace(v)); err == nil {
				p.doc.Base = base
				return
			}
		}
	default:
		p.repairOnce(para.n, "headings: kept as comments")
	}
	p.doc.Comments = append(p.doc.Comments, s)
}

// labelled puts a speaker's name that is told by its weight, its style or by
// tabs around it in front of the text as a label.
func (p *docxProse) labelled(l docxLine, named bool) docxLine {
	l = tabbed(l)
	_, speaker, rest, ok := leadLine(l.text)
	from := 0
	if ok {
		from = len(l.text) - len(rest)
	}
	if speaker != "" {
		return l
	}
	name, end, colon, good := l.boldName(from)
	if !good && named && isName(strings.TrimRight(l.text[from:], ": ")) {
		name, end, colon, good = strings.TrimRight(l.text[from:], ": "), len(l.text), true, true
	}
	if good {
		after := strings.TrimLeft(l.text[end:], ": \t\u00a0")
		at := len(l.text) - len(after)
		if st, tail, isTime := leadStamp(after); !ok && isTime && blank(tail) {
			// Ines Corrigan 0:03 alone on its line.
			when := st.in
			if st.out != "" {
				when += " - " + st.out
			}
			return l.behind("["+when+"] "+name+":", len(l.text))
		}
		known := colon || p.names[name] > 1 || named || ok && after == ""
		if known || at > end && strings.Contains(l.text[end:at], "\t") {
			if after != "" {
				after = " "
			}
			return l.behind(l.text[:from]+name+":"+after, at)
		}
		return l
	}
	// A label in the text is no emphasis.
	if _, after, ok := splitLabel(l.text[from:]); ok && strings.HasSuffix(l.text, after) {
		at := len(l.text) - len(after)
		return l.behind(l.text[:at], at)
	}
	return l
}

// tabbed reads a line in columns: time, name, text, or name, time, text, or
// name, text.
func tabbed(l docxLine) docxLine {
	cols := strings.SplitN(l.text, "\t", 3)
	if len(cols) < 2 {
		return l
	}
	isStamp := func(s string) bool {
		_, rest, ok := leadStamp(strings.TrimSpace(s))
		return ok && blank(rest)
	}
	bare := func(s string) string { return strings.TrimRight(strings.TrimSpace(s), ": ") }
	after := func(n int) int { return len(strings.Join(cols[:n], "\t")) + 1 }
	switch {
	case len(cols) == 3 && isStamp(cols[0]) && isName(bare(cols[1])) && !blank(cols[2]):
		return l.behind(cols[0]+" "+bare(cols[1])+": ", after(2)).trimmed()
	case len(cols) == 3 && isName(bare(cols[0])) && isStamp(cols[1]) && !blank(cols[2]):
		return l.behind(cols[1]+" "+bare(cols[0])+": ", after(2)).trimmed()
	case isName(bare(cols[0])) && !isStamp(cols[1]) && !blank(cols[1]):
		return l.behind(bare(cols[0])+": ", after(1)).trimmed()
	}
	return l
}

// without drops the blank lines of paragraphs.
func without(paras []docxPara) []docxLine {
	var out []docxLine
	for _, p := range paras {
		for _, l := range p.lines {
			if l = l.trimmed(); l.text != "" {
				out = append(out, l)
			}
		}
	}
	return slices.Clip(out)
}
