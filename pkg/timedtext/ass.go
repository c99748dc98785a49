package timedtext

import (
	"io"
	"strings"

	"rushlight/pkg/timecode"
)

// SSA and ASS have no standard; this reads SSA version 4 and ASS version 4+
// scripts as players do: sections, a Format line that names the fields, and
// Dialogue lines whose last field (Text) may hold commas. Drawings and
// typesetting are not text and are left out.

type assReader struct {
	*reader
	section string
	format  []string
	styles  map[string]Style
	// styleFormat names the fields of Style lines.
	styleFormat []string
}

var (
	assEventFields = []string{"layer", "start", "end", "style", "name", "marginl", "marginr", "marginv", "effect", "text"}
	assStyleFields = []string{"name", "fontname", "fontsize", "primarycolour", "secondarycolour", "outlinecolour", "backcolour", "bold", "italic", "underline"}
)

func (rd *reader) readASS(r io.Reader) error {
	a := &assReader{reader: rd, styles: map[string]Style{}, format: assEventFields, styleFormat: assStyleFields}
	lines := newLines(r, true)
	found := false
	for {
		line, ok := lines.next()
		if !ok {
			break
		}
		line = strings.TrimPrefix(line, "\ufeff")
		trimmed := strings.TrimSpace(line)
		switch {
		case trimmed == "":
			continue
		case strings.HasPrefix(trimmed, "[") && strings.HasSuffix(trimmed, "]"):
			a.section, found = strings.ToLower(trimmed), true
			continue
		case strings.HasPrefix(trimmed, ";"), strings.HasPrefix(trimmed, "!:"):
			a.comment(strings.TrimLeft(trimmed, ";!: "))
			continue
		}
		key, value, ok := strings.Cut(line, ":")
		if !ok {
			if a.section == "[events]" {
				a.repair(lines.n, "line without a kind: kept as a comment")
				a.comment(trimmed)
			}
			continue
		}
		key = strings.ToLower(strings.TrimSpace(key))
		found = found || key == "dialogue"
		a.line(key, strings.TrimLeft(value, " \t"), lines.n)
	}
	if err := lines.failure(); err != nil {
		return err
	}
	if !found {
		return rd.fail(1, "check that this is an SSA or ASS file", "not an SSA or ASS file: got no [Script Info], [Events] or Dialogue line")
	}
	return a.noneTimed()
}

func (a *assReader) comment(s string) {
	if s != "" {
		a.doc.Comments = append(a.doc.Comments, s)
	}
}

func (a *assReader) line(key, value string, n int) {
	switch {
	case key == "dialogue":
		a.event(value, n)
	case key == "format" && a.section == "[events]":
		a.format = assFields(value)
	case key == "format":
		a.styleFormat = assFields(value)
	case key == "comment" && a.section == "[events]":
		if f := splitFields(value, len(a.format)); len(f) == len(a.format) {
			var c Cue
			a.text(&c, f[len(f)-1], Style{})
			a.comment(c.Plain())
		} else {
			a.comment(value)
		}
	case key == "style":
		a.style(value)
	case a.section == "[script info]":
		switch key {
		case "title":
			a.doc.Title = value
		case "language":
			a.doc.Language = value
		}
	}
}

func assFields(s string) []string {
	f := strings.Split(strings.ToLower(s), ",")
	for i := range f {
		f[i] = strings.TrimSpace(f[i])
	}
	return f
}

// splitFields cuts s at commas into n fields, the last with all that is left.
func splitFields(s string, n int) []string {
	return strings.SplitN(s, ",", max(n, 1))
}

func (a *assReader) style(value string) {
	f := splitFields(value, len(a.styleFormat))
	var name string
	var s Style
	for i, field := range a.styleFormat {
		if i >= len(f) {
			break
		}
		v := strings.TrimSpace(f[i])
		on := v != "" && v != "0"
		switch field {
		case "name":
			name = v
		case "bold":
			s.Bold = on
		case "italic":
			s.Italic = on
		case "underline":
			s.Underline = on
		case "primarycolour":
			if c := assColour(v); c != "#ffffff" {
				s.Colour = c
			}
		}
	}
	a.styles[strings.TrimPrefix(name, "*")] = s
}

// assColour reads &HAABBGGRR, &HBBGGRR& or a decimal number of the same
// meaning.
func assColour(v string) string {
	v = strings.ToUpper(strings.Trim(v, "&"))
	hex, ok := strings.CutPrefix(v, "H")
	var n uint64
	for i := range len(hex) {
		c := hex[i]
		d := strings.IndexByte("0123456789ABCDEF", c)
		if d < 0 || !ok && d > 9 || n > 1<<40 {
			return ""
		}
		if ok {
			n = n<<4 | uint64(d)
		} else {
			n = n*10 + uint64(d)
		}
	}
	if hex == "" {
		return ""
	}
	const digits = "0123456789abcdef"
	out := []byte{'#'}
	for _, shift := range []uint{4, 0, 12, 8, 20, 16} {
		out = append(out, digits[n>>shift&15])
	}
	return string(out)
}

