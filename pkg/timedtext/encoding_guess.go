package timedtext

import (
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

// singleByte is one way to read a file that is not UTF-8: an encoding and the
// letters beyond ASCII of languages written in it, in small letters. Our own
// method: the right pair is the one whose alphabet holds the letters that come
// out, without capitals or signs inside words. Ties go to the first.
type singleByte struct {
	name    string
	charmap *charmap.Charmap
	letters string
}

var singleBytes = []singleByte{
	{"windows-1252", charmap.Windows1252, "àâçèéêëîïôùûüœæ"},   // French
	{"windows-1252", charmap.Windows1252, "äöüß"},              // German
	{"windows-1252", charmap.Windows1252, "áéíóúñüïçàèò·"},     // Spanish, Catalan
	{"windows-1252", charmap.Windows1252, "àáâãçéêíóôõú"},      // Portuguese
	{"windows-1252", charmap.Windows1252, "àèéìòù"},            // Italian
	{"windows-1252", charmap.Windows1252, "åäöæøéü"},           // Nordic
	{"windows-1252", charmap.Windows1252, "áðéíóúýþæö"},        // Icelandic
	{"windows-1252", charmap.Windows1252, "éëèïöüáíóú"},        // Dutch
	{"windows-1250", charmap.Windows1250, "ąćęłńóśźż"},         // Polish
	{"windows-1250", charmap.Windows1250, "áčďéěíňóřšťúůýž"},   // Czech
	{"windows-1250", charmap.Windows1250, "áäčďéíľĺňóôŕšťúýž"}, // Slovak
	{"windows-1250", charmap.Windows1250, "áéíóöőúüű"},         // Hungarian
	{"windows-1250", charmap.Windows1250, "čćđšž"},             // Croatian, Slovene
	{"windows-1250", charmap.Windows1250, "ăâîşţ"},             // Romanian
	{"iso-8859-2", charmap.ISO8859_2, "ąćęłńóśźż"},
	{"iso-8859-2", charmap.ISO8859_2, "áčďéěíňóřšťúůýž"},
	{"iso-8859-2", charmap.ISO8859_2, "áéíóöőúüű"},
	{"iso-8859-2", charmap.ISO8859_2, "čćđšž"},
	{"windows-1254", charmap.Windows1254, "çğıöşüâ"}, // Turkish
	{"windows-1251", charmap.Windows1251, "абвгдежзийклмнопрстуфхцчшщъыьэюяёіїєґјљњћђџ"},
	{"iso-8859-5", charmap.ISO8859_5, "абвгдежзийклмнопрстуфхцчшщъыьэюяёіїєјљњћђџ"},
	{"windows-1253", charmap.Windows1253, "αβγδεζηθικλμνξοπρσςτυφχψωάέήίόύώϊϋΐΰ"},
	{"iso-8859-15", charmap.ISO8859_15, "àâçèéêëîïôùûüœæ"},
	{"macintosh", charmap.Macintosh, "àâçèéêëîïôùûüœæ"},
	{"macintosh", charmap.Macintosh, "äöüß"},
	{"macintosh", charmap.Macintosh, "áéíóúñü"},
	{"macintosh", charmap.Macintosh, "àáâãçéêíóôõú"},
	{"macintosh", charmap.Macintosh, "àèéìòù"},
	{"macintosh", charmap.Macintosh, "åäöæøé"},
}

// countUTF8 counts the characters of several bytes in a head that are UTF-8,
// and the bytes that are not.
func countUTF8(head []byte) (good, bad int) {
	for i := 0; i < len(head); {
		if head[i] < utf8.RuneSelf {
			i++
			continue
		}
		r, size := utf8.DecodeRune(head[i:])
		switch {
		case r != utf8.RuneError || size > 1:
			good++
		case utf8.FullRune(head[i:]):
			bad++
		}
		i += size
	}
	return good, bad
}

// guessSingleByte tells the encoding of a head that is not UTF-8: Windows-1252
// unless another reads clearly better.
func guessSingleByte(head []byte) string {
	const clearly = 2
	western, best, most := math.MinInt, "", math.MinInt
	for _, s := range singleBytes {
		switch n := s.score(head); {
		case s.name == cp1252Name:
			western = max(western, n)
		case n > most:
			best, most = s.name, n
		}
	}
	if most > western+clearly {
		return best
	}
	return cp1252Name
}

// score tells how well the head reads: a point for each letter of the
// alphabet, points off for what does not belong.
func (s singleByte) score(head []byte) int {
	points := 0
	for i, c := range head {
		if c < utf8.RuneSelf {
			continue
		}
		r := s.charmap.DecodeByte(c)
		var before, after rune = ' ', ' '
		if i > 0 {
			before = s.charmap.DecodeByte(head[i-1])
		}
		if i+1 < len(head) {
			after = s.charmap.DecodeByte(head[i+1])
		}
		switch {
		case r == utf8.RuneError || unicode.IsControl(r):
			points -= 5
		case unicode.IsLetter(r):
			if strings.ContainsRune(s.letters, unicode.ToLower(r)) {
				points++
			} else {
				points -= 2
			}
			if unicode.IsUpper(r) && unicode.IsLower(before) {
				points -= 2
			}
			// Two accented letters may meet, three hardly do.
			apart, latin := !s.fits(r, before), unicode.Is(unicode.Latin, r)
			if other := !s.fits(r, after); apart && other || !latin && (apart || other) {
				points -= 2
			}
		case strings.ContainsRune("’‘“”„–—…«»€¿¡\u00a0°", r):
			// A sign where speech has it; an apostrophe may be in a word.
			if r != '’' && unicode.IsLetter(before) && unicode.IsLetter(after) {
				points--
			}
		default:
			points--
			if unicode.IsLetter(before) || unicode.IsLetter(after) {
				points--
			}
		}
	}
	return points
}

// fits tells whether a letter beyond ASCII may stand beside another: letters
// of other scripts stand together, accented Latin letters among plain ones.
func (s singleByte) fits(r, beside rune) bool {
	if !unicode.IsLetter(beside) {
		return true
	}
	latin := unicode.Is(unicode.Latin, r)
	return latin == (beside < utf8.RuneSelf)
}
