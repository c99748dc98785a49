package index

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// word is one word of a text: its bytes are text[start:end].
type word struct{ start, end int }

// cutWords finds the words of text, in order, appended to into. Bytes that
// are not UTF-8 part words like a space does.
func cutWords(text string, into []word) []word {
	for i := 0; i < len(text); {
		r, n := rune(text[i]), 1
		if r >= utf8.RuneSelf {
			r, n = utf8.DecodeRuneInString(text[i:])
		}
		switch {
		case standsAlone(r):
			end := i + n
			for end < len(text) { // its marks belong to it
				m, k := utf8.DecodeRuneInString(text[end:])
				if !unicode.Is(unicode.M, m) {
					break
				}
				end += k
			}
			into = append(into, word{i, end})
			i = end
		case inWord(r):
			end := wordEnd(text, i+n)
			into = append(into, word{i, end})
			i = end
		default:
			i += n
		}
	}
	return into
}

// wordEnd is where the word that runs through text[:i] ends.
func wordEnd(text string, i int) int {
	for i < len(text) {
		r, n := rune(text[i]), 1
		if r >= utf8.RuneSelf {
			r, n = utf8.DecodeRuneInString(text[i:])
		}
		if inWord(r) && !standsAlone(r) || unicode.Is(unicode.M, r) {
			i += n
			continue
		}
		// An apostrophe or a figure's point belongs to the word when the
		// word goes on after it.
		next, _ := utf8.DecodeRuneInString(text[i+n:])
		last, _ := utf8.DecodeLastRuneInString(text[:i])
		joins := isApostrophe(r) && unicode.IsLetter(next) && !standsAlone(next) ||
			(r == '.' || r == ',') && unicode.IsDigit(next) && unicode.IsDigit(last)
		if !joins {
			break
		}
		i += n
	}
	return i
}

func inWord(r rune) bool {
	if r < utf8.RuneSelf {
		return 'a' <= r && r <= 'z' || 'A' <= r && r <= 'Z' || '0' <= r && r <= '9'
	}
	return r != utf8.RuneError && (unicode.IsLetter(r) || unicode.IsNumber(r))
}

func isApostrophe(r rune) bool { return r == '\'' || r == '’' || r == 'ʼ' }

// standsAlone tells a letter of a script that is written without spaces
// between words: it is a word of its own here, so that any run of letters is
// found as a phrase.
func standsAlone(r rune) bool {
	if r < 0xE00 {
		return false
	}
	return unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana, unicode.Hangul,
		unicode.Thai, unicode.Lao, unicode.Khmer, unicode.Myanmar) && !unicode.IsDigit(r)
}

// part is the piece of a folded word with an apostrophe that people also look
// for by itself: "bell" of "bell's", "eau" of "l'eau"; "" if there is none.
func part(folded string) string {
	i := strings.LastIndexByte(folded, '\'')
	if i < 0 {
		return ""
	}
	if folded[i+1:] == "s" {
		return folded[:i]
	}
	if utf8.RuneCountInString(folded[i+1:]) >= 3 {
		return folded[i+1:]
	}
	return ""
}
