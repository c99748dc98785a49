package review

import (
	"strings"
	"unicode"
)

// word is one word of a saying, in lower case with straight apostrophes.
type word struct {
	text string
	// fresh tells that a clause may begin here: the start of the saying, or
	// punctuation before.
	fresh bool
	// broken tells that it was left unfinished, as in "wh-".
	broken bool
}

// saying is a text cut into words.
type saying struct {
	words []word
	// mark tells that it ends in a question mark, or holds one.
	mark, inner bool
}

// cut finds the words of a text.
func cut(text string) saying {
	var s saying
	fresh := true
	var b strings.Builder
	last := rune(0)
	flush := func(broken bool) {
		if w := strings.Trim(b.String(), "'-"); w != "" {
			s.words = append(s.words, word{text: w, fresh: fresh, broken: broken})
			fresh = false
		}
		b.Reset()
	}
	runes := []rune(text)
	for i, r := range runes {
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.Is(unicode.Mn, r):
			b.WriteRune(unicode.ToLower(r))
		case (r == '\'' || r == '’' || r == '-' || r == '‐' || r == '‑') && b.Len() > 0:
			next := i+1 < len(runes) && (unicode.IsLetter(runes[i+1]) || unicode.IsDigit(runes[i+1]))
			hyphen := r != '\'' && r != '’'
			if !next {
				flush(hyphen)
				break
			}
			if hyphen {
				b.WriteByte('-')
			} else {
				b.WriteByte('\'')
			}
		default:
			flush(false)
			if unicode.IsPunct(r) && r != '\'' && r != '’' || r == '¿' {
				fresh = true
			}
		}
		switch {
		case r == '?' || r == '¿' || r == '？' || r == '؟':
			s.inner = true
			last = '?'
		case unicode.IsSpace(r), unicode.In(r, unicode.Pe, unicode.Pf), r == '"', r == '\'':
		default:
			last = r
		}
	}
	flush(false)
	s.mark = last == '?'
	return s
}

// set makes a set of the words of a line.
func set(line string) map[string]bool {
	m := map[string]bool{}
	for _, w := range strings.Fields(line) {
		m[w] = true
	}
	return m
}
