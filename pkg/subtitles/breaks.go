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
	breakPredicate   = 42 // between a noun and the verb it is the subject of
	breakPlain       = 50
	breakObject      = 66 // between a verb and its pronoun
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

// breakCost is what a break before tokens[i] costs; i is at least 1.
func (g grammar) breakCost(tokens []token, i int) int {
	a, b := tokens[i-1], tokens[i]
	if a.last {
		return breakSentence
	}
	if cost, ok := punctuationCost(a.text, b.text); ok {
		if cost == breakSentence {
			cost = g.fullStop(a.text, b.text)
		}
		return cost
	}
	if b.glued {
		before := ""
		if i > 1 {
			before = tokens[i-2].text
		}
		return unspacedCost(before, a.text, b.text)
	}
	wa, wb := core(a.text), core(b.text)
	object := i > 1 && g.objects[wa] && !tokens[i-2].last && g.content(tokens[i-2].text)
	switch {
	case g.titles[wa], g.determiners[wa] && !g.conjunctions[wa] && !object:
		return breakDeterminer
	case g.conjunctions[wa], g.prepositions[wa]:
		return breakDangling
	case nameParts(a.text, b.text) && !g.subjects[wa]:
		return breakName
	case g.subjects[wa] && !object:
		return breakSubject
	case g.auxiliaries[wa]:
		return breakAuxiliary
	case g.objects[wb] && g.content(a.text):
		return breakObject
	case g.conjunctions[wb]:
		return breakConjunction
	case g.auxiliaries[wb] && g.content(a.text):
		return breakPredicate
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

// fullStop judges a break after a full stop, which ends no sentence after a
// title or an initial, nor before a word in lower case, nor in an ordinal.
func (g grammar) fullStop(a, b string) int {
	w := core(a)
	r, _ := utf8.DecodeRuneInString(strings.TrimLeft(b, openers))
	switch {
	case !strings.HasSuffix(a, ".") || strings.HasSuffix(a, ".."):
		return breakSentence
	case g.title(w), utf8.RuneCountInString(w) == 1 && w != "i" && !numeral(w):
		return breakDeterminer
	case unicode.IsLower(r):
		return breakPlain
	case g.ordinals && len(w) <= 2 && numeral(w):
		return breakNumber
	}
	return breakSentence
}

// title tells whether a word is a title, also behind an elided article:
// l'avv. Bianchi.
func (g grammar) title(w string) bool {
	_, behind, _ := strings.Cut(w, "'")
	return g.titles[w] || g.titles[behind]
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

// particles are the Japanese particles that end a phrase.
const particles = "はがをにでもへと"

// unspacedCost judges a break in Chinese or Japanese by the scripts around it:
// after a particle that follows a noun a new phrase begins; a longer run of
// kana before a Chinese character is mostly a word that belongs to it.
func unspacedCost(before, a, b string) int {
	r0, _ := utf8.DecodeLastRuneInString(before)
	ra, _ := utf8.DecodeLastRuneInString(a)
	rb, _ := utf8.DecodeRuneInString(b)
	switch {
	case strings.ContainsRune(particles, ra) && before != "" && !unicode.Is(unicode.Hiragana, r0):
		return breakPreposition
	case unicode.Is(unicode.Hiragana, ra) && !unicode.Is(unicode.Hiragana, rb):
		return breakPlain
	case unicode.Is(unicode.Katakana, ra) && unicode.Is(unicode.Katakana, rb), unicode.Is(unicode.Han, ra) && unicode.Is(unicode.Han, rb):
		return breakName
	}
	return breakAuxiliary
}

// content tells whether a word is none of the small ones and ends no clause.
func (g grammar) content(text string) bool {
	w := core(text)
	if w == "" || strings.ContainsAny(text, sentenceSigns+clauseSigns+commaSigns) {
		return false
	}
	return !g.determiners[w] && !g.prepositions[w] && !g.conjunctions[w] && !g.auxiliaries[w] && !g.subjects[w]
}
