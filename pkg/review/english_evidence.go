package review

import (
	"math"
	"strings"

	"rushlight/pkg/story"
)

// evidence weighs the verdict of the rules together with what stands around a
// saying: who talks next and how they begin, whom the saying is about, how
// long it is and how it ends. It names what speaks for or against a question;
// evidenceWeights holds how much each is worth, in log odds, as a logistic
// regression over 895 telephone calls found, each with and without punctuation
// (TestTelephoneQuestions says which).
func (e *english) evidence(v verdict, quotes []story.Quote, i int) []string {
	q := quotes[i]
	s := cut(q.Text)
	ws := e.clean(s.words)
	if len(ws) == 0 {
		return []string{"no words"}
	}
	start := 0
	for start < len(ws)-1 && e.opener[ws[start].text] {
		start++
	}
	said := ws[start:]
	side := "states: "
	if v.score >= 0.45 {
		side = "asks: "
	}
	names := []string{"rules " + grade(v.score), side + "next " + e.next(quotes, i), side + "before " + before(quotes, i), side + e.whom(said), lengthOf(len(said))}
	add := func(is bool, name string) {
		if is {
			names = append(names, name)
		}
	}
	add(v.score > 0, "rule "+e.ruleOf(v))
	add(v.told, "told")
	add(v.hinted, "hinted")
	add(v.about, "about the other")
	text := strings.TrimSpace(q.Text)
	for _, sign := range []string{"?", ".", ","} {
		add(strings.HasSuffix(text, sign), side+"ends in "+sign)
	}
	if start > 0 {
		switch o := ws[start-1].text; o {
		case "so", "oh", "and", "but", "well", "or", "now", "then", "because":
			add(true, side+"after "+o)
		default:
			add(true, side+"after another opener")
		}
	}
	e.ends(said, add)
	e.begins(ws, said, side, add)
	return names
}

// grade puts a score of the rules in classes.
func grade(score float64) string {
	switch {
	case score == 0:
		return "silent"
	case score < 0.45:
		return "against"
	case score < 0.53:
		return "undecided"
	case score < 0.63:
		return "weak"
	case score < 0.8:
		return "fair"
	case score < 0.95:
		return "strong"
	}
	return "strong with ?"
}

// ruleOf names the kind of rule that spoke.
func (e *english) ruleOf(v verdict) string {
	switch {
	case v.why == "word order inside":
		return v.why
	case strings.HasPrefix(v.why, "word order"):
		return "word order"
	case v.kind == Tag:
		return "tag"
	case v.kind == Open:
		return "question word"
	}
	return "other"
}

// next tells who talks next, and how they begin.
func (e *english) next(quotes []story.Quote, i int) string {
	if i+1 == len(quotes) || quotes[i+1].Reel != quotes[i].Reel {
		return "nobody"
	}
	raw := cut(quotes[i+1].Text).words
	ws := e.clean(raw)
	first, second := at(ws, 0), at(ws, 1)
	switch {
	case quotes[i+1].Speaker == quotes[i].Speaker && first == "or":
		return "the same with or"
	case quotes[i+1].Speaker == quotes[i].Speaker:
		return "the same"
	case first == "" && len(raw) > 0:
		return "uh-huh"
	case first == "yes":
		return "yes"
	case oneOf(first, "yeah", "yep"):
		return "yeah"
	case oneOf(first, "no", "nope", "nah", "not", "huh-uh", "uh-uh"), e.opener[first] && second == "no":
		return "no"
	case oneOf(first, "right", "exactly", "sure", "correct", "definitely", "absolutely", "true"), first == "that's" && oneOf(second, "right", "correct", "it", "true"):
		return "right"
	case oneOf(first, "oh", "okay", "huh", "really", "wow", "hm"):
		return "oh"
	case first == "well":
		return "well"
	case oneOf(first, "i", "i'm", "i've", "i'd", "i'll", "we", "we're", "we've", "my", "our"):
		return "about themselves"
	case oneOf(first, "and", "but", "so", "or", "because"):
		return "going on"
	case oneOf(first, "it's", "it", "he", "she", "they", "he's", "she's", "they're", "that"):
		return "about it"
	}
	return "another"
}

// before tells who talked before.
func before(quotes []story.Quote, i int) string {
	switch {
	case i == 0 || quotes[i-1].Reel != quotes[i].Reel:
		return "nobody"
	case quotes[i-1].Speaker == quotes[i].Speaker:
		return "the same"
	}
	return "another"
}

// whom tells whom a saying is about.
func (e *english) whom(said []word) string {
	hasYou, hasMe := false, false
	for _, w := range said {
		hasYou = hasYou || e.you[w.text]
		hasMe = hasMe || e.me[w.text]
	}
	switch first := said[0].text; {
	case e.you[first]:
		return "you first"
	case e.me[first]:
		return "I first"
	case hasMe:
		return "I"
	case hasYou:
		return "you"
	}
	return "neither"
}

