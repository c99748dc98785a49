package index

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

func TestFold(t *testing.T) {
	for in, want := range map[string]string{
		"":           "",
		"Bell":       "bell",
		"CAFÉ":       "cafe",
		"cafe\u0301": "cafe",
		"Straße":     "strasse",
		"STRASSE":    "strasse",
		"Ångström":   "angstrom",
		"Łódź":       "lodz",
		"Ærø":        "aero",
		"don’t":      "don't",
		"ﬁn":         "fin",
		"Ｂｅｌｌ":       "bell",
		"ΣΊΣΥΦΟΣ":    "σισυφοσ",
		"σίσυφος":    "σισυφοσ",
		"İstanbul":   "istanbul",
		"ё":          "е",
		"हिन्दी":     "हिन्दी", // vowel signs are letters
		"שָׁלוֹם":    "שלום",
		"한국":         "한국",
	} {
		if got := Fold(in); got != want {
			t.Errorf("Fold(%q): got %q, want %q", in, got, want)
		}
	}
}

// TestFoldAgainstUnicode: for every letter of Unicode (golang.org/x/text), a
// letter with a canonical decomposition into a Latin, Greek or Cyrillic base
// and accents folds like its base, and every letter folds like its other cases
// (CaseFolding.txt through unicode.SimpleFold).
func TestFoldAgainstUnicode(t *testing.T) {
	accented, letters := 0, 0
	for r := rune(0x80); r <= unicode.MaxRune; r++ {
		if !unicode.IsLetter(r) || !utf8.ValidRune(r) {
			continue
		}
		letters++
		s := string(r)
		for other := unicode.SimpleFold(r); other != r; other = unicode.SimpleFold(other) {
			if !unicode.IsLetter(other) {
				continue // the iota subscript is a mark
			}
			if got, want := Fold(string(other)), Fold(s); got != want {
				t.Errorf("%U, another case of %U: got %q, want %q", other, r, got, want)
			}
		}
		if got := Fold(Fold(s)); got != Fold(s) {
			t.Errorf("%U folded twice: got %q, want %q", r, got, Fold(s))
		}
		parts := []rune(norm.NFD.String(s))
		if len(parts) < 2 || !unicode.In(parts[0], unicode.Latin, unicode.Greek, unicode.Cyrillic) {
			continue
		}
		accented++
		if got, want := Fold(s), Fold(string(parts[0])); got != want {
			t.Errorf("%U: got %q, want %q like its base %q", r, got, want, parts[0])
		}
	}
	if accented < 700 || letters < 100_000 {
		t.Errorf("looked at %d accented of %d letters: Unicode has more", accented, letters)
	}
}

func FuzzFold(f *testing.F) {
	for _, s := range []string{"Straße", "don’t", "\xff\xfe", "ΣΣ", "e\u0301\u0301", "한"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		s = strings.ToValidUTF8(s, "")
		once := Fold(s)
		if twice := Fold(once); twice != once {
			t.Errorf("Fold(%q) = %q, folded again %q", s, once, twice)
		}
	})
}

func TestCutWords(t *testing.T) {
	for in, want := range map[string]string{
		"":                          "",
		"Nobody rings a bridge.":    "Nobody|rings|a|bridge",
		"the far-bank bell":         "the|far|bank|bell",
		"don't, won’t":              "don't|won’t",
		"the bells' rope":           "the|bells|rope",
		"'quoted'":                  "quoted",
		"3.5 metres, 1,000 people.": "3.5|metres|1,000|people",
		"at 10:30":                  "at|10|30",
		"l'eau d’ici":               "l'eau|d’ici",
		"鐘を鳴らす":                     "鐘|を|鳴|ら|す",
		"cafe\u0301 noir":           "cafe\u0301|noir",
		"a\xffb":                    "a|b",
		"--- … ?":                   "",
	} {
		var got []string
		for _, w := range cutWords(in, nil) {
			got = append(got, in[w.start:w.end])
		}
		if strings.Join(got, "|") != want {
			t.Errorf("%q: got %q, want %q", in, strings.Join(got, "|"), want)
		}
	}
}
