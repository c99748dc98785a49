package timedtext

import (
	"slices"
	"strings"

	"rushlight/pkg/timecode"
)

// vttClasses are the colour classes that WebVTT defines (section 5.1).
var vttClasses = []string{"white", "lime", "cyan", "red", "yellow", "magenta", "blue", "black"}

func (w *writer) writeVTT() {
	d := w.doc
	w.loseHead(true, false, true)
	w.vttLoseTime()
	title := strings.ReplaceAll(d.Title, "-->", "->")
	if title != d.Title {
		w.lose(lostTitle)
	}
	if title != "" {
		title = " - " + title
	}
	w.line("WEBVTT%s", title)
	if d.Metadata["STYLE"] != "" {
		for sheet := range strings.SplitSeq(d.Metadata["STYLE"], "\n\n") {
			w.line("\nSTYLE\n%s", strings.ReplaceAll(strings.TrimSpace(sheet), "-->", ""))
		}
	}
	for _, r := range d.Regions {
		w.line("\nREGION\nid:%s", r.ID)
		for _, k := range sortedKeys(r.Settings) {
			w.line("%s:%s", k, r.Settings[k])
		}
	}
	for _, c := range d.Comments {
		safe := strings.ReplaceAll(c, "-->", "->")
		if safe != c {
			w.lose(lostComments)
		}
		sep := " "
		if strings.Contains(safe, "\n") {
			sep = "\n"
		}
		w.line("\nNOTE%s%s", sep, safe)
	}
	for i := range d.Cues {
		w.vttCue(&d.Cues[i])
	}
}

func (w *writer) vttCue(c *Cue) {
	w.line("")
	if c.ID != "" && strings.Contains(c.ID, "-->") {
		w.lose(lostID)
	} else if c.ID != "" {
		w.line("%s", c.ID)
	}
	in, out := w.ends(c, timecode.Millisecond)
	settings := ""
	for _, k := range sortedKeys(c.Settings) {
		v := c.Settings[k]
		if !validSetting(k, v) || strings.ContainsAny(v, vttSpace) || strings.Contains(v, "-->") {
			w.lose(lostSettings)
			continue
		}
		settings += " " + k + ":" + v
	}
	w.line("%s --> %s%s", clock(in, '.'), clock(out, '.'), settings)
	voice := ""
	var b strings.Builder
	lines := w.compose(c, true)
	at := in
	for i, l := range lines {
		for j, r := range l {
			if r.Speaker != voice && voice != "" {
				b.WriteString("</v>")
			}
			if i > 0 && j == 0 {
				b.WriteByte('\n')
			}
			if r.Speaker != voice && r.Speaker != "" {
				b.WriteString("<v " + vttEscape(r.Speaker) + ">")
			}
			voice = r.Speaker
			at = w.vttRun(&b, r, at, in, out)
		}
	}
	if voice != "" {
		b.WriteString("</v>")
	}
	w.line("%s", b.String())
}

// vttRun writes one run with its style and inline times; at is the last time
// written.
func (w *writer) vttRun(b *strings.Builder, r Run, at, in, out timecode.Ticks) timecode.Ticks {
	var closing string
	for _, t := range []struct {
		on  bool
		tag string
	}{{r.Style.Italic, "i"}, {r.Style.Bold, "b"}, {r.Style.Underline, "u"}} {
		if t.on {
			b.WriteString("<" + t.tag + ">")
			closing = "</" + t.tag + ">" + closing
		}
	}
	if r.Style.Colour != "" {
		if slices.Contains(vttClasses, r.Style.Colour) {
			b.WriteString("<c." + r.Style.Colour + ">")
			closing = "</c>" + closing
		} else {
			w.lose(lostColour)
		}
	}
	text := r.Text
	for i, word := range r.Words {
		j := strings.Index(text, word.Text)
		t := w.round(word.In, timecode.Millisecond)
		if word.Out != NoTime {
			w.lose("word ends")
		}
		if j < 0 || word.Text == "" || t < at || t >= out || t <= in && i > 0 {
			w.lose(lostWords)
			continue
		}
		b.WriteString(vttEscape(text[:j]))
		if t > at {
			b.WriteString("<" + clock(t, '.') + ">")
			at = t
		}
		b.WriteString(vttEscape(word.Text))
		text = text[j+len(word.Text):]
	}
	b.WriteString(vttEscape(text) + closing)
	return at
}

var vttEscapes = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", "\u200e", "&lrm;", "\u200f", "&rlm;", "\u00a0", "&nbsp;")

func vttEscape(s string) string { return vttEscapes.Replace(s) }

// vttLoseTime is loseTime, but WebVTT has regions and style sheets.
func (w *writer) vttLoseTime() {
	d := *w.doc
	whole := w.doc
	d.Regions, d.Metadata = nil, nil
	w.doc = &d
	w.loseTime(false, false, false)
	w.doc = whole
	for k := range whole.Metadata {
		if k != "STYLE" {
			w.lose(lostMeta)
		}
	}
}
