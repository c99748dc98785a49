package timedtext

import (
	"fmt"
	"strings"

	"rushlight/pkg/timecode"
)

const assHeader = `ScriptType: v4.00+
PlayResX: 1920
PlayResY: 1080
WrapStyle: 0
ScaledBorderAndShadow: yes

[V4+ Styles]
Format: Name, Fontname, Fontsize, PrimaryColour, SecondaryColour, OutlineColour, BackColour, Bold, Italic, Underline, StrikeOut, ScaleX, ScaleY, Spacing, Angle, BorderStyle, Outline, Shadow, Alignment, MarginL, MarginR, MarginV, Encoding
Style: Default,sans-serif,60,&H00FFFFFF,&H00FFFFFF,&H00000000,&H80000000,0,0,0,0,100,100,0,0,1,3,0,2,60,60,50,1

[Events]
Format: Layer, Start, End, Style, Name, MarginL, MarginR, MarginV, Effect, Text
`

// centisecond is the finest time of ASS.
const centisecond = timecode.Second / 100

func (w *writer) writeASS() {
	d := w.doc
	w.loseHead(true, true, true)
	w.loseTime(false, false, false)
	w.line("[Script Info]")
	for _, c := range d.Comments {
		if strings.Contains(c, "\n") || strings.HasPrefix(c, ";") || strings.HasPrefix(c, "!") || strings.HasPrefix(c, ":") {
			w.lose(lostComments)
		}
		w.line("; %s", strings.ReplaceAll(c, "\n", " "))
	}
	if d.Title != "" {
		w.line("Title: %s", d.Title)
	}
	if d.Language != "" {
		w.line("Language: %s", d.Language)
	}
	w.WriteString(assHeader)
	for i := range d.Cues {
		w.assCues(&d.Cues[i])
	}
}

// assCues writes a cue as one Dialogue line for each speaker in it, since a
// line has one name.
func (w *writer) assCues(c *Cue) {
	w.loseCue(c, false, "an", "layer")
	if c.ID != "" {
		w.lose(lostID)
	}
	in, out := w.ends(c, centisecond)
	var part []Line
	parts := 0
	flush := func() {
		if len(part) == 0 {
			return
		}
		if parts++; parts == 2 {
			w.lose("cues with several speakers: one line each")
		}
		w.assLine(c, part, in, out)
		part = nil
	}
	for _, l := range c.Lines {
		for j, r := range l {
			if len(part) > 0 && speakerOf(part) != r.Speaker {
				flush()
			}
			if len(part) == 0 || j == 0 {
				part = append(part, nil)
			}
			n := len(part) - 1
			part[n] = append(part[n], r)
		}
	}
	flush()
}

func speakerOf(lines []Line) string { return lines[0][0].Speaker }

func (w *writer) assLine(c *Cue, lines []Line, in, out timecode.Ticks) {
	name := speakerOf(lines)
	if strings.ContainsAny(name, ",") {
		w.lose("commas in names: replaced")
		name = strings.ReplaceAll(name, ",", ";")
	}
	var b strings.Builder
	if an := c.Settings["an"]; an != "" {
		b.WriteString(`{\an` + an + `}`)
	}
	part := Cue{Lines: w.cleanLines(lines)}
	for i, l := range w.compose(&part, true) {
		if i > 0 {
			b.WriteString(`\N`)
		}
		for _, r := range l {
			open, closing := w.assTags(r.Style)
			b.WriteString(open + w.assEscape(r.Text) + closing)
		}
	}
	layer := c.Settings["layer"]
	if !digits(layer) {
		layer = "0"
	}
	w.line("Dialogue: %s,%s,%s,Default,%s,0,0,0,,%s", layer, assTime(in), assTime(out), name, b.String())
}

func assTime(t timecode.Ticks) string {
	cs := int64(t / centisecond)
	return fmt.Sprintf("%d:%02d:%02d.%02d", cs/360_000, cs/6000%60, cs/100%60, cs%100)
}

func (w *writer) assTags(s Style) (open, closing string) {
	for _, t := range []struct {
		on  bool
		tag string
	}{{s.Italic, "i"}, {s.Bold, "b"}, {s.Underline, "u"}} {
		if t.on {
			open += `{\` + t.tag + `1}`
			closing += `{\` + t.tag + `0}`
		}
	}
	if s.Colour != "" {
		hex := s.Colour
		if named, ok := colourHex[hex]; ok {
			w.lose("names of colours: written as numbers")
			hex = named
		}
		if len(hex) == 7 {
			open += `{\1c&H` + strings.ToUpper(hex[5:7]+hex[3:5]+hex[1:3]) + `&}`
			closing += `{\c}`
		}
	}
	return open, closing
}

// colourHex has the CSS values of the colour names.
var colourHex = map[string]string{
	"white": "#ffffff", "lime": "#00ff00", "cyan": "#00ffff", "red": "#ff0000", "yellow": "#ffff00", "magenta": "#ff00ff", "blue": "#0000ff", "black": "#000000",
	"green": "#008000", "silver": "#c0c0c0", "gray": "#808080", "maroon": "#800000", "olive": "#808000", "purple": "#800080", "teal": "#008080", "navy": "#000080",
	"orange": "#ffa500", "aqua": "#00ffff", "fuchsia": "#ff00ff",
}

// assEscape guards braces; a backslash before a letter that means something
// gets a word joiner after it.
func (w *writer) assEscape(s string) string {
	if !strings.ContainsAny(s, "{}\\\u00a0") {
		return s
	}
	var b strings.Builder
	for i, r := range s {
		switch r {
		case '{', '}':
			b.WriteByte('\\')
			b.WriteRune(r)
		case '\\':
			b.WriteByte('\\')
			if next := s[i+1:]; next == "" || strings.ContainsRune("Nnh{}", rune(next[0])) {
				w.lose("backslashes before a letter with a meaning")
				b.WriteRune('\u2060')
			}
		case '\u00a0':
			b.WriteString(`\h`)
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
