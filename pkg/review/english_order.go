package review

import "strings"

// place is where in a saying a clause may begin.
type place int

const (
	inside  place = iota // no sign of a beginning
	linked               // after "and", "so", "like" …
	fresh                // after punctuation, a filler or a restart
	opening              // the first word that counts
)

// sure is how sure question order at a place is.
func (p place) sure() float64 { return [...]float64{0.55, 0.6, 0.7, 0.85}[p] }

// clause looks for question order in the clause that may begin at i.
func (e *english) clause(v *verdict, ws []word, i int, where place) {
	w := ws[i].text
	next, after := at(ws, i+1), at(ws, i+2)
	open := where == opening
	switch {
	case e.aux[w] || e.modal[w]:
		e.inversion(v, ws, i, where)
	case open && oneOf(w, "which", "what", "where") && i == 0 && len(ws) == 2 && !e.pronoun[next] && !e.determiner[next] && !e.aux[next]:
		v.at(Open, 0.5, w+" "+next)
	case e.asking[w]:
		if !e.standsIn(ws, i, where) {
			e.wh(v, ws, i, where)
		}
	case open && w == "any" && next == "other" && len(ws)-i <= 6, open && w == "anything" && next == "else":
		v.at(Closed, 0.5, w+" "+next)
	case open && w == "ever" && len(ws)-i > 2, open && w == "got" && next == "any",
		open && w == "you" && oneOf(next, "ever", "ready") && after != "" && len(ws)-i <= 8:
		v.at(Closed, 0.5, w+" "+next)
	case w == "like" && next == "what" && len(ws)-i == 2, w == "how" && next == "so" && len(ws)-i == 2:
		v.at(Open, 0.6, w+" "+next)
	case open && w == "suppose" && e.pronoun[next]:
		v.at(Open, 0.5, "suppose")
	case w == "wondering" && oneOf(next, "if", "whether", "what", "how"):
		v.at(Closed, 0.6, "wondering "+next)
	}
}

// inversion looks for auxiliary before subject.
func (e *english) inversion(v *verdict, ws []word, i int, where place) {
	w, next, before := ws[i].text, at(ws, i+1), at(ws, i-1)
	rest := len(ws) - i
	open, sure := where == opening, where.sure()
	if i+1 < len(ws) && ws[i+1].fresh && !open {
		return
	}
	if e.pronoun[next] && !agrees(w, next) {
		return
	}
	if where == inside {
		// Only "do you", "are they" that follow no subject of their own.
		if next == "you" && oneOf(w, "do", "did", "are", "have", "would") && !e.pronoun[before] && !e.asking[before] && !e.aux[before] && !oneOf(before, "than", "as", "how", "to", "not", "just") && rest > 3 {
			v.at(Closed, sure, "word order inside")
		}
		return
	}
	switch {
	case e.pronoun[next] && rest == 2 && (len(next) <= 5 || next == "there"):
		// "Do you?" is mostly an echo.
		v.at(Closed, 0.4, "echo")
	case oneOf(before, "so", "neither", "nor", "as") && rest <= 3 && !ws[i].fresh && !(before == "so" && next == "you"):
	case oneOf(w, "do", "have", "had", "don't") && !oneOf(next, "you", "i", "we", "they", "he", "she", "it", "y'all", "people", "most", "your", "those", "these", "that"):
		if open && w == "do" && (next == "the" && rest > 5 || next == "a" && at(ws, i+2) == "lot") {
			v.at(Closed, 0.55, "word order")
		}
		if open && w == "do" && rest > 2 && strings.HasSuffix(next, "s") && !oneOf(next, "this", "us", "as", "is", "things", "lots") {
			v.at(Closed, 0.55, "word order")
		}
	case oneOf(w, "do", "don't") && oneOf(next, "it", "that", "this"):
	case w == "did" && oneOf(next, "it", "that", "this") && oneOf(before, "and", "just", "but"), w == "have" && next == "people":
	case w == "is" && next == "that" && !open:
		if e.aux[at(ws, i+2)] || e.determiner[at(ws, i+2)] {
			v.at(Closed, sure, "word order")
		}
	case e.pronoun[next] || strings.HasSuffix(next, "'s") && next != "that's" && next != "it's":
		v.at(Closed, sure, "word order")
	case e.determiner[next] && where >= linked && !open && oneOf(w, "does", "did") && rest > 3:
		v.at(Closed, sure, "word order")
	case e.article[next] && open && !oneOf(w, "may", "might", "must"):
		if oneOf(next, "a", "an") && oneOf(w, "is", "was", "were", "are") {
			v.at(Closed, 0.4, "word order")
			return
		}
		v.at(Closed, 0.75, "word order")
	case open && i == 0 && e.modal[w] && rest > 3 && (strings.HasSuffix(next, "s") || strings.HasSuffix(next, "ed")) && !oneOf(next, "always", "as", "perhaps"):
		v.at(Closed, 0.5, "word order")
	case open && oneOf(w, "have", "has", "had") && next == "any":
		v.at(Closed, 0.7, "word order")
	case open && !oneOf(before, "and", "but") && oneOf(w, "does", "did", "do", "is", "are", "has") && rest > 3 && !e.opener[next] && !oneOf(next, "not", "really", "kind", "going", "like", "just", "to", "in", "on", "very", "pretty", "too", "more", "been", "what", "how", "have", "get", "things"):
		v.at(Closed, 0.55, "word order")
	}
}

// agrees tells whether an auxiliary can stand before a pronoun.
func agrees(aux, pronoun string) bool {
	switch aux {
	case "is", "isn't", "does", "doesn't", "has", "hasn't":
		return !oneOf(pronoun, "i", "you", "we", "they", "these", "those", "y'all", "people")
	case "was", "wasn't":
		return !oneOf(pronoun, "you", "we", "they", "these", "those", "y'all", "people")
	case "are", "aren't", "were", "weren't":
		return oneOf(pronoun, "you", "we", "they", "these", "those", "there", "y'all", "people")
	case "do", "don't", "have", "haven't":
		return oneOf(pronoun, "i", "you", "we", "they", "these", "those", "y'all", "people")
	case "am":
		return pronoun == "i"
	case "had":
		return pronoun == "you"
	}
	return true
}
