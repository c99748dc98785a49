package index

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// Fold puts text in the form in which it is compared: Unicode compatibility
// decomposition (UAX #15, NFKD), without accents and vowel points, full case
// folding (Unicode, CaseFolding.txt, status C and F), and the letters with a
// stroke or a ligature that Unicode doesn't decompose written out (ø o, æ ae,
// ł l …). Marks that are letters in their script (vowel signs of Indic and
// South-East Asian scripts) stay. Folding folded text changes nothing.
func Fold(s string) string {
	if lower, ok := foldASCII(s); ok {
		return lower
	}
	// Accents go first: case folding would make a letter of the Greek iota
	// subscript. Lower case comes before folding because the library turns
	// Cherokee the other way round, so that its two cases would never meet.
	s = cases.Fold().String(strings.ToLower(withoutAccents(s)))
	var b strings.Builder
	b.Grow(len(s))
	for _, r := range withoutAccents(s) {
		switch plain := writtenOut(r); {
		case plain != "":
			b.WriteString(plain)
		default:
			b.WriteRune(r)
		}
	}
	return norm.NFC.String(b.String())
}

func withoutAccents(s string) string {
	return strings.Map(func(r rune) rune {
		if isAccent(r) {
			return -1
		}
		return r
	}, norm.NFKD.String(s))
}

// foldASCII folds text that has nothing but ASCII in it.
func foldASCII(s string) (string, bool) {
	upper := false
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c >= utf8.RuneSelf {
			return "", false
		}
		upper = upper || 'A' <= c && c <= 'Z'
	}
	if !upper {
		return s, true
	}
	b := []byte(s)
	for i, c := range b {
		if 'A' <= c && c <= 'Z' {
			b[i] = c + 'a' - 'A'
		}
	}
	return string(b), true
}

// isCapital tells whether a word begins with a capital letter.
func isCapital(w string) bool {
	r, _ := utf8.DecodeRuneInString(w)
	return unicode.IsUpper(r)
}

// isAccent tells a mark that is left out: the combining accents of European
// scripts, Hebrew points, Arabic vowel signs, and marks for symbols.
func isAccent(r rune) bool {
	if r < 0x300 {
		return false
	}
	switch {
	case r <= 0x36F, r >= 0x483 && r <= 0x487, r >= 0x591 && r <= 0x5C7,
		r >= 0x610 && r <= 0x61A, r >= 0x64B && r <= 0x65F, r == 0x670,
		r >= 0x6D6 && r <= 0x6ED, r >= 0x1AB0 && r <= 0x1AFF,
		r >= 0x1DC0 && r <= 0x1DFF, r >= 0x20D0 && r <= 0x20FF, r >= 0xFE20 && r <= 0xFE2F:
		return unicode.Is(unicode.M, r)
	case r == 0x640: // tatweel only stretches a word
		return true
	}
	return false
}

// writtenOut gives the plain spelling of letters that carry a stroke or join
// two letters, after case folding. Unicode has no decomposition for them; the
// spellings are common practice (no single source).
func writtenOut(r rune) string {
	switch r {
	case '’', 'ʼ', '‘', '´':
		return "'"
	case 'ø':
		return "o"
	case 'æ':
		return "ae"
	case 'œ':
		return "oe"
	case 'ł':
		return "l"
	case 'đ', 'ð':
		return "d"
	case 'þ':
		return "th"
	case 'ħ':
		return "h"
	case 'ı':
		return "i"
	case 'ŋ':
		return "n"
	case 'ŧ':
		return "t"
	}
	return ""
}
