package quotes

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/rivo/uniseg"
)

// Range is a stretch of bytes of a text, end excluded.
type Range struct{ Start, End int }

// Sentences finds the sentences of a text: the boundaries of UAX #29 (Unicode
// Text Segmentation, section 5), less those after an abbreviation of the
// language, inside a hesitation ("um... I"), or before "he said"; and more
// where a text has no capitals. A line break counts as a space. The ranges
// are in order, don't overlap, begin and end at letters or signs, never at
// white space, and hold everything else. language is a BCP 47 tag, "" is read
// as English.
func Sentences(text, language string) []Range {
	flat := flatten(text)
	r := rules{text: flat, language: base(language)}
	r.small = r.writtenSmall()
	var out []Range
	start := 0
	for _, end := range uaxEnds(flat) {
		end = backToOpening(flat, end)
		if end <= start || end < len(flat) && r.keeps(start, end) {
			continue
		}
		out = append(out, r.inner(start, end)...)
		start = end
	}
	return gather(flat, out)
}

// uaxEnds gives the end of each sentence by UAX #29 alone.
func uaxEnds(text string) []int {
	var ends []int
	at, state := 0, -1
	for rest := text; rest != ""; {
		var s string
		s, rest, state = uniseg.FirstSentenceInString(rest, state)
		at += len(s)
		ends = append(ends, at)
	}
	return ends
}

// backToOpening moves the end of a sentence before brackets and quotation
// marks that open, which UAX #29 counts with those that close.
func backToOpening(text string, end int) int {
	for end < len(text) && end > 0 {
		r, n := utf8.DecodeLastRuneInString(text[:end])
		if !unicode.Is(unicode.Ps, r) {
			break
		}
		end -= n
	}
	return end
}

// flatten puts a space for every line break of one byte, keeping the length.
func flatten(text string) string {
	if !strings.ContainsAny(text, "\n\r\v\f\t") {
		return text
	}
	b := []byte(text)
	for i, c := range b {
		if c >= '\t' && c <= '\r' {
			b[i] = ' '
		}
	}
	return string(b)
}

// base is the language of a tag: "en" of "en-GB"; "en" where there is none.
func base(tag string) string {
	tag, _, _ = strings.Cut(strings.ToLower(tag), "-")
	tag, _, _ = strings.Cut(tag, "_")
	if tag == "" {
		return "en"
	}
	return tag
}

// rules decides on boundaries of one text.
type rules struct {
	text, language string
	// small tells that sentences begin with small letters as often as not.
	small bool
}

// writtenSmall tells whether most letters after a full stop are small.
func (r rules) writtenSmall() bool {
	small, large := 0, 0
	for i := 0; i < len(r.text)-2; i++ {
		if r.text[i+1] != ' ' || strings.IndexByte(".!?", r.text[i]) < 0 || i > 0 && r.text[i-1] == '.' {
			continue
		}
		next := firstLetter(r.text[i+2:])
		switch {
		case unicode.IsUpper(next):
			large++
		case unicode.IsLower(next) && !abbreviated(lastWord(r.text[max(0, i-30):i+1]), r.language):
			small++
		}
	}
	return small >= 2 && small > large
}

// keeps tells whether the boundary of UAX #29 at end is none.
func (r rules) keeps(start, end int) bool {
	before := strings.TrimRight(r.text[start:end], " ")
	after := r.text[end:]
	next := firstLetter(after)
	word := lastWord(before)
	switch {
	case strings.HasSuffix(before, "...") || strings.HasSuffix(before, "…"):
		return hesitates(before, after, r.language)
	case closesQuote(before) && unicode.IsLower(next):
		// "Really?" he said.
		return true
	case r.language == "fr" && strings.HasPrefix(strings.TrimLeft(after, " \u00a0\u202f"), "»"):
		return true
	case strings.HasSuffix(before, "」") && (strings.HasPrefix(after, "と") || strings.HasPrefix(after, "って")):
		return true
	case strings.HasSuffix(word, "."):
		return r.abbreviates(word, after)
	}
	return false
}

// abbreviates tells whether word with its full stop goes on with after.
func (r rules) abbreviates(word, after string) bool {
	bare := unelided(strings.TrimLeft(word, "\"'“‘«„([{¿¡-–—"), r.language)
	next := firstWord(after)
	stem := strings.TrimSuffix(bare, ".")
	starter := isStarter(next, r.language)
	switch {
	case isTitle(bare, r.language):
		return true
	case r.language == "de" && isNumber(stem) && len(stem) <= 2:
		// am 3. Mai
		return !starter
	case isNumberWord(bare, r.language):
		return startsWithDigit(next)
	case isAbbreviation(bare, r.language):
		return !starter
	case initials(stem):
		return starters[r.language] != "" && !starter && next != ""
	}
	return false
}

// initials tells whether s is one capital, or capitals with full stops
// between them: J, U.S.
func initials(s string) bool {
	if s == "I" || s == "" {
		return false
	}
	upper := true
	for _, r := range s {
		if r != '.' && !unicode.IsUpper(r) {
			return false
		}
		if r != '.' && !upper {
			return false
		}
		upper = r == '.'
	}
	return true
}

// hesitates tells whether dots don't end the saying: the next word is small,
// or the last is one that nobody stops at, or the speaker begins again.
func hesitates(before, after, language string) bool {
	next := firstLetter(after)
	if next != 0 && unicode.IsLower(next) {
		return true
	}
	stem := strings.TrimRight(before, ".… ")
	word := strings.ToLower(strings.Trim(lastWord(stem), ",;:-–—\"'“”‘’"))
	if stem == "" || isFiller(word, language) || isLink(word, language) {
		return true
	}
	again := strings.ToLower(trimSigns(firstWord(after)))
	return again != "" && again == word
}

