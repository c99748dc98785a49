package timedtext

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Speaker labels are common practice, no source: a name in front of the text
// with a colon ("INES:", "Ines Corrigan:"), in square brackets ("[Ines]"), or
// a dash for "somebody else". A label has at most four words, each beginning
// with a capital (or a digit after the first, or a small particle of a name).

const maxLabel = 40 // letters

var particles = []string{"de", "del", "der", "den", "van", "von", "of", "la", "le", "du", "da", "di", "dos", "al", "bin", "ibn", "ter", "zu", "und", "and", "y", "&"}

// notNames begin sentences that have a colon but no speaker.
var notNames = []string{
	"note", "notes", "ps", "nb", "example", "warning", "caution", "and", "but", "so", "or", "well", "yes", "no", "ok", "okay", "here",
	"today", "tomorrow", "remember", "the", "a", "an", "i", "it", "its", "this", "that", "these", "those", "then", "now", "first", "second",
	"third", "finally", "http", "https", "what", "why", "how", "when", "where", "because", "also", "still", "listen", "look", "think",
	"imagine", "my", "your", "his", "her", "our", "their", "there", "time", "source", "update", "result", "answer", "question", "total",
	"thus", "hence", "therefore", "meanwhile", "again", "maybe", "perhaps", "sorry", "thanks", "please", "see", "wait", "anyway", "only", "just",
}

// notSpeakers stand in brackets for a sound, not for a person.
var notSpeakers = []string{
	"music", "song", "singing", "sings", "laughter", "laughs", "laughing", "applause", "silence", "pause", "inaudible", "unintelligible",
	"unclear", "crosstalk", "noise", "cough", "coughs", "coughing", "sigh", "sighs", "bell", "bells", "ring", "rings", "wind", "engine",
	"door", "phone", "cheering", "crying", "indistinct", "background", "sound", "sounds", "speaking", "foreign", "off-mic", "blank", "end",
	"beep", "horn", "birds", "traffic", "footsteps", "whistle", "breath", "breathes", "whispers", "chuckles", "clears", "overlap",
}

// splitLabel takes a speaker label off the front of s.
func splitLabel(s string) (speaker, rest string, ok bool) {
	head := s
	if len(head) > 4*maxLabel {
		head = head[:4*maxLabel]
	}
	switch {
	case strings.HasPrefix(s, "["):
		return bracketLabel(s)
	case strings.HasPrefix(s, "**"):
		return boldLabel(s)
	}
	i, wide := strings.IndexByte(head, ':'), strings.Index(head, "：")
	switch {
	case wide > 0 && (i < 0 || wide < i):
		// East Asian width: no space after it.
		i, rest = wide, s[wide+len("："):]
	case i <= 0:
		return "", s, false
	default:
		rest = s[i+1:]
		if r, _ := utf8.DecodeRuneInString(rest); rest != "" && !unicode.IsSpace(r) {
			return "", s, false
		}
		wide = -1
	}
	// French has a space before the colon.
	name, aside := strings.TrimRight(s[:i], " \u00a0\u202f"), ""
	if wide > 0 && isCaseless(name) {
		return name, strings.TrimLeftFunc(rest, unicode.IsSpace), true
	}
	if p := strings.IndexByte(name, '('); p > 0 && strings.HasSuffix(name, ")") {
		name, aside = strings.TrimRight(name[:p], " "), name[p:]
	}
	if !isName(name) {
		return "", s, false
	}
	rest = strings.TrimLeftFunc(rest, unicode.IsSpace)
	if aside != "" {
		rest = strings.TrimRight(aside+" "+rest, " ")
	}
	return name, rest, true
}

// bracketLabel takes "[Ines] text" and "[Ines]: text"; a bracket without text
// after it is a sound, not a speaker.
func bracketLabel(s string) (speaker, rest string, ok bool) {
	i := strings.IndexByte(s, ']')
	if i < 2 || i > 4*maxLabel {
		return "", s, false
	}
	name := s[1:i]
	rest = strings.TrimLeftFunc(strings.TrimPrefix(s[i+1:], ":"), unicode.IsSpace)
	if rest == "" || !isName(name) {
		return "", s, false
	}
	for w := range strings.FieldsSeq(strings.ToLower(name)) {
		if slices.Contains(notSpeakers, strings.Trim(w, ".,")) {
			return "", s, false
		}
	}
	return name, rest, true
}

// boldLabel takes "**Ines:** text" and "**Ines**: text", as text with marks for
// bold has it.
func boldLabel(s string) (speaker, rest string, ok bool) {
	i := strings.Index(s[2:], "**")
	if i < 1 || i > 4*maxLabel {
		return "", s, false
	}
	inner, after := s[2:2+i], s[4+i:]
	name := strings.TrimSuffix(inner, ":")
	if name == inner {
		if after, ok = strings.CutPrefix(after, ":"); !ok {
			return "", s, false
		}
	}
	if !isName(name) {
		return "", s, false
	}
	return name, strings.TrimLeftFunc(after, unicode.IsSpace), true
}

// isCaseless tells whether s can be a name in a script without capitals.
func isCaseless(s string) bool {
	n := 0
	for _, r := range s {
		if !unicode.Is(unicode.Lo, r) && r != 'ー' && r != '・' && r != '·' {
			return false
		}
		n++
	}
	return n > 0 && n <= 12
}

