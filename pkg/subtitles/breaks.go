package subtitles

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// What a break costs at each kind of place: the higher the syntactic node, the
// cheaper (Karamitroglou 1998: "at the highest syntactic node"; recalled). The
// figures are ours; only their order matters much.
const (
	breakSentence    = 0
	breakClause      = 6  // after ; : or a dash
	breakComma       = 12 // after , or before an opening bracket
	breakConjunction = 24
	breakPreposition = 32
	breakPlain       = 50
	breakSubject     = 72 // between a pronoun and its verb
	breakNumber      = 78
	breakAuxiliary   = 80
	breakName        = 88
	breakDangling    = 92 // after a conjunction or preposition
	breakDeterminer  = 100
)

// badBreak is the cost from which a break is worth a finding.
const badBreak = breakName

const (
	sentenceSigns = ".!?…。！？؟।"
	clauseSigns   = ";:–—；："
	commaSigns    = ",、，،"
	closers       = "\"'”’»)]}」』）"
	openers       = "\"“‘„«([{¿¡「『（"
)

// breakCost is what a break between two neighbouring tokens costs.
func (g grammar) breakCost(a, b token) int {
	if a.last {
		return breakSentence
	}
	if cost, ok := punctuationCost(a.text, b.text); ok {
		if cost == breakSentence && abbreviated(g, a.text, b.text) {
			return breakDeterminer
		}
		return cost
	}
	if b.glued {
		return unspacedCost(a.text, b.text)
	}
	wa, wb := core(a.text), core(b.text)
	switch {
	case g.determiners[wa] && !g.conjunctions[wa]:
		return breakDeterminer
	case g.conjunctions[wa], g.prepositions[wa]:
		return breakDangling
	case nameParts(a.text, b.text) && !g.subjects[wa]:
		return breakName
	case g.subjects[wa]:
		return breakSubject
	case g.auxiliaries[wa]:
		return breakAuxiliary
	case g.conjunctions[wb]:
		return breakConjunction
	case g.prepositions[wb]:
		return breakPreposition
	case numeral(wa):
		return breakNumber
	}
	return breakPlain
}

// punctuationCost judges a break by the signs around it.
func punctuationCost(a, b string) (int, bool) {
	end, _ := utf8.DecodeLastRuneInString(strings.TrimRight(a, closers))
	first, size := utf8.DecodeRuneInString(b)
	switch {
	case strings.ContainsRune(sentenceSigns, end):
		return breakSentence, true
	case strings.ContainsRune(clauseSigns, end), (first == '–' || first == '—') && size < len(b):
		return breakClause, true
	case strings.HasSuffix(a, "-") && lastField(a) == "-":
		return breakClause, true
	case strings.ContainsRune(commaSigns, end), strings.ContainsRune(openers, first):
		return breakComma, true
	}
	return 0, false
}

// abbreviated tells that the full stop after a does not end a sentence: a
// title, an initial, or a word that goes on in lower case.
func abbreviated(g grammar, a, b string) bool {
	if !strings.HasSuffix(a, ".") || strings.HasSuffix(a, "..") {
		return false
	}
	w := core(a)
	r, _ := utf8.DecodeRuneInString(strings.TrimLeft(b, openers))
	return g.determiners[w] || utf8.RuneCountInString(w) == 1 && w != "i" || unicode.IsLower(r)
}

// nameParts tells whether two words look like parts of one name.
func nameParts(a, b string) bool {
	ra, _ := utf8.DecodeRuneInString(a)
	rb, _ := utf8.DecodeRuneInString(b)
	return unicode.IsUpper(ra) && unicode.IsUpper(rb) && core(a) != "i" && core(b) != "i"
}

func numeral(w string) bool {
	return w != "" && strings.IndexFunc(w, func(r rune) bool { return !unicode.IsNumber(r) && r != '.' && r != ',' }) < 0
}

// unspacedCost judges a break in Chinese or Japanese by the scripts on both
// sides: after kana and before a Chinese character a new phrase mostly begins.
func unspacedCost(a, b string) int {
	ra, _ := utf8.DecodeLastRuneInString(a)
	rb, _ := utf8.DecodeRuneInString(b)
	switch {
	case unicode.Is(unicode.Hiragana, ra) && !unicode.Is(unicode.Hiragana, rb):
		return breakPreposition
	case unicode.Is(unicode.Katakana, ra) && unicode.Is(unicode.Katakana, rb), unicode.Is(unicode.Han, ra) && unicode.Is(unicode.Han, rb):
		return breakName
	}
	return breakAuxiliary
}
