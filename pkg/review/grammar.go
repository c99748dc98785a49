package review

import "strings"

// grammar holds the few rules by which a language other than English shows a
// question: question words at the start, the verb before its subject, fixed
// phrases, tags. They are school grammar, tried on made examples only.
type grammar struct {
	// asking are question words that open a question. A subject right after
	// one makes it a clause of a statement where verbSecond is set ("was ich
	// mache"). unsure are those that mostly open statements.
	asking, unsure map[string]bool
	verbSecond     bool
	// verb and subject tell an inversion at the start; ending before subject
	// is told by form ("-st du").
	verb, subject map[string]bool
	form          func(verb, subject string) bool
	opener        map[string]bool
	// phrases ask at the start of a saying or after punctuation, marks ask
	// anywhere, tags at the end, after punctuation.
	phrases, marks, tags []string
	or                   string
	// leading phrases carry an answer.
	leading []string
	// not are openings that look like questions and are none.
	not []string
}

// judge applies the rules of one language.
func (g *grammar) judge(s saying) verdict {
	var v verdict
	ws := s.words
	start := 0
	for start < len(ws)-1 && g.opener[ws[start].text] {
		start++
	}
	ws = ws[start:]
	if len(ws) == 0 {
		return v
	}
	all := joined(ws)
	g.order(&v, ws, all)
	g.phrased(&v, ws, all)
	tagged := g.tagged(ws, s)
	switch {
	case s.mark && tagged != "":
		v.kind, v.score, v.why = Tag, 0.9, "tag "+tagged
	case (s.mark || s.inner) && v.score >= AsksFrom:
		v.score = 0.97
		v.why += " and ?"
	case s.mark || s.inner:
		kind := Declarative
		if g.asking[ws[0].text] || g.unsure[ws[0].text] {
			kind = Open
		} else if v.kind != "" {
			kind = v.kind
		}
		v.at(kind, 0.75, "?")
	}
	if v.kind == Closed || v.kind == Declarative {
		for i, w := range ws {
			if g.or != "" && w.text == g.or && i > 0 && i < len(ws)-1 {
				v.kind = Choice
			}
		}
	}
	v.leading = v.kind == Tag
	for _, p := range g.leading {
		v.leading = v.leading || strings.Contains(all, p)
	}
	return v
}

// phrased looks for fixed phrases.
func (g *grammar) phrased(v *verdict, ws []word, all string) {
	kind := Closed
	if g.asking[ws[0].text] || g.unsure[ws[0].text] {
		kind = Open
	}
	for _, p := range g.marks {
		if strings.Contains(all, p) {
			v.at(kind, 0.9, strings.TrimSpace(p))
		}
	}
	for _, p := range g.phrases {
		if k := strings.Index(all, p); k >= 0 && ws[strings.Count(all[:k+1], " ")-1].fresh {
			v.at(Open, 0.85, strings.TrimSpace(p))
		}
	}
}

// order looks at how a saying begins.
func (g *grammar) order(v *verdict, ws []word, all string) {
	for _, p := range g.not {
		if strings.HasPrefix(all, p) {
			return
		}
	}
	first, next := ws[0].text, at(ws, 1)
	switch {
	case g.asking[first] && g.verbSecond && g.subject[next]:
	case g.asking[first]:
		v.at(Open, 0.75, first)
	case g.unsure[first]:
		v.at(Open, 0.35, first)
	case g.asking[next] && oneOf(first, "in", "mit", "von", "für", "seit", "bis", "auf", "de", "à", "por", "para", "con", "a", "op", "met", "van", "voor", "da", "di", "per", "em", "com"):
		v.at(Open, 0.7, first+" "+next)
	case g.verb[first] && g.subject[next], g.form != nil && len(ws) > 1 && g.form(first, next):
		v.at(Closed, 0.75, "word order")
	}
}

// tagged is the tag that ends a saying, "" if none does.
func (g *grammar) tagged(ws []word, s saying) string {
	all := strings.TrimSpace(joined(ws))
	for _, tag := range g.tags {
		rest, ok := strings.CutSuffix(all, " "+tag)
		if !ok || strings.Count(rest, " ") < 1 {
			continue
		}
		if k := len(ws) - 1 - strings.Count(tag, " "); k > 0 && ws[k].fresh {
			return tag
		}
	}
	return ""
}
