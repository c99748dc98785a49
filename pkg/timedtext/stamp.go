package timedtext

import (
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"
)

// stamp is a time, or two, as somebody typed it into text.
type stamp struct {
	in, out string // out is "" where there is one time only
	bracket bool
}

// closers pairs brackets.
var closers = map[byte]string{'[': "]", '(': ")", '<': ">", '{': "}"}

// leadStamp reads a time at the front of s: [0:23], (00:00:23), 00:12:04,
// [83.5s], 00:01:02:03 - 00:01:05:10.
func leadStamp(s string) (st stamp, rest string, ok bool) {
	if s == "" {
		return st, s, false
	}
	if closer, isBracket := closers[s[0]]; isBracket {
		end := strings.Index(s[1:min(len(s), 64)], closer)
		if end < 0 {
			return st, s, false
		}
		inner := strings.TrimSpace(s[1 : 1+end])
		st, after, ok := times(inner, true)
		if !ok || after != "" {
			return st, s, false
		}
		st.bracket = true
		return st, s[end+2:], true
	}
	st, rest, ok = times(s, false)
	if !ok {
		return st, s, false
	}
	// A bare time of two fields is a timecode only where no sentence goes on
	// ("10:30 was when the ferry came").
	next, _ := utf8.DecodeRuneInString(strings.TrimLeft(rest, " \t"))
	first, _ := utf8.DecodeRuneInString(rest)
	switch {
	case rest != "" && !unicode.IsSpace(first) && !strings.ContainsRune("-–—:|", first):
		return st, s, false
	case st.out == "" && strings.Count(st.in, ":") == 1 && unicode.IsLower(next):
		return st, s, false
	}
	return st, rest, true
}

// times reads one time or a range of two at the front of s.
func times(s string, bracketed bool) (st stamp, rest string, ok bool) {
	in, rest, ok := oneTime(s, bracketed)
	if !ok {
		return st, s, false
	}
	st.in = in
	after := strings.TrimLeft(rest, " \t")
	for _, sep := range []string{"-->", "->", "–", "—", "-", "to ", "bis ", "/", "\t", ""} {
		tail, found := strings.CutPrefix(after, sep)
		if sep == "" {
			// Two columns: a tab or several spaces between the times.
			found = len(rest)-len(after) > 1 || strings.HasPrefix(rest, "\t")
		}
		if !found {
			continue
		}
		if out, rest, ok := oneTime(strings.TrimLeft(tail, " \t"), bracketed); ok && fields(out) == fields(in) {
			st.out = out
			return st, rest, true
		}
	}
	return st, rest, true
}

func fields(s string) int { return strings.Count(s, ":") + strings.Count(s, ";") }

// oneTime reads one time: two to four fields of digits, the later ones of two
// digits, with a fraction; in brackets also 83.5, 83.5s and 1m23s.
func oneTime(s string, bracketed bool) (t, rest string, ok bool) {
	i, n, colons := 0, 0, 0
	// Brackets tell even 1000 hours and more from the number of a page.
	hours := 3
	if bracketed {
		hours = 7
	}
	for i < len(s) && i < 20 {
		switch {
		case isDigit(s[i]):
			n++
		case (s[i] == ':' || s[i] == ';') && n > 0 && (colons == 0 && n <= hours || n == 2) && colons < 3 && i+1 < len(s) && isDigit(s[i+1]):
			colons, n = colons+1, 0
		default:
			goto end
		}
		i++
	}
end:
	if colons > 0 && (n == 2 || n == 3 && colons == 3) && (colons > 1 || strings.IndexByte(s, ':') <= 3) {
		if i+1 < len(s) && (s[i] == '.' || s[i] == ',') && isDigit(s[i+1]) {
			for i++; i < len(s) && isDigit(s[i]); {
				i++
			}
		}
		return s[:i], s[i:], true
	}
	if !bracketed || s == "" || !isDigit(s[0]) {
		return "", s, false
	}
	i = 0
	units := 0
	for i < len(s) && (isDigit(s[i]) || strings.IndexByte(".hms", s[i]) >= 0) {
		if s[i] > '9' || s[i] == '.' && i+1 < len(s) && isDigit(s[i+1]) {
			units++
		}
		i++
	}
	return s[:i], s[i:], units > 0
}

