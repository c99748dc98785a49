package review

import (
	"fmt"
	"strings"
	"unicode"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// fluent asks how much of a passage is fillers, broken words, starts that were
// given up and words said twice.
func fluent(s saying, t *tongue) Part {
	p := Part{Name: PartFluent, Weight: weightFluent, Value: 1, Why: "fluent"}
	n := 0
	for i, w := range s.words {
		switch {
		case w.broken, t.filler[w.text], i > 0 && s.words[i-1].text == w.text, t.restarts(w):
			n++
		case t.marks(s.words, i), saidTwice(s.words, i):
			n += 2
		}
	}
	if n > 0 {
		p.Value = 1 - 4*float64(n)/float64(len(s.words))
		p.Why = fmt.Sprintf("%d of %d words are fillers or false starts", n, len(s.words))
	}
	return p
}

// restarts tells that a new sentence begins at a word without the one before
// having ended: "the bell I guess So nobody came".
func (t *tongue) restarts(w word) bool {
	return w.capital && !w.fresh && (t.joining[w.text] || t.replies[w.text] || t.bound[w.text] || t.halves[w.text] || t.self[w.text]) &&
		w.text != "i" && !strings.HasPrefix(w.text, "i'")
}

// marks tells that two words from i on only fill, as "you know" does where a
// clause ends after it.
func (t *tongue) marks(ws []word, i int) bool {
	return i+1 < len(ws) && t.markers[ws[i].text+" "+ws[i+1].text] && (i+2 == len(ws) || ws[i+2].fresh)
}

// saidTwice tells that two words from i on are said once more without a pause.
func saidTwice(ws []word, i int) bool {
	return i+3 < len(ws) && ws[i].text == ws[i+2].text && ws[i+1].text == ws[i+3].text && ws[i].text != ws[i+1].text &&
		!ws[i+2].fresh && !ws[i+3].fresh
}

// emphasis looks for what makes a saying stick: words that say all or
// nothing, two sentences or clauses that begin alike, a silence before it.
func emphasis(q story.Quote, s saying, t *tongue, before []story.Quote) Part {
	p := Part{Name: PartEmphasis, Weight: weightEmphasis, Value: 0.2, Why: "plain"}
	var why []string
	for _, w := range s.words {
		if t.strong[w.text] {
			why = append(why, "\""+w.text+"\"")
			p.Value += 0.35
			break
		}
	}
	if w := alike(s); w != "" {
		why = append(why, "comes back to \""+w+"\"")
		p.Value += 0.25
	}
	if strings.Contains(q.Text, "!") {
		why = append(why, "an exclamation mark")
		p.Value += 0.2
	}
	if n := len(before); n > 0 && before[n-1].Reel == q.Reel {
		if silence := q.In - before[n-1].Out; silence >= timecode.Second {
			why = append(why, silence.Short()+" of silence before it")
			p.Value += 0.25
		}
	}
	if len(why) > 0 {
		p.Why = strings.Join(why, ", ")
	}
	return p
}

// alike is the word with which two clauses begin, or "" if none.
func alike(s saying) string {
	begun := map[string]bool{}
	for i, w := range s.words {
		if !w.fresh || i+1 >= len(s.words) || s.words[i+1].fresh {
			continue
		}
		pair := w.text + " " + s.words[i+1].text
		if begun[pair] {
			return pair
		}
		begun[pair] = true
	}
	return ""
}

// self asks whether the speaker talks about themselves.
func self(s saying, t *tongue) Part {
	p := Part{Name: PartSelf, Value: 0.5, Why: "no word list for this language"}
	if t.self == nil {
		return p
	}
	p.Weight, p.Value, p.Why = weightSelf, 0.3, "not about themselves"
	for _, w := range s.words {
		if t.self[w.text] {
			p.Value, p.Why = 1, "about themselves: \""+w.text+"\""
			break
		}
	}
	return p
}

// concrete asks for what can be seen and heard, names and numbers; vague
// words count against it.
func concrete(text string, s saying, t *tongue) Part {
	p := Part{Name: PartConcrete, Value: 0.5, Why: "no word list for this language"}
	if t.concrete == nil {
		return p
	}
	p.Weight = weightConcrete
	named := names(text, t)
	var seen []string
	vague := 0
	for _, w := range s.words {
		base := strings.TrimSuffix(w.text, "'s")
		switch {
		case t.concrete[base], t.concrete[strings.TrimSuffix(base, "s")], named[base], unicode.IsDigit(rune(base[0])):
			seen = append(seen, base)
		case t.vague[base]:
			vague++
		}
	}
	n := float64(max(len(s.words), 4))
	p.Value = 0.2 + 4*float64(len(seen))/n - 3*float64(vague)/n
	p.Why = "nothing to see or hear"
	if len(seen) > 0 {
		p.Why = strings.Join(seen[:min(len(seen), 4)], ", ")
	}
	if vague > 0 {
		p.Why += fmt.Sprintf("; %d vague words", vague)
	}
	return p
}

// names are the words with a capital letter inside a sentence, in lower case
// and without a possessive. A word that ties sentences together is none: a new
// one began there.
func names(text string, t *tongue) map[string]bool {
	out := map[string]bool{}
	start := true
	for _, w := range strings.Fields(text) {
		bareWord := strings.TrimFunc(w, func(r rune) bool { return !unicode.IsLetter(r) })
		if !start && isCapital(bareWord) {
			name, _, _ := strings.Cut(strings.ToLower(strings.ReplaceAll(bareWord, "’", "'")), "'")
			out[name] = !t.ties(name)
		}
		start = strings.ContainsAny(w[len(w)-1:], ".!?:\"") || strings.HasSuffix(w, "…")
	}
	return out
}

// ties tells the words of the lists that name nothing.
func (t *tongue) ties(w string) bool {
	for _, list := range []map[string]bool{t.points, t.joining, t.bound, t.halves, t.hanging, t.replies, t.filler, t.self, t.vague} {
		if list[w] {
			return true
		}
	}
	return false
}