// event reads a Dialogue line. A comma inside the name, which shifts the
// fields, is found by the margins that must be numbers.
func (a *assReader) event(value string, n int) {
	f := splitFields(value, len(a.format))
	if len(f) < len(a.format) {
		a.repair(n, "dialogue line too short: got %d fields, want %d: kept as a comment", len(f), len(a.format))
		a.comment(strings.TrimSpace(value))
		return
	}
	f = a.rejoin(f)
	c := Cue{Line: n}
	var badIn, badOut error
	var base Style
	text, name := "", ""
	for i, field := range a.format {
		switch field {
		case "start":
			c.In, badIn = a.time(strings.TrimSpace(f[i]), n)
		case "end":
			c.Out, badOut = a.time(strings.TrimSpace(f[i]), n)
		case "style":
			s := strings.TrimPrefix(strings.TrimSpace(f[i]), "*")
			base = a.styles[s]
			if s != "" && s != "Default" {
				c.set("style", s)
			}
		case "name", "actor":
			name = strings.TrimSpace(f[i])
		case "layer":
			if v := strings.TrimSpace(f[i]); v != "" && v != "0" {
				c.set("layer", v)
			}
		case "text":
			text = f[i]
		}
	}
	if badIn != nil {
		c.In = a.behind()
	}
	a.text(&c, text, base)
	for _, l := range c.Lines {
		for i := range l {
			l[i].Speaker = name
		}
	}
	if len(tidy(c.Lines)) == 0 {
		return
	}
	if badIn != nil {
		a.slip(len(a.doc.Cues), badIn)
		a.repair(n, "%s: the line is kept behind the one before", problem(badIn))
	}
	if badOut != nil {
		a.repair(n, "%s: the line ends where the next begins", problem(badOut))
		c.Out, c.OpenEnd = NoTime, true
	}
	a.doc.Cues = append(a.doc.Cues, c)
}

// rejoin mends a name with commas in it: the three margins after the name are
// numbers, so a shift shows.
func (a *assReader) rejoin(f []string) []string {
	name, margin := -1, -1
	for i, field := range a.format {
		switch field {
		case "name", "actor":
			name = i
		case "marginl":
			margin = i
		}
	}
	if name < 0 || margin != name+1 || a.format[len(a.format)-1] != "text" {
		return f
	}
	whole := f
	for tries := 0; !digits(strings.TrimSpace(f[name+1])); tries++ {
		head, rest, ok := strings.Cut(f[len(f)-1], ",")
		if !ok || tries == 8 {
			return whole
		}
		shifted := append([]string{}, f[:name]...)
		shifted = append(shifted, f[name]+","+f[name+1])
		shifted = append(shifted, f[name+2:len(f)-1]...)
		f = append(shifted, head, rest)
	}
	return f
}

// text reads the override blocks and line breaks of a Text field.
func (a *assReader) text(c *Cue, s string, base Style) {
	b := newRuns()
	b.style = base
	drawing, timed := false, c.In
	for s != "" {
		i := strings.IndexAny(s, `{\`)
		if i < 0 {
			i = len(s)
		}
		if !drawing && i > 0 {
			b.add(s[:i])
		}
		if s = s[i:]; s == "" {
			break
		}
		if s[0] == '\\' {
			size := 2
			switch {
			case strings.HasPrefix(s, `\N`), strings.HasPrefix(s, `\n`):
				b.add("\n")
			case strings.HasPrefix(s, `\h`):
				b.add("\u00a0")
			case strings.HasPrefix(s, `\{`), strings.HasPrefix(s, `\}`):
				b.add(s[1:2])
			default:
				b.add(`\`)
				size = 1
			}
			s = s[size:]
			continue
		}
		end := strings.IndexByte(s, '}')
		if end < 0 {
			b.add(s)
			break
		}
		for tag := range strings.SplitSeq(s[1:end], `\`) {
			tag = strings.TrimSpace(tag)
			if v, ok := karaoke(tag); ok {
				b.time(timed)
				timed += v
				continue
			}
			a.override(c, b, tag, base, &drawing)
		}
		s = s[end+1:]
	}
	c.Lines = b.done(c.In)
}

// karaoke reads \k, \K, \kf and \ko: the length of the next syllable in
// hundredths of a second.
func karaoke(tag string) (timecode.Ticks, bool) {
	v := strings.TrimLeft(tag, "kK")
	if len(v) == len(tag) {
		return 0, false
	}
	n, ok := number(strings.TrimLeft(v, "fo"))
	return timecode.Ticks(n) * timecode.Second / 100, ok
}

func (a *assReader) override(c *Cue, b *runs, tag string, base Style, drawing *bool) {
	switch {
	case tag == "i1", tag == "i0":
		b.style.Italic = tag == "i1"
	case tag == "u1", tag == "u0":
		b.style.Underline = tag == "u1"
	case len(tag) > 1 && tag[0] == 'b' && digits(tag[1:]):
		b.style.Bold = tag != "b0"
	case strings.HasPrefix(tag, "1c"), strings.HasPrefix(tag, "c&"):
		b.style.Colour = assColour(strings.TrimLeft(tag, "1c"))
	case tag == "c":
		b.style.Colour = base.Colour
	case strings.HasPrefix(tag, "an") && len(tag) == 3:
		c.set("an", tag[2:])
	case len(tag) > 1 && tag[0] == 'p' && digits(tag[1:]):
		*drawing = tag != "p0"
	case tag == "r":
		b.style = base
	case len(tag) > 1 && tag[0] == 'r':
		b.style = a.styles[tag[1:]]
	}
}