// beforeStamp is what may stand before the time of a line: the number of an
// entry before a bracket, or a word for the time.
var beforeStamp = regexp.MustCompile(`^(?:\d{1,5}[.)][ \t]+|(?i:tc|tcr|tc in|timecode|timestamp)[ \t]*[:=]?[ \t]*)`)

// leadLine reads the front of a line of a plain-text transcript: a time, a
// speaker, or both in either order. Without a time ok is false.
func leadLine(line string) (st stamp, speaker, rest string, ok bool) {
	s := strings.TrimLeftFunc(line, func(r rune) bool { return isMark(r) || r == ' ' || r == '\t' || r == '\u00a0' })
	if m := beforeStamp.FindString(s); m != "" {
		if _, _, ok := leadStamp(s[len(m):]); ok {
			s = s[len(m):]
		}
	}
	if st, rest, ok = leadStamp(s); ok {
		trimmed := strings.TrimLeft(rest, " \t")
		if !st.bracket || strings.HasPrefix(trimmed, ":") || strings.HasPrefix(trimmed, "|") {
			trimmed = strings.TrimLeft(strings.TrimLeft(trimmed, "-–—:|"), " \t")
		}
		return st, "", trimmed, true
	}
	// INES [00:12:04] …, INES: (0:23) …
	if i := strings.IndexAny(s, "[(<{"); i > 0 && i <= 2*maxLabel {
		name := strings.TrimRight(s[:i], " \t:-–,")
		bold := strings.HasPrefix(name, "**")
		if bold {
			name = strings.TrimRight(strings.Trim(name, "*"), " \t:-–,")
		}
		if st, rest, ok = leadStamp(s[i:]); ok && isName(name) {
			rest = strings.TrimLeft(strings.TrimLeft(rest, " \t"), ": \t")
			if bold && strings.Count(s[:i], "**") == 1 { // the mark that ends it stands behind the time
				rest = strings.TrimLeft(strings.TrimPrefix(rest, "**"), ": \t")
			}
			return st, name, rest, true
		}
	}
	// INES 00:12:04 alone on its line.
	if i := strings.IndexAny(s, "0123456789"); i > 0 && i <= 2*maxLabel {
		for i < len(s) {
			st, rest, ok = leadStamp(s[i:])
			if ok && blank(rest) && (s[i-1] == ' ' || s[i-1] == '\t') {
				break
			}
			j := strings.IndexAny(s[i:], " \t")
			if ok = false; j < 0 {
				break
			}
			i += j + 1
		}
		if ok {
			before := strings.TrimRight(s[:i], " \t")
			name := strings.TrimRight(before, ":,-– \t")
			wide := name != before || len(before)+1 < i || s[i-1] == '\t'
			if isName(name) && (wide || fields(st.in) > 1) {
				return st, name, "", true
			}
		}
	}
	return stamp{}, "", line, false
}

// innerStamp finds a time in brackets inside a line.
func innerStamp(s string) (before string, st stamp, rest string, ok bool) {
	for i := 0; i < len(s); i++ {
		if s[i] != '[' && s[i] != '(' {
			continue
		}
		st, rest, ok := leadStamp(s[i:])
		if ok && (s[i] == '[' || fields(st.in) > 1) {
			return s[:i], st, rest, true
		}
	}
	return s, stamp{}, "", false
}

// hasTimecodes tells whether some line has a time where plain-text transcripts
// have it.
func hasTimecodes(text string) bool {
	for line := range strings.Lines(text) {
		if _, _, _, ok := leadLine(strings.TrimRight(line, "\r\n")); ok {
			return true
		}
		if _, _, _, ok := innerStamp(line); ok {
			return true
		}
	}
	return false
}
