package subtitles

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/rivo/uniseg"

	"rushlight/pkg/timecode"
)

// token is what is never cut: a word with its punctuation, or in scripts
// without spaces the least that UAX #14 allows on a line.
type token struct {
	text string
	// glued tells that no space stands before it.
	glued bool
	// chars is its length in grapheme clusters, for sharing time.
	chars int
	// Span is when it is said, on the output's timeline.
	timecode.Span
	// last tells that it ends its piece.
	last bool
}

// tokenize cuts text at white space. A no-break space keeps words together; a
// dash or a sign that stands alone stays with the word before it ("Oui !"), an
// opening one with the word after.
func tokenize(text string) []token {
	var words []string
	for _, f := range strings.FieldsFunc(text, breakingSpace) {
		switch {
		case len(words) > 0 && alone(f, ".,;:!?…»”’)]}。、！？-–—"):
			words[len(words)-1] += " " + f
		case len(words) > 0 && alone(lastField(words[len(words)-1]), "«„“‘([{¿¡"):
			words[len(words)-1] += " " + f
		default:
			words = append(words, f)
		}
	}
	var out []token
	for _, w := range words {
		for i, s := range pieces(w) {
			out = append(out, token{text: s, glued: i > 0, chars: uniseg.GraphemeClusterCount(s)})
		}
	}
	return out
}

func breakingSpace(r rune) bool {
	return unicode.IsSpace(r) && r != '\u00a0' && r != '\u202f' && r != '\u2007' || r == '\u200b'
}

// alone tells whether s is made of the given signs only.
func alone(s, signs string) bool {
	return s != "" && strings.Trim(s, signs) == ""
}

func lastField(s string) string {
	return s[strings.LastIndexByte(s, ' ')+1:]
}

// pieces cuts a run without spaces where UAX #14 allows a break beside a
// letter of an unspaced script.
func pieces(w string) []string {
	if strings.IndexFunc(w, unspaced) < 0 {
		return []string{w}
	}
	var out []string
	state := -1
	rest := w
	for rest != "" {
		var seg string
		seg, rest, _, state = uniseg.FirstLineSegmentInString(rest, state)
		if n := len(out); n > 0 {
			before, _ := utf8.DecodeLastRuneInString(out[n-1])
			after, _ := utf8.DecodeRuneInString(seg)
			if !unspaced(before) && !unspaced(after) {
				out[n-1] += seg
				continue
			}
		}
		out = append(out, seg)
	}
	return out
}

// joined is the text of tokens on one line.
func joined(t []token) string {
	var b strings.Builder
	for i, w := range t {
		if i > 0 && !w.glued {
			b.WriteByte(' ')
		}
		b.WriteString(w.text)
	}
	return b.String()
}

// core is the word without the punctuation around it, in lower case, with plain
// apostrophes.
func core(s string) string {
	word := strings.TrimFunc(s, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsNumber(r) && !unicode.IsMark(r)
	})
	return strings.ToLower(strings.ReplaceAll(word, "’", "'"))
}

// letters keeps what two writings of one word have in common.
func letters(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsNumber(r) {
			return unicode.ToLower(r)
		}
		return -1
	}, s)
}
