package review

import "strings"

// english holds the word lists of the English rules.
type english struct {
	aux, modal, negated, pronoun, article, determiner, adjective, opener, asking, links, filler, you, me map[string]bool
}

func newEnglish() *english {
	return &english{
		aux:        set("do does did is are was were am have has had don't doesn't didn't isn't aren't wasn't weren't haven't hasn't hadn't ain't"),
		modal:      set("can could will would shall should may might must can't couldn't won't wouldn't shouldn't"),
		negated:    set("don't doesn't didn't isn't aren't wasn't weren't haven't hasn't hadn't ain't can't couldn't won't wouldn't shouldn't"),
		pronoun:    set("i you he she it we they there this that these those y'all anybody anyone somebody someone everybody everyone anything something people"),
		article:    set("a an the my your his her its our their any some most all both many"),
		determiner: set("a an the my your his her its our their some any"),
		adjective:  set("great funny amazing strange nice neat something awful terrible interesting weird sad wonderful crazy incredible ridiculous"),
		opener:     set("well so and but or oh okay ok yeah yes no now then right uh-huh um-hum huh hm see anyway anyways actually because cause alright gosh yep sure great good except plus also again just basically first"),
		asking:     set("what where when who whom whose why how which what's where's who's how's when's why's what're where're what'd how'd where'd what'll who'd"),
		links:      set("and or but so like because well then is was guess wondering"),
		filler:     set("uh um er erm ah eh mm hm uh-huh huh"),
		you:        set("you you're you've you'd you'll your yours yourself y'all"),
		me:         set("i i'm i've i'd i'll me my myself we we're we've us our"),
	}
}

// clean leaves out fillers, broken words and words said twice. A clause may
// begin after what was left out, too.
func (e *english) clean(words []word) []word {
	var out []word
	fresh := false
	for i := 0; i < len(words); i++ {
		w := words[i]
		pair := ""
		if i+1 < len(words) {
			pair = w.text + " " + words[i+1].text
		}
		switch {
		case w.broken || e.filler[w.text]:
			fresh = fresh || w.fresh
			continue
		case pair == "i mean" || pair == "you know" && i+2 < len(words) && !e.afterYouKnow(words[i+2], words, i):
			fresh = true
			i++
			continue
		}
		w.fresh = w.fresh || fresh
		fresh = false
		if n := len(out); n > 0 && out[n-1].text == w.text {
			out[n-1].fresh = true
			continue
		}
		if n := len(out); n > 1 && i+1 < len(words) && out[n-2].text == w.text && out[n-1].text == words[i+1].text {
			out[n-2].fresh = true
			i++
			continue
		}
		out = append(out, w)
	}
	return out
}

// afterYouKnow tells that "you know" is meant, not a filler: "do you know
// what", "you know whether".
func (e *english) afterYouKnow(next word, words []word, i int) bool {
	if i > 0 && oneOf(words[i-1].text, "do", "did", "don't", "didn't", "would", "if", "as", "that", "everybody", "everything", "anything", "anybody") {
		return true
	}
	return !next.fresh && oneOf(next.text, "if", "whether", "that", "about", "how", "what", "who", "where", "anybody", "anything")
}

// judge applies the rules.
func (e *english) judge(s saying) verdict {
	var v verdict
	ws := e.clean(s.words)
	if len(ws) == 0 {
		return v
	}
	start := 0
	for start < len(ws)-1 {
		this, next := ws[start].text, ws[start+1].text
		restart := (e.aux[this] || e.modal[this]) && (e.aux[next] || e.modal[next]) && e.pronoun[at(ws, start+2)] ||
			e.asking[this] && e.asking[next] || this == "you" && oneOf(next, "are", "did", "were") && at(ws, start+2) == "you"
		if !restart && !(e.opener[this] && (this != "or" || start == 0)) {
			break
		}
		start++
	}
	if e.exclaims(ws[start:]) {
		v.at(Closed, 0.3, "exclaims")
		return v
	}
	for i := start; i < len(ws); i++ {
		if i > start && e.reported(ws[:i]) {
			var told verdict
			e.clause(&told, ws, i, opening)
			if told.score > 0 {
				v.told = true
				break
			}
			continue
		}
		where := inside
		switch {
		case i == start:
			where = opening
		case ws[i].fresh:
			where = fresh
		case e.links[ws[i-1].text]:
			where = linked
		}
		e.clause(&v, ws, i, where)
	}
	e.tag(&v, ws, start, s.mark)
	e.statement(&v, ws, start)
	if s.mark || s.inner {
		e.marked(&v, ws, start, s)
	}
	if v.score >= AsksFrom {
		e.choice(&v, ws)
		v.leading = v.kind != Choice && e.leads(ws, v)
	}
	return v
}

// exclaims tells that what has the form of a question only says that one
// listens: "Is that right?", "Isn't that funny?", "Can you imagine?"
func (e *english) exclaims(ws []word) bool {
	all := strings.TrimSpace(joined(ws))
	switch all {
	case "is that right", "is that so", "can you imagine", "can you believe it", "can you believe that", "how about that":
		return true
	}
	n := len(ws)
	return n <= 3 && n > 1 && ws[n-1].text == "really" && e.aux[ws[0].text] ||
		n <= 5 && n > 2 && e.negated[ws[0].text] && oneOf(ws[1].text, "that", "it") && e.adjective[ws[n-1].text]
}

// reported tells that what follows is told speech: "he said, what do you want".
func (e *english) reported(ws []word) bool {
	n := len(ws)
	for i := max(0, n-4); i < n; i++ {
		switch ws[i].text {
		case "said", "says", "thought", "goes", "asked", "thinking", "saying", "wondered", "told":
			return true
		case "going", "go", "asking", "joking":
			if i >= n-2 && (i < n-1 || ws[i].text == "asking") {
				return true
			}
		case "say":
			if i > 0 && oneOf(ws[i-1].text, "i", "they", "people", "we", "and", "to", "you") {
				return true
			}
		case "like":
			if i > 0 && oneOf(ws[i-1].text, "i'm", "was", "were", "it's", "he's", "she's", "they're") {
				return true
			}
		}
	}
	return false
}