// isName tells whether s can be a speaker's name in a label.
func isName(s string) bool {
	if s == "" || s != strings.TrimSpace(s) || utf8.RuneCountInString(s) > maxLabel || strings.Contains(s, "  ") {
		return false
	}
	words := strings.Split(s, " ")
	if len(words) > 4 || slices.Contains(notNames, strings.ToLower(words[0])) && !strings.ContainsAny(s, "0123456789") && !(len(words) == 1 && len(s) == 1) {
		return false
	}
	for i, w := range words {
		first, _ := utf8.DecodeRuneInString(w)
		switch {
		case unicode.IsUpper(first), unicode.IsTitle(first):
		case i > 0 && unicode.IsDigit(first):
		case i > 0 && i < len(words)-1 && slices.Contains(particles, w):
		default:
			return false
		}
		for _, r := range w {
			if !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.IsMark(r) && !strings.ContainsRune(".'’-_#&/", r) {
				return false
			}
		}
	}
	return true
}

// splitDash takes a dialogue dash off the front of s: "- Hello", "– Hello",
// "-Hello" (before a capital only), ">> Hello".
func splitDash(s string) (rest string, ok bool) {
	for _, d := range []string{"-", "–", "—", "‐", ">>"} {
		after, found := strings.CutPrefix(s, d)
		if !found {
			continue
		}
		trimmed := strings.TrimLeft(after, " \u00a0")
		r, _ := utf8.DecodeRuneInString(trimmed)
		if trimmed == "" || strings.ContainsRune("-–—>", r) {
			return s, false
		}
		if len(trimmed) < len(after) || unicode.IsUpper(r) {
			return trimmed, true
		}
	}
	return s, false
}

// markSpeakers moves speaker labels and dialogue dashes from the text of a cue
// into its runs, where the format named no speaker. A speaker carries on
// within the cue only.
func markSpeakers(c *Cue) {
	for _, l := range c.Lines {
		for _, r := range l {
			if r.Speaker != "" || r.Dash {
				return
			}
		}
	}
	speaker := ""
	for i, l := range c.Lines {
		if len(l) == 0 {
			continue
		}
		first := &l[0]
		text := strings.TrimLeft(first.Text, " \u00a0")
		rest, dash := splitDash(text)
		if dash {
			speaker = ""
			first.Dash = true
			first.cut(len(first.Text) - len(rest))
			text = rest
		}
		name, rest, ok := splitLabel(text)
		if ok && rest == "" && len(l) == 1 && !speaksOn(c.Lines[i+1:]) {
			ok = false // nothing follows that the name could say
		}
		if ok {
			if speaker = name; strings.HasSuffix(first.Text, rest) {
				first.cut(len(first.Text) - len(rest))
			} else {
				first.Text, first.Words = rest, nil
			}
			if first.Text == "" && len(l) > 1 {
				l[1].cut(len(l[1].Text) - len(strings.TrimLeft(l[1].Text, " ")))
				l[1].Dash, first.Dash = first.Dash, false
			}
		}
		for j := range l {
			c.Lines[i][j].Speaker = speaker
		}
	}
}

// cut takes n bytes off the front of the run, and the words that were there.
func (r *Run) cut(n int) {
	gone := r.Text[:n]
	r.Text = r.Text[n:]
	for len(r.Words) > 0 && gone != "" {
		w := &r.Words[0]
		gone = strings.TrimLeft(gone, " \u00a0")
		if gone == "" {
			return
		}
		if strings.HasPrefix(gone, w.Text) {
			gone = gone[len(w.Text):]
			r.Words = r.Words[1:]
			continue
		}
		gone = strings.TrimRight(gone, " \u00a0")
		if rest, ok := strings.CutPrefix(w.Text, gone); ok {
			w.Text = strings.TrimLeft(rest, " \u00a0")
		}
		return
	}
}

func blank(s string) bool { return strings.TrimSpace(s) == "" }

// speaksOn tells whether lines begin with speech that has no label or dash of
// its own.
func speaksOn(lines []Line) bool {
	if len(lines) == 0 || len(lines[0]) == 0 {
		return false
	}
	text := strings.TrimLeft(lines[0][0].Text, " \u00a0")
	_, dash := splitDash(text)
	_, _, label := splitLabel(text)
	return !dash && !label
}

// dropBareLabels leaves out the cues that hold nothing but the label of somebody
// who speaks elsewhere: what is left where the words were taken out. Formats
// that have the speaker in a place of its own hold no labels.
func (rd *reader) dropBareLabels() {
	d := rd.doc
	if d.Format == JSON || d.Format == CSV || d.Format == PlainText {
		return
	}
	names := map[string]bool{}
	for _, c := range d.Cues {
		for _, l := range c.Lines {
			for _, r := range l {
				names[r.Speaker] = true
			}
		}
	}
	d.Cues = slices.DeleteFunc(d.Cues, func(c Cue) bool {
		for _, l := range c.Lines {
			name, rest, ok := splitLabel(strings.TrimSpace(l.Plain()))
			if !ok || rest != "" || !names[name] || l[0].Speaker != "" || l[0].Dash {
				return false
			}
		}
		if len(c.Lines) > 0 {
			rd.repairAt(&c, "a name without words: the cue is left out")
		}
		return len(c.Lines) > 0
	})
}