func lengthOf(n int) string {
	switch {
	case n == 1:
		return "one word"
	case n == 2:
		return "two words"
	case n <= 4:
		return "to four words"
	case n <= 7:
		return "to seven words"
	case n <= 12:
		return "to twelve words"
	case n <= 20:
		return "to twenty words"
	}
	return "more words"
}

// ends looks at how a saying ends.
func (e *english) ends(said []word, add func(bool, string)) {
	n := len(said)
	last := said[n-1].text
	add(oneOf(last, "right", "huh", "correct"), "ends with right")
	add(oneOf(last, "or", "what") && n > 1, "ends with "+last)
	add(oneOf(last, "then", "there", "too"), "ends with "+last)
	add(n > 2 && last == "know" && at(said, n-2) == "you", "ends with you know")
	add(n > 1 && last != "what" && e.asking[last] && !e.asking[said[0].text], "ends with a question word")
}

// begins looks at how a saying begins.
func (e *english) begins(ws, said []word, side string, add func(bool, string)) {
	first, second, third := said[0].text, at(said, 1), at(said, 2)
	if first == "you" && second == "know" {
		switch {
		case e.asking[third]:
			add(true, "you know what")
		case third == "":
			add(true, "you know alone")
		default:
			add(true, "you know that")
		}
	}
	add(first == "you" && oneOf(second, "said", "say", "mentioned", "mean", "think", "thought"), "you said")
	add(first == "you" && e.modal[second], "you must")
	all := joined(said)
	add(strings.Contains(all, " don't know if you"), "I don't know if you")
	add(strings.Contains(all, " i wonder ") || strings.Contains(all, " wondering ") || strings.Contains(all, " curious "), "wondering")
	for _, p := range []string{"guess", "bet", "assume", "suppose", "imagine", "take it"} {
		add(strings.HasPrefix(all, " i "+p+" you"), "I guess you")
	}
	add(strings.HasPrefix(all, " i'm sure you") || strings.HasPrefix(all, " i'm assuming you"), "I guess you")
	add(first == "like", "like first")
	add(ws[0].text == "or", "or first")
	add(len(said) == 2 && (e.aux[first] || e.modal[first]) && e.pronoun[second], "auxiliary and pronoun alone")
	add(e.asking[first], "question word first")
	add(oneOf(first, "for", "in", "at", "to", "from", "of", "with", "on", "about") && e.asking[second], "question word second")
	add(e.aux[first] || e.modal[first] || e.determiner[first], side+"auxiliary or article first")
	add(oneOf(first, "that's", "it's", "he's", "she's", "they're", "that", "it", "he", "she", "they", "there's", "this"), side+"third person first")
	for _, w := range said {
		if oneOf(w.text, "probably", "must", "guess") {
			add(true, side+"probably")
			break
		}
	}
	last := said[len(said)-1].text
	add(len(said) > 1 && (e.aux[last] || e.modal[last] || oneOf(last, "the", "a", "of", "to", "and")), side+"breaks off")
}

// likelyFrom is the likelihood from which a saying counts as a question: where
// F1 was highest on those calls.
const likelyFrom = 0.35

// keptFrom is the score of the rules from which no evidence speaks against
// them where the same person goes on or the saying has more than keptOver
// words: at a hearing or in an interview, unlike on the telephone, questions
// stand in long turns.
const (
	keptFrom = 0.54
	keptOver = 20
)

// settle turns the verdict of the rules into that of all evidence.
func (e *english) settle(v *verdict, quotes []story.Quote, i int) {
	names := e.evidence(*v, quotes, i)
	likely := weigh(names)
	ruled := v.score >= AsksFrom
	if ruled && v.score >= keptFrom && (strings.HasPrefix(e.next(quotes, i), "the same") || len(cut(quotes[i].Text).words) > keptOver) {
		return
	}
	if likely < likelyFrom {
		v.score = AsksFrom * likely / likelyFrom * 0.99
		return
	}
	v.score = AsksFrom + (1-AsksFrom)*(likely-likelyFrom)/(1-likelyFrom)
	if ruled {
		return
	}
	best := ""
	for _, n := range names {
		if best == "" || evidenceWeights[n] > evidenceWeights[best] {
			best = n
		}
	}
	v.why = best
	ws := e.clean(cut(quotes[i].Text).words)
	switch last := at(ws, len(ws)-1); {
	case v.kind != "":
	case oneOf(last, "right", "huh", "correct") && len(ws) > 1:
		v.kind = Tag
	case last == "or", at(ws, 0) == "or":
		v.kind = Choice
	case e.asking[at(ws, 0)]:
		v.kind = Open
	default:
		v.kind = Declarative
	}
	v.leading = e.leads(ws, *v)
}

// weigh gives how likely a saying asks, 0 to 1.
func weigh(names []string) float64 {
	sum := evidenceBias
	for _, n := range names {
		sum += evidenceWeights[n]
	}
	return 1 / (1 + math.Exp(-sum))
}
