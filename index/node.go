package index

import (
	"fmt"
	"strconv"
	"strings"
)

// node is a piece of a query: one of the types below.
type node any

type (
	andNode []node
	orNode  []node
	notNode struct{ of node }
	// wordNode wants a word in any of its forms; words holds more than one
	// only where what was typed in one piece is several words ("far-bank"),
	// which then stand together as a phrase.
	wordNode struct{ written string }
	// phraseNode wants these folded words next to each other, as they are.
	phraseNode struct{ words []string }
	// prefixNode wants words that start so; folded.
	prefixNode struct{ prefix string }
	// fuzzyNode wants words within some letters of this one; folded.
	fuzzyNode struct {
		word    string
		letters int
	}
	// factNode wants quotes with a fact; say is how it reads to people.
	factNode struct {
		kind  byte
		match func(name string) bool
		say   string
		// prefix is a common start of all names that match, to save looking
		// at the others.
		prefix string
	}
	codeNode struct{ code string }
)

// fuzzyMost is the greatest distance of a fuzzy word: what bleve's automata
// are built for.
const fuzzyMost = 2

// leaf makes a node of a word, a phrase or a field.
func (p *parser) leaf(t token) (node, error) {
	if t.field != "" {
		return p.field(t)
	}
	if t.quoted {
		words := foldedWords(t.text)
		if len(words) == 0 {
			return nil, p.problem(t.at, "there is no word between these quotation marks", "put the words that were said between them")
		}
		return &phraseNode{words}, nil
	}
	if base, letters, ok := strings.Cut(t.text, "~"); ok {
		return p.fuzzy(t, base, letters)
	}
	if i := strings.IndexByte(t.text, '*'); i >= 0 {
		return p.prefix(t, i)
	}
	words := cutWords(t.text, nil)
	switch len(words) {
	case 0:
		return nil, p.problem(t.at, fmt.Sprintf("%q holds no word", t.text), "")
	case 1:
		return &wordNode{t.text[words[0].start:words[0].end]}, nil
	}
	return &phraseNode{foldedWords(t.text)}, nil
}

func (p *parser) fuzzy(t token, base, letters string) (node, error) {
	words := foldedWords(base)
	n := 1
	if letters = strings.TrimRight(letters, ".,;!?"); letters != "" {
		var err error
		if n, err = strconv.Atoi(letters); err != nil || n < 1 || n > fuzzyMost {
			return nil, p.problem(t.at+len(base), fmt.Sprintf("after ~ stands %q, want 1 or 2: how many letters may differ", letters), "")
		}
	}
	if len(words) != 1 {
		return nil, p.problem(t.at, "~ needs one word before it", "such as bell~")
	}
	return &fuzzyNode{words[0], n}, nil
}

func (p *parser) prefix(t token, star int) (node, error) {
	rest := strings.TrimRight(t.text[star:], ".,;!?")
	words := foldedWords(t.text[:star])
	if rest != "*" {
		return nil, p.problem(t.at+star, "* stands inside a word", "put it at the end, as in bell*")
	}
	if len(words) != 1 || !strings.HasSuffix(Fold(t.text[:star]), words[0]) {
		return nil, p.problem(t.at+star, "* needs the start of one word right before it", "as in bell*")
	}
	return &prefixNode{words[0]}, nil
}

// foldedWords cuts and folds text.
func foldedWords(text string) []string {
	var words []string
	for _, w := range cutWords(text, nil) {
		if f := Fold(text[w.start:w.end]); f != "" {
			words = append(words, f)
		}
	}
	return words
}

// understood puts a query in the words in which it was understood.
func (e *evaluator) understood(n node) string { return e.say(n, false) }

func (e *evaluator) say(n node, inner bool) string {
	join := func(parts []node, with string) string {
		said := make([]string, len(parts))
		for i, p := range parts {
			said[i] = e.say(p, true)
		}
		s := strings.Join(said, with)
		if inner {
			return "(" + s + ")"
		}
		return s
	}
	switch n := n.(type) {
	case andNode:
		return join(n, " AND ")
	case orNode:
		return join(n, " OR ")
	case notNode:
		return "NOT " + e.say(n.of, true)
	case *wordNode:
		return Fold(n.written)
	case *phraseNode:
		return `"` + strings.Join(n.words, " ") + `"`
	case *prefixNode:
		return n.prefix + "*"
	case *fuzzyNode:
		return fmt.Sprintf("%s~%d", n.word, n.letters)
	case *factNode:
		return n.say + e.names(n)
	case *codeNode:
		return "code " + n.code
	}
	return ""
}

// names lists the names that a speaker's, theme's or reel's description took
// in where that says more than the query did.
func (e *evaluator) names(n *factNode) string {
	names, ok := e.factNames[n.say]
	switch {
	case !ok:
		return ""
	case len(names) == 0 && n.say == anyTheme:
		return " (no quote has one)"
	case len(names) == 0:
		return " (" + map[byte]string{factSpeaker: "nobody", factTheme: "no theme", factReel: "no words in a reel", factDay: "no day"}[n.kind] + " of that name)"
	case len(names) > 4:
		return fmt.Sprintf(" (%s and %d more)", strings.Join(names[:4], ", "), len(names)-4)
	case len(names) == 1 && strings.HasSuffix(n.say, " "+names[0]):
		return ""
	}
	return " (" + strings.Join(names, ", ") + ")"
}
