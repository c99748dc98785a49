package timedtext

import (
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/unicode/norm"
)

// The character code tables of EBU Tech 3264 (appendix 2 and 3): 00 Latin (ISO
// 6937 with its floating diacritics), 01 Latin/Cyrillic (ISO 8859-5), 02
// Latin/Arabic (8859-6), 03 Latin/Greek (8859-7), 04 Latin/Hebrew (8859-8).

// stlLatin holds table 00 from 0xA0 on; 0 is not used. Recalled from ISO 6937
// and checked against iconv's ISO_6937 in a test.
var stlLatin = [96]rune{
	'\u00a0', '¡', '¢', '£', '$', '¥', 0, '§', '¤', '‘', '“', '«', '←', '↑', '→', '↓',
	'°', '±', '²', '³', '×', 'µ', '¶', '·', '÷', '’', '”', '»', '¼', '½', '¾', '¿',
	0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, // C0: diacritics, see stlMarks
	'—', '¹', '®', '©', '™', '♪', '¬', '¦', 0, 0, 0, 0, '⅛', '⅜', '⅝', '⅞',
	'Ω', 'Æ', 'Đ', 'ª', 'Ħ', 0, 'Ĳ', 'Ŀ', 'Ł', 'Ø', 'Œ', 'º', 'Þ', 'Ŧ', 'Ŋ', 'ŉ',
	'ĸ', 'æ', 'đ', 'ð', 'ħ', 'ı', 'ĳ', 'ŀ', 'ł', 'ø', 'œ', 'ß', 'þ', 'ŧ', 'ŋ', '\u00ad',
}

// stlMarks maps the floating diacritics C1 to CF, which stand before their
// letter, to combining characters.
var stlMarks = [16]rune{
	0, '\u0300', '\u0301', '\u0302', '\u0303', '\u0304', '\u0306', '\u0307',
	'\u0308', 0, '\u030a', '\u0327', '\u0332', '\u030b', '\u0328', '\u030c',
}

// stlTable decodes and encodes one table.
type stlTable struct {
	number string // "00" to "04"
	parts  *charmap.Charmap
}

func newSTLTable(number string) (stlTable, bool) {
	switch number {
	case "00":
		return stlTable{number: number}, true
	case "01":
		return stlTable{number, charmap.ISO8859_5}, true
	case "02":
		return stlTable{number, charmap.ISO8859_6}, true
	case "03":
		return stlTable{number, charmap.ISO8859_7}, true
	case "04":
		return stlTable{number, charmap.ISO8859_8}, true
	}
	return stlTable{number: "00"}, false
}

// decode reads one character; mark is the combining character that came
// before it. ok is false for a code without a character.
func (t stlTable) decode(c byte) (r rune, mark, ok bool) {
	if t.parts != nil {
		r = t.parts.DecodeByte(c)
		return r, false, r != '\ufffd' && r >= ' '
	}
	switch {
	case c == 0x24:
		return '¤', false, true
	case c < 0x7f:
		return rune(c), false, true
	case c >= 0xc0 && c <= 0xcf:
		r = stlMarks[c-0xc0]
		return r, true, r != 0
	case c >= 0xa0:
		r = stlLatin[c-0xa0]
		return r, false, r != 0
	}
	return 0, false, false
}

// encode writes r as one or two bytes; ok is false where the table has no
// such character.
func (t stlTable) encode(r rune) (b []byte, ok bool) {
	if t.parts != nil {
		c, ok := t.parts.EncodeRune(r)
		return []byte{c}, ok && (c >= 0xa0 || c >= 0x20 && c < 0x7f)
	}
	switch {
	case r == '¤':
		return []byte{0x24}, true
	case r == '$':
		return []byte{0xa4}, true
	case r >= ' ' && r < 0x7f:
		return []byte{byte(r)}, true
	case r < ' ':
		return nil, false
	}
	for i, v := range stlLatin {
		if v == r && v != 0 && r != '¤' {
			return []byte{byte(0xa0 + i)}, true
		}
	}
	parts := []rune(norm.NFD.String(string(r)))
	if len(parts) != 2 || parts[0] >= 0x7f {
		return nil, false
	}
	for i, m := range stlMarks {
		if m == parts[1] && m != 0 {
			return []byte{byte(0xc0 + i), byte(parts[0])}, true
		}
	}
	return nil, false
}

// stlStandIn is what is written for a character that table 00 lacks.
var stlStandIn = map[rune]string{
	'–': "-", '‐': "-", '‑': "-", '…': "...", '€': "EUR", '„': "“", '‚': "‘", '‹': "«", '›': "»",
	'\u2009': " ", '\u202f': "\u00a0", '′': "’", '″': "”", '♫': "♪", '•': "·", '\u200b': "", '\ufeff': "", '\t': " ", '―': "—", 'Ð': "Đ",
}
