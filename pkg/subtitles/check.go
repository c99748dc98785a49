package subtitles

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// tolerance allows for files that keep whole milliseconds.
const tolerance = timecode.Millisecond

// offFrame is how far from a frame a time may be written that means it: SSA and
// ASS keep hundredths of a second.
const offFrame = 5 * timecode.Millisecond

// Check lists what breaks the limits, in the order of the cues. A nil document
// or one without cues has nothing to find. Reading speeds count the text with
// its spaces, without styling; the break between lines counts as one space.
func Check(doc *timedtext.Document, lim Limits) []Finding {
	if doc == nil {
		return nil
	}
	k := checker{lim: lim, g: grammarOf(lim.Language), labels: showsLabels(doc.Format)}
	for i, c := range doc.Cues {
		k.cue, k.name, k.at = i+1, nameOf(doc.Cues, i), c.In
		timed := k.order(doc.Cues, i)
		if k.empty(c) {
			continue
		}
		k.lines(c)
		k.breaks(doc.Cues, i)
		k.markup(c)
		if timed {
			k.duration(c)
			k.speed(c)
			k.gap(doc.Cues, i)
			k.frame(c)
		}
	}
	return k.found
}

type checker struct {
	lim   Limits
	g     grammar
	cue   int
	name  string
	at    timecode.Ticks
	found []Finding
	// labels tells that the format puts speakers' names before the text.
	labels bool
}

// showsLabels tells whether a format has names of speakers as text only, so
// that viewers see them. WebVTT, TTML, ASS and the rest hold them apart.
func showsLabels(f timedtext.Format) bool {
	return f == timedtext.SRT || f == timedtext.STL
}

// screen is the cue's lines as viewers see them, with dashes and labels.
func (k *checker) screen(c timedtext.Cue) []string {
	lines := make([]string, 0, len(c.Lines))
	speaker := ""
	for _, l := range c.Lines {
		prefix := ""
		if len(l) > 0 {
			if l[0].Dash {
				prefix, speaker = dash, ""
			}
			if k.labels && l[0].Speaker != "" && l[0].Speaker != speaker {
				prefix += l[0].Speaker + ": "
			}
			speaker = l[0].Speaker
		}
		lines = append(lines, prefix+l.Plain())
	}
	return lines
}

// nameOf is the number that a file gives a cue, and where it gives none its
// place, from 1.
func nameOf(cues []timedtext.Cue, i int) string {
	if id := cues[i].ID; id != "" && strings.Trim(id, "0123456789") == "" {
		return id
	}
	return strconv.Itoa(i + 1)
}

func (k *checker) add(rule string, how Severity, format string, args ...any) {
	k.found = append(k.found, Finding{Cue: k.cue, Name: k.name, At: k.at, Rule: rule, What: fmt.Sprintf(format, args...), Severity: how})
}

// order checks that time runs forwards; it tells whether the cue has a length.
func (k *checker) order(cues []timedtext.Cue, i int) bool {
	c := cues[i]
	if i > 0 && c.In < cues[i-1].In {
		k.add(RuleOrder, Wrong, "comes in at %s, before the cue ahead of it at %s; want cues in order of time", c.In, cues[i-1].In)
	}
	if c.Out == timedtext.NoTime {
		k.add(RuleOrder, Wrong, "has no out time; want one")
		return false
	}
	if c.Empty() {
		k.add(RuleOrder, Wrong, "goes out at %s, not after its in at %s", c.Out, c.In)
		return false
	}
	return true
}

func (k *checker) empty(c timedtext.Cue) bool {
	if strings.TrimSpace(c.Plain()) != "" {
		return false
	}
	k.add(RuleEmpty, Wrong, "has no text")
	return true
}

func (k *checker) lines(c timedtext.Cue) {
	if k.lim.Lines > 0 && len(c.Lines) > k.lim.Lines {
		k.add(RuleLines, Warning, "%d lines, want at most %d (Ivarsson & Carroll 1998)", len(c.Lines), k.lim.Lines)
	}
	for n, l := range k.screen(c) {
		w := width(l, k.lim.Language)
		if k.lim.LineLength > 0 && w > k.lim.LineLength {
			k.add(RuleLineLength, Warning, "line %d has %d characters, want at most %d (%s)", n+1, w, k.lim.LineLength, lineSource(k.lim))
		}
		if strings.TrimSpace(l) == "" {
			k.add(RuleEmpty, Advice, "line %d is blank", n+1)
		}
	}
}

