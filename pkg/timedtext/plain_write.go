package timedtext

import (
	"fmt"
	"strings"

	"rushlight/pkg/timecode"
)

func (w *writer) writePlain() {
	d := w.doc
	w.loseHead(false, false, true)
	w.loseNames()
	labels := d.Labels && w.base.Rate.Known()
	w.loseTime(labels, labels && w.base == d.Base, false)
	for _, c := range d.Comments {
		if strings.Contains(c, "\n") || strings.HasPrefix(c, "#") {
			w.lose(lostComments)
		}
		w.line("# %s", strings.ReplaceAll(c, "\n", "\n# "))
	}
	if labels {
		w.line("# %s %s", worksheetRate, w.base)
	}
	stamp := w.plainStamp(labels)
	for i := range d.Cues {
		c := &d.Cues[i]
		w.loseCue(c, false)
		if c.ID != "" {
			w.lose(lostID)
		}
		if i > 0 || len(d.Comments) > 0 || labels {
			w.line("")
		}
		when := stamp(c.In)
		if !c.OpenEnd && c.Out != NoTime {
			when += " - " + stamp(c.Out)
			if c.Out <= c.In {
				w.lose(lostBackward)
			}
		}
		fmt.Fprintf(w, "[%s] ", when)
		lines := w.compose(c, false)
		if _, rest, ok := splitLabel(lines[0].Plain()); ok && rest == "" && len(lines) == 1 {
			w.lose(lostLabels)
		}
		for _, l := range lines {
			for _, r := range l {
				if r.Style != (Style{}) {
					w.lose(lostStyle)
				}
			}
			text := l.Plain()
			_, _, _, lead := leadLine(text)
			if _, _, _, inner := innerStamp(text); lead || inner {
				w.lose("times inside the text")
			}
			w.line("%s", text)
		}
	}
}

// plainStamp gives the writing of times: labels, or clock times.
func (w *writer) plainStamp(labels bool) func(timecode.Ticks) string {
	if !labels {
		return func(t timecode.Ticks) string { return clock(w.round(t, timecode.Millisecond), '.') }
	}
	return func(t timecode.Ticks) string {
		n := w.base.Rate.Frame(t, timecode.Nearest)
		if w.base.Rate.Ticks(n) != t {
			w.lose(lostRounded)
		}
		if n < 0 || n >= w.base.FramesPerDay() {
			w.lose("times beyond the day of the timecode")
		}
		return w.base.Label(n)
	}
}
