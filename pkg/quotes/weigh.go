package quotes

import (
	"unicode"

	"golang.org/x/text/unicode/norm"

	"rushlight/pkg/timecode"
)

// perSyllable is how long a unit of weigh takes in ordinary talk, about four
// syllables a second with their consonants: common practice, no source; only
// for ends that nothing else tells.
const perSyllable = 150 * timecode.Millisecond

// weigh is how long a text takes to say, in units of about a syllable. Vowel
// groups count one, letters a little each, figures more; a letter of a script
// without spaces counts as a syllable.
func weigh(s string) float64 {
	var sum float64
	vowel := false
	for _, r := range s {
		switch {
		case unspaced(r) && unicode.IsLetter(r):
			sum += 1.2
			vowel = false
		case unicode.IsDigit(r):
			sum += 1.6
			vowel = false
		case unicode.IsLetter(r):
			v := isVowel(r)
			if v && !vowel {
				sum++
			}
			sum += 0.2
			vowel = v
		case unicode.Is(unicode.Mn, r):
		default:
			vowel = false
			if r == ',' || r == ';' || r == ':' {
				sum += 0.5
			}
		}
	}
	return sum
}

func isVowel(r rune) bool {
	if r > 0x7f {
		d := norm.NFD.PropertiesString(string(r)).Decomposition()
		if len(d) > 0 {
			r = rune(d[0])
		}
	}
	switch unicode.ToLower(r) {
	case 'a', 'e', 'i', 'o', 'u', 'y', 'ø', 'æ', 'œ',
		'α', 'ε', 'η', 'ι', 'ο', 'υ', 'ω',
		'а', 'е', 'ё', 'и', 'о', 'у', 'ы', 'э', 'ю', 'я', 'і', 'ї', 'є':
		return true
	}
	return false
}