// inner cuts what UAX #29 leaves whole: at an ellipsis sign before a capital
// (the sign isn't a full stop there), before a dash between sentences, after
// French guillemets, and after full stops in text without capitals.
func (r rules) inner(start, end int) []Range {
	var out []Range
	s := r.text[start:end]
	from := 0
	for i := 0; i < len(s); {
		c, n := utf8.DecodeRuneInString(s[i:])
		i += n
		if !strings.ContainsRune(".!?…", c) {
			continue
		}
		j := r.pastSigns(s, i)
		if j < len(s) && s[j] == ' ' && r.breaks(s[from:j], s[j:], c) {
			out = append(out, Range{start + from, start + j})
			from = j
		}
		i = max(i, j)
	}
	return append(out, Range{start + from, end})
}

// pastSigns is the place after the signs that close a sentence.
func (r rules) pastSigns(s string, i int) int {
	for i < len(s) {
		rest := s[i:]
		if r.language == "fr" {
			rest = strings.TrimLeft(rest, " \u00a0\u202f")
			if !strings.HasPrefix(rest, "»") {
				rest = s[i:]
			}
		}
		c, n := utf8.DecodeRuneInString(rest)
		if !strings.ContainsRune(".!?…\"”’»)", c) {
			break
		}
		i = len(s) - len(rest) + n
	}
	return i
}

// breaks tells whether a sentence that UAX #29 goes on with ends at the sign
// with which before ends.
func (r rules) breaks(before, after string, sign rune) bool {
	next := firstLetter(after)
	lead, _ := utf8.DecodeRuneInString(strings.TrimLeft(after, " "))
	dashed := strings.ContainsRune("-–—", lead)
	switch {
	case next == 0:
		return false
	case lead == '[' || lead == '(':
		// [inaudible] or (laughs), and a sentence behind it.
		_, behind, ok := strings.Cut(after, map[rune]string{'[': "]", '(': ")"}[lead])
		return ok && unicode.IsLower(next) && unicode.IsUpper(firstLetter(behind)) &&
			!strings.HasSuffix(before, "…") && !strings.HasSuffix(before, "...") && !r.shortened(lastWord(before), behind)
	case strings.HasSuffix(before, "…"), strings.HasSuffix(before, "..."):
		return (sign == '…' || r.small || dashed) && !hesitates(before, after, r.language)
	case dashed, strings.HasSuffix(before, "»"):
		return unicode.IsUpper(next)
	}
	return r.small && sign == '.' && !r.shortened(lastWord(before), after)
}

// shortened is abbreviates for text in small letters, where a first word says
// nothing.
func (r rules) shortened(word, after string) bool {
	return abbreviated(word, r.language) || initials(strings.ToUpper(strings.TrimSuffix(word, ".")))
}

// gather trims the ranges and joins those without a letter or digit to a
// neighbour.
func gather(text string, in []Range) []Range {
	var out []Range
	pending := -1
	for _, r := range in {
		s := text[r.Start:r.End]
		left := strings.TrimLeftFunc(s, unicode.IsSpace)
		r.Start += len(s) - len(left)
		r.End = r.Start + len(strings.TrimRightFunc(left, unicode.IsSpace))
		if r.Start >= r.End {
			continue
		}
		if !spoken(text[r.Start:r.End]) {
			if len(out) > 0 {
				out[len(out)-1].End = r.End
			} else if pending < 0 {
				pending = r.Start
			}
			continue
		}
		if pending >= 0 {
			r.Start, pending = pending, -1
		}
		out = append(out, r)
	}
	if pending >= 0 {
		// Nothing but signs.
		out = append(out, Range{pending, len(strings.TrimRightFunc(text, unicode.IsSpace))})
	}
	return out
}

// spoken tells whether a text holds a letter, a digit or a symbol that stands
// for itself.
func spoken(s string) bool {
	for _, r := range s {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return true
		}
	}
	return false
}

// closesQuote tells whether a text ends in a quotation mark after ! or ?.
func closesQuote(s string) bool {
	t := strings.TrimRight(s, "\"'”’»")
	return len(t) < len(s) && strings.HasSuffix(t, "?") || len(t) < len(s) && strings.HasSuffix(t, "!")
}

// lastWord is what follows the last white space.
func lastWord(s string) string {
	s = strings.TrimRightFunc(s, unicode.IsSpace)
	i := strings.LastIndexFunc(s, unicode.IsSpace)
	if i < 0 {
		return s
	}
	_, n := utf8.DecodeRuneInString(s[i:])
	return s[i+n:]
}

// firstWord is what stands before the first white space.
func firstWord(s string) string {
	s = strings.TrimLeftFunc(s, unicode.IsSpace)
	if i := strings.IndexFunc(s, unicode.IsSpace); i >= 0 {
		return s[:i]
	}
	return s
}

// firstLetter is the first letter or digit, 0 if none is near.
func firstLetter(s string) rune {
	const near = 200
	for i, r := range s {
		if i > near {
			break
		}
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
	}
	return 0
}

func trimSigns(s string) string {
	return strings.TrimFunc(s, func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
}

func isNumber(s string) bool {
	for _, r := range s {
		if r < '0' || r > '9' {
			return false
		}
	}
	return s != ""
}

func startsWithDigit(s string) bool {
	s = strings.TrimLeft(s, "\"'(“‘")
	return s != "" && s[0] >= '0' && s[0] <= '9'
}
