package review

import "strings"

// verdict is a judgement of one saying.
type verdict struct {
	kind    Kind
	score   float64
	leading bool
	why     string
	// about tells that the saying, as a statement, is about the one spoken
	// to, so that their yes or no makes it a question.
	about bool
	// told tells that the question is one that somebody tells of having
	// asked: "he said, what do you want?"
	told bool
	// hinted tells that a statement sounds like a question: it needs only
	// that the other goes on.
	hinted bool
}

func (v *verdict) at(kind Kind, score float64, why string) {
	if score > v.score {
		v.kind, v.score, v.why = kind, score, why
	}
}

func at(ws []word, i int) string {
	if i >= 0 && i < len(ws) {
		return ws[i].text
	}
	return ""
}

func (e *english) later(ws []word, from int, of ...string) bool {
	for _, w := range ws[min(from, len(ws)):] {
		if oneOf(w.text, of...) {
			return true
		}
	}
	return false
}

func oneOf(w string, of ...string) bool {
	for _, o := range of {
		if w == o {
			return true
		}
	}
	return false
}

// joined is the words with a space around each.
func joined(ws []word) string {
	var all strings.Builder
	all.WriteByte(' ')
	for _, w := range ws {
		all.WriteString(w.text)
		all.WriteByte(' ')
	}
	return all.String()
}
