package timedtext

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"rushlight/pkg/timecode"
)

func (w *writer) writeSRT() {
	w.loseHead(false, false, false)
	w.loseTime(false, false, false)
	for i := range w.doc.Cues {
		c := &w.doc.Cues[i]
		w.loseCue(c, false, "an")
		if c.ID != "" && c.ID != strconv.Itoa(i+1) {
			w.lose(lostID)
		}
		in, out := w.ends(c, timecode.Millisecond)
		if i > 0 {
			w.line("")
		}
		w.line("%d", i+1)
		w.line("%s --> %s", clock(in, ','), clock(out, ','))
		for j, l := range w.compose(c, false) {
			var b strings.Builder
			if an := c.Settings["an"]; j == 0 && an != "" {
				b.WriteString(`{\an` + an + `}`)
			}
			for _, r := range l {
				open, close := srtTags(r.Style)
				b.WriteString(open + srtEscape(r.Text) + close)
			}
			w.line("%s", srtGuard(b.String()))
		}
	}
}

func srtTags(s Style) (open, close string) {
	for _, t := range []struct {
		on  bool
		tag string
	}{{s.Italic, "i"}, {s.Bold, "b"}, {s.Underline, "u"}} {
		if t.on {
			open += "<" + t.tag + ">"
			close = "</" + t.tag + ">" + close
		}
	}
	if s.Colour != "" {
		open += `<font color="` + s.Colour + `">`
		close = "</font>" + close
	}
	return open, close
}

// srtEscape leaves text as it is, except for what a reader would take for
// markup: SRT has no escapes of its own, so as little as can be.
func srtEscape(s string) string {
	if !strings.ContainsAny(s, "<&{") {
		return s
	}
	var b strings.Builder
	probe := srtText{runs: newRuns(), reader: &reader{doc: &Document{}}}
	for i := range len(s) {
		switch {
		case s[i] == '<' && probe.tag(s[i:], 0) > 0:
			b.WriteString("&lt;")
		case s[i] == '{' && strings.HasPrefix(s[i:], `{\`):
			b.WriteString("&#123;")
		case s[i] == '&':
			if _, n := entity(s[i:]); n > 0 {
				b.WriteString("&amp;")
			} else {
				b.WriteByte('&')
			}
		default:
			b.WriteByte(s[i])
		}
	}
	return b.String()
}

// srtGuard keeps a line of text from being read as a line of times.
func srtGuard(line string) string {
	probe := &srtReader{reader: &reader{doc: &Document{}}}
	if _, ok, err := probe.times(line, 0); !ok && err == nil {
		return line
	}
	for i, r := range line {
		if strings.ContainsRune(">＞→⟶➔➜⇒", r) {
			return fmt.Sprintf("%s&#%d;%s", line[:i], r, line[i+utf8.RuneLen(r):])
		}
	}
	return line
}
