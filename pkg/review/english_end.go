package review

import "strings"

// tag looks for a question hung on the end.
func (e *english) tag(v *verdict, ws []word, start int, mark bool) {
	n := len(ws)
	if n-start < 4 && !mark || n-start < 3 {
		return
	}
	last, before := ws[n-1].text, ws[n-2].text
	switch {
	case e.negated[before] && oneOf(last, "i", "you", "he", "she", "it", "we", "they", "there", "that") && n-start >= 4:
		v.at(Tag, 0.85, "tag "+before+" "+last)
	case n-start >= 5 && (e.aux[before] || e.modal[before]) && oneOf(last, "i", "you", "he", "she", "it", "we", "they", "there") && agrees(before, last) && e.denied(ws[start:n-2]):
		v.at(Tag, 0.6, "tag "+before+" "+last)
	case mark && ws[n-2].fresh && (e.aux[before] || e.modal[before]) && e.pronoun[last]:
		v.at(Tag, 0.9, "tag "+before+" "+last)
	case mark && oneOf(last, "right", "huh", "correct", "no", "eh"):
		v.at(Tag, 0.8, "tag "+last)
	}
}

// denied tells that a clause says no.
func (e *english) denied(ws []word) bool {
	for _, w := range ws {
		if e.negated[w.text] || oneOf(w.text, "not", "never", "no", "nobody", "nothing") {
			return true
		}
	}
	return false
}

// statement looks for statements that ask by what they are about: the one
// spoken to.
func (e *english) statement(v *verdict, ws []word, start int) {
	first, next := ws[start].text, at(ws, start+1)
	you := oneOf(first, "you", "you're", "you've", "your", "y'all")
	v.about = you && len(ws)-start <= 10
	v.hinted = you && len(ws)-start > 2 && (oneOf(next, "think", "mean", "must", "guys", "still") || first == "you're" && next == "in")
	if v.about && first == "you" && len(ws)-start > 2 && start > 0 && oneOf(ws[start-1].text, "so", "oh", "now") && at(ws, start-2) != "and" && at(ws, start-2) != "but" &&
		!e.modal[next] && !oneOf(next, "know", "don't", "see", "have", "just", "never", "always", "think", "get", "got") {
		v.at(Declarative, 0.5, ws[start-1].text+" "+first)
	}
	all := joined(ws)
	for _, p := range []string{" sounds as though you", " i don't know if you've "} {
		if strings.Contains(all, p) {
			v.at(Declarative, 0.5, strings.TrimSpace(p))
		}
	}
}

// marked weighs the question mark.
func (e *english) marked(v *verdict, ws []word, start int, s saying) {
	said := ws[start:]
	n := len(ws)
	switch strings.TrimSpace(joined(said)) {
	case "what", "huh", "really", "pardon", "pardon me", "excuse me", "sorry", "i'm sorry", "okay", "right", "yeah", "is that right", "is that so",
		"uh-huh", "say again", "come again", "you know", "what's that", "what was that", "say what", "do what", "i beg your pardon", "beg your pardon",
		"no kidding", "you're kidding", "are you serious", "you think so", "what did you say", "who", "isn't that something":
		v.score = min(v.score, 0.3)
		return
	}
	switch {
	case v.why == "echo":
		return
	case len(said) <= 3 && said[len(said)-1].text == "what", len(said) == 2 && e.pronoun[said[0].text] && (e.aux[said[1].text] || e.modal[said[1].text]):
		v.score = min(v.score, 0.4)
		return
	case v.told && v.score < AsksFrom:
		v.at(Open, 0.4, "told")
		return
	case n > 2 && v.score < AsksFrom && (ws[n-1].text == "okay" || ws[n-2].text == "you" && ws[n-1].text == "know"):
		v.at(Tag, 0.4, "you know?")
		return
	}
	if v.score >= AsksFrom {
		v.score = max(v.score, 0.97)
		v.why += " and ?"
		return
	}
	score := 0.75
	if !s.mark {
		score = 0.6
	}
	kind := Declarative
	if v.kind != "" {
		kind = v.kind
	}
	for _, w := range ws {
		if e.asking[w.text] {
			kind = Open
		}
	}
	v.at(kind, score, "?")
}

// leads tells whether a question carries its answer.
func (e *english) leads(ws []word, v verdict) bool {
	if v.kind == Tag {
		return true
	}
	all := joined(ws)
	for _, p := range []string{
		" don't you think ", " wouldn't you ", " would you say ", " wouldn't it ", " isn't it ", " you must ", " surely ", " aren't you ",
		" isn't that ", " doesn't it ", " would you agree ", " don't you ", " didn't you ",
	} {
		if strings.Contains(all, p) {
			return true
		}
	}
	return false
}

// choice turns a closed question with "or" in it into one between things.
func (e *english) choice(v *verdict, ws []word) {
	if v.kind != Closed && v.kind != Declarative {
		return
	}
	for i, w := range ws {
		if w.text == "or" && i < len(ws)-1 && !oneOf(at(ws, i+1), "something", "anything", "whatever", "so") {
			v.kind = Choice
		}
	}
}
