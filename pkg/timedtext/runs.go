package timedtext

import (
	"slices"
	"strings"

	"rushlight/pkg/timecode"
)

// runs collects the lines of a cue while its markup is read.
type runs struct {
	lines   []Line
	cur     Line
	style   Style
	speaker string
	// at is the last inline time, NoTime before the first.
	at timecode.Ticks
	// fresh tells that an inline time stands right before the next text.
	fresh bool
	timed bool
}

func newRuns() *runs { return &runs{at: NoTime} }

// add puts text at the end; \n begins a new line.
func (b *runs) add(s string) {
	for {
		part, rest, more := strings.Cut(s, "\n")
		b.part(part)
		if !more {
			return
		}
		b.lines = append(b.lines, b.cur)
		b.cur = nil
		s = rest
	}
}

func (b *runs) part(s string) {
	if s == "" {
		return
	}
	n := len(b.cur)
	joins := n > 0 && b.cur[n-1].Style == b.style && b.cur[n-1].Speaker == b.speaker
	if !joins {
		b.cur = append(b.cur, Run{Style: b.style, Speaker: b.speaker})
		n++
	}
	r := &b.cur[n-1]
	r.Text += s
	if word := strings.TrimSpace(s); word != "" {
		if w := len(r.Words); joins && w > 0 && !b.fresh {
			// More of the same timed stretch: its text is what lies between.
			from := strings.LastIndex(r.Text[:len(r.Text)-len(s)], r.Words[w-1].Text)
			r.Words[w-1].Text = strings.TrimSpace(r.Text[max(from, 0):])
		} else {
			r.Words = append(r.Words, Word{Text: word, Span: timecode.Span{In: b.at, Out: NoTime}})
		}
		b.fresh = false
	}
}

// time sets the inline time of the text that follows.
func (b *runs) time(t timecode.Ticks) {
	b.at, b.fresh, b.timed = t, true, true
}

// done gives the lines; the words of a cue without inline times are dropped,
// and text before the first one begins with the cue.
func (b *runs) done(in timecode.Ticks) []Line {
	lines := append(b.lines, b.cur)
	for _, l := range lines {
		for i := range l {
			if !b.timed {
				l[i].Words = nil
				continue
			}
			for w := range l[i].Words {
				if l[i].Words[w].In == NoTime {
					l[i].Words[w].In = in
				}
			}
		}
	}
	return lines
}

// colourNames are those that formats share by name (CSS, WebVTT's default
// classes, teletext).
var colourNames = []string{"white", "lime", "cyan", "red", "yellow", "magenta", "blue", "black", "green", "silver", "gray", "maroon", "olive", "purple", "teal", "navy", "orange", "aqua", "fuchsia"}

// colour puts a colour in the one form of Style.Colour: a name in small
// letters, or #rrggbb; "" if it is not understood.
func colour(s string) string {
	s = strings.ToLower(strings.Trim(strings.TrimSpace(s), `"'`))
	if hex, ok := strings.CutPrefix(s, "#"); ok {
		if len(hex) == 3 {
			hex = string([]byte{hex[0], hex[0], hex[1], hex[1], hex[2], hex[2]})
		}
		if len(hex) == 8 {
			hex = hex[:6]
		}
		if len(hex) != 6 || strings.Trim(hex, "0123456789abcdef") != "" {
			return ""
		}
		return "#" + hex
	}
	if slices.Contains(colourNames, s) {
		return s
	}
	return ""
}