func lineSource(lim Limits) string {
	if wide(lim.Language) {
		return "full widths; common practice, no source"
	}
	if lim.LineLength == 40 {
		return "Karamitroglou 1998"
	}
	return "as asked"
}

func (k *checker) duration(c timedtext.Cue) {
	d := c.Length()
	if k.lim.MinDuration > 0 && d < k.lim.MinDuration-tolerance {
		k.add(RuleMinDuration, Warning, "stands %.2f s, want at least %.2f s (Ivarsson & Carroll 1998: 1 s)", d.Seconds(), k.lim.MinDuration.Seconds())
	}
	if k.lim.MaxDuration > 0 && d > k.lim.MaxDuration+tolerance {
		k.add(RuleMaxDuration, Warning, "stands %.2f s, want at most %.2f s (Ivarsson & Carroll 1998: 7 s)", d.Seconds(), k.lim.MaxDuration.Seconds())
	}
}

func (k *checker) speed(c timedtext.Cue) {
	seconds := (c.Length() + tolerance).Seconds()
	chars := width(strings.Join(k.screen(c), " "), k.lim.Language)
	if s := float64(chars) / seconds; k.lim.ReadingSpeed > 0 && s > k.lim.ReadingSpeed {
		k.add(RuleSpeed, Warning, "%.1f characters/s, want at most %g (%s)", math.Ceil(s*10)/10, k.lim.ReadingSpeed, speedSource(k.lim))
	}
	words := spokenWords(c.Plain())
	if w := float64(words) * 60 / seconds; k.lim.WordsPerMinute > 0 && words > 2 && w > k.lim.WordsPerMinute {
		k.add(RuleWordSpeed, Warning, "%.0f words/min, want at most %g (Ofcom: above 200 is difficult)", math.Ceil(w), k.lim.WordsPerMinute)
	}
}

func speedSource(lim Limits) string {
	if primary(lim.Language) == "es" && lim.ReadingSpeed == 15 {
		return "UNE 153010:2012"
	}
	return "common practice; most viewers cope with 20, Szarkowska & Gerber-Morón 2018"
}

// spokenWords counts what has a letter or digit, as a draft does.
func spokenWords(s string) int {
	return countWords(tokenize(s))
}

func (k *checker) gap(cues []timedtext.Cue, i int) {
	if i == 0 || cues[i-1].Out == timedtext.NoTime || cues[i-1].Empty() {
		return
	}
	before, c := cues[i-1].Out, cues[i]
	if c.In < cues[i-1].In {
		return // said already: out of order
	}
	if c.In < before {
		k.add(RuleOverlap, Warning, "comes in %.2f s before cue %s goes out; want one cue at a time", (before - c.In).Seconds(), nameOf(cues, i-1))
		return
	}
	rate := k.lim.Base.Rate
	if !rate.Known() {
		rate = timecode.Rate25
	}
	if n := framesBetween(rate, before, c.In); n < k.lim.Gap {
		frames := "frames"
		if n == 1 {
			frames = "frame"
		}
		k.add(RuleGap, Warning, "%d %s after cue %s, want at least %d (common practice; Ivarsson & Carroll 1998: 4)", n, frames, nameOf(cues, i-1), k.lim.Gap)
	}
}

// framesBetween is how many whole frames lie from a to b. Times that are written
// for a frame count as that frame.
func framesBetween(rate timecode.Rate, a, b timecode.Ticks) int64 {
	for _, t := range []*timecode.Ticks{&a, &b} {
		if on := rate.Snap(*t, timecode.Nearest); *t-on <= offFrame && on-*t <= offFrame {
			*t = on
		}
	}
	return rate.Frame(b-a+tolerance, timecode.Floor)
}

// frame checks that times lie on frames, as far as the file can tell.
func (k *checker) frame(c timedtext.Cue) {
	rate := k.lim.Base.Rate
	if !rate.Known() {
		return
	}
	for _, x := range []struct {
		name string
		t    timecode.Ticks
	}{{"in", c.In}, {"out", c.Out}} {
		off, side := x.t-rate.Snap(x.t, timecode.Nearest), "after"
		if off < 0 {
			off, side = -off, "before"
		}
		if off > offFrame {
			k.add(RuleFrame, Advice, "its %s at %s lies %d ms %s a frame, want a whole frame at %s frames/s", x.name, x.t, off.Millis(timecode.Nearest), side, k.lim.Base)
		}
	}
}
