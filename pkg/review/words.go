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
	// broken tells that it was left unfinished, as in "wh-"; capital that it
	// has a capital first letter and a small second one.
	broken, capital bool
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
	var b, asWritten strings.Builder
	last := rune(0)
	flush := func(broken bool) {
		if w := strings.Trim(b.String(), "'-"); w != "" {
			s.words = append(s.words, word{text: w, fresh: fresh, broken: broken, capital: isCapital(asWritten.String())})
			fresh = false
		}
		b.Reset()
		asWritten.Reset()
	}
	runes := []rune(text)
	for i, r := range runes {
		switch {
		case inWord(r):
			b.WriteRune(unicode.ToLower(r))
			asWritten.WriteRune(r)
		case (r == '\'' || r == '’' || r == '-' || r == '‐' || r == '‑') && b.Len() > 0:
			next := i+1 < len(runes) && inWord(runes[i+1])
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

// isCapital tells a word as written with a capital first letter from one in
// small letters or in capitals.
func isCapital(w string) bool {
	r := []rune(w)
	return len(r) > 1 && unicode.IsUpper(r[0]) && unicode.IsLower(r[1])
}

// inWord tells what words are made of; vowel signs of Indic scripts are marks.
func inWord(r rune) bool {
	return unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.Is(unicode.M, r)
}

// count is how many words a saying has. In scripts without spaces between
// words, where cut finds only what punctuation parts, two letters count as one
// word (common practice, no source).
func (s saying) count() int {
	n := 0
	for _, w := range s.words {
		together := 0
		for _, r := range w.text {
			if unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Thai, unicode.Lao, unicode.Khmer, unicode.Myanmar) &&
				!unicode.Is(unicode.M, r) {
				together++
			}
		}
		n += max(1, (together+1)/2)
	}
	return n
}

// set makes a set of the words of a line.
func set(line string) map[string]bool {
	m := map[string]bool{}
	for _, w := range strings.Fields(line) {
		m[w] = true
	}
	return m
}

// pairs makes a set of pairs of words.
func pairs(list ...string) map[string]bool {
	m := map[string]bool{}
	for _, p := range list {
		m[p] = true
	}
	return m
}
