package review

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// begins judges how a passage begins: 1 where it stands by itself, less where
// it leans on what was said before. The reason comes with it, "" for none.
func begins(s saying, t *tongue) (float64, string) {
	ws := s.words
	i := 0
	for i < len(ws)-1 {
		switch {
		case t.joining[ws[i].text], t.filler[ws[i].text]:
			i++
			continue
		case t.marks(ws, i) && i+2 < len(ws):
			i += 2
			continue
		}
		break
	}
	if i >= len(ws) {
		return 0, "no words"
	}
	value, why := 1.0, ""
	if i > 0 {
		with := ws[0].text
		if t.marks(ws, 0) {
			with += " " + ws[1].text
		}
		value, why = 0.8, "begins with \""+with+"\""
	}
	first := ws[i].text
	rest := len(ws) - i
	switch {
	case t.replies[first] && rest <= 2:
		return 0.2, "only a reply: \"" + first + "\""
	case t.replies[first]:
		return min(value, 0.7), "begins with the reply \"" + first + "\""
	case t.bound[first]:
		return min(value, 0.4), "begins in the middle: \"" + first + "\""
	case t.halves[first] && !goesOn(ws[i+1:]):
		return min(value, 0.5), "only the half of a sentence, with \"" + first + "\""
	case first == "this" && at(ws, i+1) == "is":
		// Something shown, more often than something said.
		return min(value, 0.8), "\"this is\" needs what it shows"
	case t.isArticle(ws[i:]) || t.impersonal[first+" "+at(ws, i+1)]:
	case t.points[first] && !named(ws[i+1:]):
		return min(value, 0.35), "\"" + first + "\" points to something said before"
	case t.points[first]:
		return min(value, 0.6), "\"" + first + "\" points to something said before"
	}
	return value, why
}

// isArticle tells that the first of some words is an article: a noun follows,
// or an adjective and a noun.
func (t *tongue) isArticle(ws []word) bool {
	noun := func(i int) bool { return i < len(ws) && ws[i].capital && !ws[i].fresh }
	return t.articles[ws[0].text] && (noun(1) || noun(2) && !ws[1].fresh && !t.afterThem[ws[1].text])
}

// goesOn tells that another clause follows: punctuation, or many words.
func goesOn(rest []word) bool {
	for _, w := range rest {
		if w.fresh {
			return true
		}
	}
	return len(rest) >= 9
}

// named tells that what follows a pointing word is long enough to say what is
// meant.
func named(rest []word) bool { return len(rest) >= 12 }

// fullStops end a sentence, in Arabic, Hindi and East Asian writing too.
const fullStops = ".!?。！？؟۔।"

// ends judges how a passage ends, in the same way. punctuated tells whether
// the transcript has full stops at all.
func ends(text string, s saying, t *tongue, punctuated bool) (float64, string) {
	text = strings.TrimRightFunc(text, func(r rune) bool { return unicode.IsSpace(r) || strings.ContainsRune("\"'”’»)]", r) })
	if len(s.words) == 0 {
		return 0, "no words"
	}
	last := s.words[len(s.words)-1]
	r, _ := utf8.DecodeLastRuneInString(text)
	closed := strings.ContainsRune(fullStops, r) && !strings.HasSuffix(text, "...")
	switch {
	case strings.HasSuffix(text, "...") || strings.ContainsRune("…-–—,", r) || last.broken:
		return 0.4, "breaks off"
	case t.hanging[last.text] && !closed:
		return 0.3, "stops at \"" + last.text + "\""
	case punctuated && !closed:
		return 0.6, "half a sentence"
	}
	return 1, ""
}
