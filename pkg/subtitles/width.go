package subtitles

import (
	"unicode"

	"github.com/rivo/uniseg"
)

// width counts the characters of s as people see them: grapheme clusters. In
// Chinese, Japanese and Korean a full-width character counts one and a
// half-width one a half, rounded up over the line.
func width(s, language string) int {
	if wide(language) {
		return (uniseg.StringWidth(s) + 1) / 2
	}
	return uniseg.GraphemeClusterCount(s)
}

// wide tells whether lines of the language are counted in full widths.
func wide(language string) bool {
	switch primary(language) {
	case "zh", "ja", "ko", "yue":
		return true
	}
	return false
}

// unspaced tells whether r belongs to a script that sets no spaces between
// words and that UAX #14 can break.
func unspaced(r rune) bool {
	return unicode.In(r, unicode.Han, unicode.Hiragana, unicode.Katakana) || r >= 0x3001 && r <= 0x303F || r >= 0xFF01 && r <= 0xFF0F
}

// stringWidth is the width of s in half-width columns.
func stringWidth(s string) int { return uniseg.StringWidth(s) }
