package timedtext

import (
	"slices"
	"strings"

	"rushlight/pkg/timecode"
)

// runs collects the lines of a cue while its markup is read. style and speaker
// hold for the text added next.
type runs struct {
	lines   []Line
	cur     Line
	style   Style
	speaker string
	// at is the last inline time, NoTime before the first.
	at    timecode.Ticks
	timed bool

	// chunk is text not yet in a run; like says what run it goes to.
	chunk []byte
	like  Run
}

func newRuns() *runs { return &runs{at: NoTime} }

// add puts text at the end; \n begins a new line.
func (b *runs) add(s string) {
	for {
		part, rest, more := strings.Cut(s, "\n")
		if part != "" {
			if b.like.Style != b.style || b.like.Speaker != b.speaker {
				b.flush()
				b.like = Run{Style: b.style, Speaker: b.speaker}
			}
			b.chunk = append(b.chunk, part...)
		}
		if !more {
			return
		}
		b.flush()
		b.lines = append(b.lines, b.cur)
		b.cur = nil
		s = rest
	}
}

// begun tells whether the current line has text.
func (b *runs) begun() bool { return len(b.cur) > 0 || len(b.chunk) > 0 }

func (b *runs) flush() {
	if len(b.chunk) == 0 {
		return
	}
	s := string(b.chunk)
	b.chunk = b.chunk[:0]
	n := len(b.cur)
	if n == 0 || b.cur[n-1].Style != b.like.Style || b.cur[n-1].Speaker != b.like.Speaker {
		b.cur = append(b.cur, b.like)
		n++
	}
	r := &b.cur[n-1]
	r.Text += s
	if word := strings.TrimSpace(s); word != "" {
		r.Words = append(r.Words, Word{Text: word, Span: timecode.Span{In: b.at, Out: NoTime}})
	}
}

// time sets the inline time of the text that follows.
func (b *runs) time(t timecode.Ticks) {
	b.flush()
	b.at, b.timed = t, true
}

// done gives the lines; the words of a cue without inline times are dropped,
// and text before the first one begins with the cue.
func (b *runs) done(in timecode.Ticks) []Line {
	b.flush()
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
