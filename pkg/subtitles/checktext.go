package subtitles

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"rushlight/pkg/timedtext"
)

// breaks looks for lines and cues that end in a word that holds to the next.
func (k *checker) breaks(cues []timedtext.Cue, i int) {
	c := cues[i]
	lines := make([]string, 0, len(c.Lines))
	for _, l := range c.Lines {
		lines = append(lines, strings.TrimSpace(l.Plain()))
	}
	for n := 1; n < len(lines); n++ {
		if len(c.Lines[n]) > 0 && c.Lines[n][0].Dash || strings.HasPrefix(lines[n], "-") || strings.HasPrefix(lines[n], "–") {
			continue // another speaker's line
		}
		if a, b, bad := k.badBreak(lines[n-1], lines[n]); bad && k.avoidable(lines[n-1], lines[n]) {
			k.add(RuleBreak, Advice, "line %d parts %q from %q; want a break at the highest syntactic node (Karamitroglou 1998)", n, a, b)
		}
	}
	if i+1 >= len(cues) || len(lines) == 0 || otherSpeaker(c, cues[i+1]) {
		return
	}
	if a, b, bad := k.badBreak(lines[len(lines)-1], strings.TrimSpace(cues[i+1].Lines[0].Plain())); bad {
		k.add(RuleBreak, Advice, "the cue parts %q from %q; want a break at the highest syntactic node (Karamitroglou 1998)", a, b)
	}
}

// otherSpeaker tells whether the next cue is, as far as is known, somebody
// else's.
func otherSpeaker(c, next timedtext.Cue) bool {
	if len(next.Lines) == 0 || len(next.Lines[0]) == 0 || next.Lines[0][0].Dash {
		return true
	}
	return c.Speaker() != next.Speaker()
}

// badBreak judges the break between two lines.
func (k *checker) badBreak(upper, lower string) (a, b string, bad bool) {
	ta, tb := tokenize(upper), tokenize(lower)
	if len(ta) == 0 || len(tb) == 0 {
		return "", "", false
	}
	n := len(ta)
	return ta[n-1].text, tb[0].text, k.g.breakCost(append(ta, tb[0]), n) >= badBreak
}

// avoidable tells whether two lines could be broken at a better place.
func (k *checker) avoidable(upper, lower string) bool {
	t := newText(append(tokenize(upper), tokenize(lower)...), k.g, k.lim)
	starts, _, ok := t.inLines(0, len(t.tokens), 2)
	return ok && t.cost[starts[0]] < badBreak
}

// leftover matches styling that was meant for a player and stayed in the text.
var leftover = regexp.MustCompile(`(?i)</?(?:i|b|u|font|c|v)(?:[ .][^<>]*)?>|\{\\[^{}]*\}|&(?:lt|gt|amp|nbsp);`)

// markup looks for styling that viewers would see as signs, and for italics
// that begin or end inside a word. Common practice, no source.
func (k *checker) markup(c timedtext.Cue) {
	if m := leftover.FindString(c.Plain()); m != "" {
		k.add(RuleItalics, Wrong, "viewers see %q as text; want styling closed and understood", m)
	}
	for _, l := range c.Lines {
		for n := 1; n < len(l); n++ {
			a, _ := utf8.DecodeLastRuneInString(l[n-1].Text)
			b, _ := utf8.DecodeRuneInString(l[n].Text)
			if l[n-1].Style.Italic != l[n].Style.Italic && unicode.IsLetter(a) && unicode.IsLetter(b) {
				k.add(RuleItalics, Advice, "italics change inside a word, between %q and %q", l[n-1].Text, l[n].Text)
			}
		}
	}
}
