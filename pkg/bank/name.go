package bank

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// fold is the form in which names are compared: two names that are equal
// without case (strings.EqualFold), or that differ only in how their accents
// are composed (as file names of some systems do), have the same.
func fold(name string) string {
	for i := range len(name) {
		if name[i] >= utf8.RuneSelf {
			name = norm.NFC.String(name)
			break
		}
	}
	out := make([]byte, 0, len(name))
	for i := 0; i < len(name); {
		r, n := utf8.DecodeRuneInString(name[i:])
		switch {
		case r == utf8.RuneError && n == 1:
			out = append(out, name[i])
		default:
			out = utf8.AppendRune(out, lowest(r))
		}
		i += n
	}
	return string(out)
}

// themeKey is the key of a theme by any spelling of its name.
func themeKey(name string) string { return fold(strings.Join(strings.Fields(name), " ")) }

// lowest stands for all letters that are the same without case: the lower
// case ASCII letter if there is one, else the first in Unicode.
func lowest(r rune) rune {
	least := r
	for o := unicode.SimpleFold(r); o != r; o = unicode.SimpleFold(o) {
		least = min(least, o)
	}
	if least >= 'A' && least <= 'Z' {
		least += 'a' - 'A'
	}
	return least
}
