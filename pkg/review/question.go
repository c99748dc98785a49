package review

import (
	"strings"
	"sync"

	"rushlight/pkg/story"
)

// Kind is how a question is built; "" is none.
type Kind string

// The kinds of question.
const (
	// Closed asks for yes or no by word order: "Do you hate it?"
	Closed Kind = "closed"
	// Open asks with a question word: "Where would you start it?"
	Open Kind = "open"
	// Choice offers what to choose from: "Is it progress, or is it a loss?"
	Choice Kind = "choice"
	// Declarative asks in the word order of a statement: "You go across?"
	Declarative Kind = "declarative"
	// Tag is a statement with a question hung on: "It's the end, isn't it?"
	Tag Kind = "tag"
)

// AsksFrom is the score from which a saying counts as a question.
const AsksFrom = 0.5

// Question is a saying that asks.
type Question struct {
	Quote story.Quote `json:"quote"`
	Kind  Kind        `json:"kind"`
	// Leading tells that it puts its answer into the other's mouth: a tag, a
	// negated question, "you must be", "would you say".
	Leading bool `json:"leading"`
	// Score is how sure it is, from AsksFrom to 1.
	Score float64 `json:"score"`
	// Why names what told it, for people: "?", "word order".
	Why string `json:"why"`
}

// Questions finds the sayings that ask, in the order given. Quotes of one reel
// stand together and in order; the saying before and after helps to tell.
// Sayings are judged with or without punctuation.
func Questions(quotes []story.Quote) []Question {
	j := rules()
	var out []Question
	var before verdict
	for i, q := range quotes {
		v := j.judge(q.Text, q.Language)
		if isEnglish(q.Language) {
			j.english.settle(&v, quotes, i)
		} else {
			j.around(&v, quotes, i, before)
		}
		before = v
		if v.score >= AsksFrom && v.kind != "" {
			out = append(out, Question{Quote: q, Kind: v.kind, Leading: v.leading, Score: v.score, Why: v.why})
		}
	}
	return out
}

// IsQuestion judges one saying alone: its kind, "" for none, and how sure it
// is, 0 to 1. The language is a BCP 47 tag; "" and those without rules of
// their own (en, de, fr, es, nl, it, pt have) go by the question mark alone.
func IsQuestion(text, language string) (Kind, float64) {
	v := rules().judge(text, language)
	if v.score < AsksFrom {
		return "", v.score
	}
	return v.kind, v.score
}

// judge holds the rules of all languages. It is never changed once made.
type judge struct {
	english *english
	others  map[string]*grammar
}

// rules makes the one judge when it is first asked for.
var rules = sync.OnceValue(func() *judge {
	return &judge{english: newEnglish(), others: grammars()}
})

// baseOf gives the language of a tag, without country or script.
func baseOf(language string) string {
	base, _, _ := strings.Cut(strings.ToLower(strings.ReplaceAll(language, "_", "-")), "-")
	return base
}

func isEnglish(language string) bool { return baseOf(language) == "en" }

// judge judges one saying alone.
func (j *judge) judge(text, language string) verdict {
	s := cut(text)
	base := baseOf(language)
	if base == "en" {
		return j.english.judge(s)
	}
	if g, ok := j.others[base]; ok {
		return g.judge(s)
	}
	var v verdict
	if s.mark || s.inner {
		v.at(Declarative, 0.75, "?")
	}
	return v
}

// around uses what was said before and is said next; before is the verdict on
// the saying before.
func (j *judge) around(v *verdict, quotes []story.Quote, i int, before verdict) {
	q := quotes[i]
	words := cut(q.Text).words
	if len(words) == 0 {
		return
	}
	var last, next story.Quote
	if i > 0 && quotes[i-1].Reel == q.Reel {
		last = quotes[i-1]
	}
	if i+1 < len(quotes) && quotes[i+1].Reel == q.Reel {
		next = quotes[i+1]
	}
	answer := j.english.clean(cut(next.Text).words)
	answered := next.Speaker != q.Speaker && len(answer) > 0
	switch {
	case v.why == "?" && len(words) <= 3 && last.Speaker != q.Speaker && repeats(words, cut(last.Text).words):
		v.score, v.why = 0.4, "repeats"
	case v.score >= AsksFrom:
	case last.Text != "" && last.Speaker == q.Speaker && before.score >= AsksFrom && words[0].text == "or" && len(words) > 2:
		v.at(Choice, 0.6, "or, after a question")
	case !answered || strings.ContainsAny(q.Text[len(q.Text)-1:], ".!"):
		// Whoever wrote a full stop heard a statement.
	case len(words) > 3 && words[len(words)-1].text == "or":
		v.at(Choice, 0.55, "left open with or")
	case v.hinted:
		v.at(Declarative, 0.55, "about the other")
	case v.about && oneOf(answer[0].text, "no", "nope"):
		v.at(Declarative, 0.55, "answered "+answer[0].text)
	}
}

// repeats tells that all words were among those before.
func repeats(words, before []word) bool {
	said := map[string]bool{}
	for _, w := range before {
		said[w.text] = true
	}
	for _, w := range words {
		if !said[w.text] {
			return false
		}
	}
	return true
}
