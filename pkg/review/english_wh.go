package review

import "strings"

// wh looks for a question word with question order after it.
func (e *english) wh(v *verdict, ws []word, i int, where place) {
	w, next, after := ws[i].text, at(ws, i+1), at(ws, i+2)
	if oneOf(next, "exactly", "specifically", "actually", "else", "really", "on", "in") && (e.aux[after] || e.modal[after]) {
		i++
		next, after = after, at(ws, i+2)
	}
	rest := len(ws) - i
	open, sure := where == opening, where.sure()
	switch {
	case e.whAlone(v, ws, i, where):
	case (e.aux[next] || e.modal[next]) && rest > 2:
		inverted := e.pronoun[after] || e.article[after]
		switch {
		case oneOf(w, "which", "when") && !e.pronoun[after] && !(w == "when" && open && e.article[after]):
		case where == inside && !(e.pronoun[after] && !oneOf(after, "that", "there", "this", "people", "these", "those")):
		case w == "which" && !open && oneOf(next, "is", "was", "are"):
		case w == "who" && !open && !inverted:
		case oneOf(w, "what", "who") && !inverted && e.later(ws, i+2, "is", "was"):
		case e.pronoun[after] && oneOf(at(ws, i+3), "call") && !open:
			// "What do you call it" stands for a word that is missing.
		case inverted && oneOf(next, "is", "was", "are", "were") && w == "which":
			v.at(Open, 0.4, w+" "+next)
		case inverted:
			v.at(Open, sure, w+" "+next)
		case open || where >= linked && oneOf(w, "where", "why", "how"):
			v.at(Open, sure-0.2, w+" "+next)
		}
	case oneOf(w, "how", "what", "which", "whose"), open && w == "where" && next == "in":
		e.whPhrase(v, ws, i, where)
	}
}

// standsIn tells that a question is a way to look for a word: "the, what is
// it, the winch", "where was I".
func (e *english) standsIn(ws []word, i int, where place) bool {
	w, next, after := ws[i].text, at(ws, i+1), at(ws, i+2)
	switch w {
	case "what":
		if where == opening {
			return after == "i" && oneOf(next, "was", "do") || next == "have" && after == "you" && len(ws)-i == 3
		}
		return after == "i" && oneOf(next, "am", "was", "do", "did") && where != inside ||
			oneOf(next, "is", "was", "are") && oneOf(after, "it", "they", "that", "his", "her") || next == "have" && after == "you"
	case "what's":
		return next == "it" && oneOf(after, "called") || next == "the" && after == "word" || oneOf(next, "going", "happening") && where != opening
	case "where", "when":
		return after == "i" && next == "was" || next == "was" && after == "it" && where != opening
	case "who's":
		return where != opening
	}
	return false
}

// whAlone knows the question words that need no auxiliary; true ends the
// search.
func (e *english) whAlone(v *verdict, ws []word, i int, where place) bool {
	w, next := ws[i].text, at(ws, i+1)
	open, sure := where == opening, where.sure()
	switch {
	case where == inside && oneOf(w, "what", "how") && next == "about" && len(ws)-i > 2 && !oneOf(at(ws, i-1), "know", "knew", "talk", "talking", "is", "was"):
		v.at(Open, 0.55, w+" "+next)
	case where == inside && (strings.Contains(w, "'") || len(ws)-i == 1):
		return true
	case where == inside:
		return false
	case oneOf(w, "what", "how") && oneOf(next, "about", "bout"), w == "what" && next == "if", w == "how" && next == "come", w == "why" && next == "not":
		v.at(Open, sure, w+" "+next)
	case w == "who" && next == "knows" && len(ws)-i <= 4:
		v.at(Open, sure-0.1, "who knows")
	case w == "what" && oneOf(next, "a", "an"):
	case len(ws)-i == 1:
		if open && oneOf(w, "why", "how") && i == 0 {
			v.at(Open, 0.6, w)
		}
	case open && w == "why" && len(ws)-i <= 4 && i == 0 && !e.pronoun[next] && !e.aux[next] && !e.modal[next]:
		v.at(Open, 0.55, "why")
	case w == "why" && next == "don't" && oneOf(at(ws, i+2), "i", "you", "we"):
		v.at(Open, 0.45, "why don't")
	case open && oneOf(w, "who", "what") && len(ws)-i > 2 && !e.aux[next] && !e.pronoun[next] && strings.HasSuffix(next, "s") && !strings.HasSuffix(next, "'s") && !e.later(ws, i+2, "is", "was") &&
		at(ws, i-1) != "and":
		v.at(Open, 0.5, w+" "+next)
	case open && w == "what" && oneOf(next, "made", "else") && len(ws)-i > 1, open && w == "who" && next == "else":
		v.at(Open, 0.6, w+" "+next)
	case w == "what's" && (oneOf(next, "his", "her") && !open || e.later(ws, i+2, "is", "is,", "that's")):
	case strings.Contains(w, "'"):
		if open || where == fresh && oneOf(w, "what's", "how's", "where's") {
			v.at(Open, sure-0.1, w)
		}
	default:
		return false
	}
	return true
}

// whPhrase looks for "how old is", "what kind of dog do you", "which way did".
func (e *english) whPhrase(v *verdict, ws []word, i int, where place) {
	w, next := ws[i].text, at(ws, i+1)
	if next == "to" {
		return
	}
	measure := w == "how" && oneOf(next, "many", "much", "long", "old", "big", "far", "often") ||
		w != "how" && oneOf(next, "kind", "type", "sort", "time", "kinds", "types", "else", "part", "size", "year", "area", "school", "color")
	for k := i + 1; k < min(i+7, len(ws)); k++ {
		word, then := ws[k].text, at(ws, k+1)
		if k > i+1 && (e.aux[word] || e.modal[word]) {
			switch {
			case e.pronoun[then] && !oneOf(then, "that", "this", "people", "there"), measure && (e.article[then] || e.pronoun[then]),
				w == "how" && k == i+2 && (e.article[then] || e.pronoun[then]):
				v.at(Open, where.sure(), w+" "+next+" … "+word)
			case where >= fresh && measure:
				v.at(Open, 0.6, w+" "+next)
			}
			return
		}
		contracted := strings.Contains(word, "'") && !strings.HasSuffix(word, "'s")
		if e.pronoun[word] && word != "people" || contracted || e.determiner[word] && at(ws, k-1) != "of" || word == "of" && !measure {
			return
		}
	}
	if measure && (where == opening || where == fresh) && len(ws)-i <= 8 {
		v.at(Open, 0.5, w+" "+next)
	}
}
