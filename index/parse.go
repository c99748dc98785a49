package index

import (
	"errors"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// ErrQuery is wrapped by every *QueryError.
var ErrQuery = errors.New("query can't be read")

// QueryError says why a query can't be read and where.
type QueryError struct {
	Text string
	// At is the byte of Text that it is about; len(Text) for its end.
	At int
	// Problem says what is wrong, Hint what to do.
	Problem, Hint string
}

// Error gives problem, place and hint in one line; characters count from 1.
func (e *QueryError) Error() string {
	where := fmt.Sprintf("query, character %d: ", utf8.RuneCountInString(e.Text[:e.At])+1)
	if strings.TrimSpace(e.Text) == "" {
		where = "query: "
	}
	if e.Hint == "" {
		return where + e.Problem
	}
	return where + e.Problem + "; " + e.Hint
}

// Unwrap gives ErrQuery.
func (e *QueryError) Unwrap() error { return ErrQuery }

// depthMost bounds nested parentheses.
const depthMost = 50

// token is one piece of a query.
type token struct {
	kind tokenKind
	// text is the word, the words in quotation marks, or the field's value.
	text  string
	field string
	// quoted tells that text stood in quotation marks.
	quoted bool
	at     int
}

type tokenKind int

const (
	tokenEnd tokenKind = iota
	tokenWord
	tokenOpen
	tokenClose
	tokenAnd
	tokenOr
	tokenNot
)

// parser reads a query by recursive descent:
//
//	query = or .            or  = and { "OR" and } .
//	and   = not { ["AND"] not } .
//	not   = ( "NOT" | "-" ) not | "(" or ")" | word .
type parser struct {
	text   string
	tokens []token
	next   int
	depth  int
}

// parse reads a query.
func parse(text string) (node, error) {
	p := &parser{text: text}
	if err := p.cut(); err != nil {
		return nil, err
	}
	if p.peek().kind == tokenEnd {
		return nil, p.problem(len(text), "there is nothing to search for", "give a word, such as bell")
	}
	n, err := p.or()
	if err != nil {
		return nil, err
	}
	if t := p.peek(); t.kind == tokenClose {
		return nil, p.problem(t.at, "this ) closes nothing", "take it out, or add a ( before")
	}
	return n, nil
}

func (p *parser) problem(at int, problem, hint string) error {
	return &QueryError{Text: p.text, At: at, Problem: problem, Hint: hint}
}

func (p *parser) peek() token { return p.tokens[p.next] }

func (p *parser) take() token {
	t := p.tokens[p.next]
	if t.kind != tokenEnd {
		p.next++
	}
	return t
}

func (p *parser) or() (node, error) {
	first, err := p.and()
	if err != nil {
		return nil, err
	}
	parts := []node{first}
	for p.peek().kind == tokenOr {
		p.take()
		n, err := p.and()
		if err != nil {
			return nil, err
		}
		parts = append(parts, n)
	}
	if len(parts) == 1 {
		return first, nil
	}
	return orNode(parts), nil
}

func (p *parser) and() (node, error) {
	first, err := p.not()
	if err != nil {
		return nil, err
	}
	parts := []node{first}
	for {
		switch p.peek().kind {
		case tokenEnd, tokenClose, tokenOr:
			if len(parts) == 1 {
				return first, nil
			}
			return andNode(parts), nil
		case tokenAnd:
			p.take()
		}
		n, err := p.not()
		if err != nil {
			return nil, err
		}
		parts = append(parts, n)
	}
}

func (p *parser) not() (node, error) {
	p.depth++
	defer func() { p.depth-- }()
	t := p.take()
	if p.depth > depthMost {
		return nil, p.problem(t.at, fmt.Sprintf("more than %d parentheses or NOTs in each other", depthMost), "")
	}
	switch t.kind {
	case tokenNot:
		n, err := p.not()
		if err != nil {
			return nil, err
		}
		return notNode{n}, nil
	case tokenOpen:
		if p.peek().kind == tokenClose {
			return nil, p.problem(t.at, "there is nothing between these parentheses", "take them out")
		}
		n, err := p.or()
		if err != nil {
			return nil, err
		}
		if p.take().kind != tokenClose {
			return nil, p.problem(t.at, "this ( is never closed", "add a ) after what belongs together")
		}
		return n, nil
	case tokenWord:
		return p.leaf(t)
	}
	return nil, p.lost(t)
}

// lost says that something to search for should have come before t.
func (p *parser) lost(t token) error {
	if p.next >= 2 || t.kind == tokenEnd && p.next >= 1 {
		before := p.tokens[p.next-1]
		if t.kind != tokenEnd {
			before = p.tokens[p.next-2]
		}
		switch before.kind {
		case tokenAnd, tokenOr, tokenNot:
			name := before.text
			return p.problem(before.at, fmt.Sprintf("%s needs something to search for after it", name), hintCapitals(name))
		case tokenOpen:
			if t.kind == tokenEnd {
				return p.problem(before.at, "this ( is never closed", "add a ) after what belongs together")
			}
		}
	}
	switch t.kind {
	case tokenAnd, tokenOr:
		return p.problem(t.at, fmt.Sprintf("%s needs something to search for before it", t.text), hintCapitals(t.text))
	case tokenClose:
		return p.problem(t.at, "this ) closes nothing", "take it out, or add a ( before")
	}
	return p.problem(t.at, "something to search for is missing here", "")
}

func hintCapitals(name string) string {
	if name == "-" {
		return "put - right before the word that must not be there"
	}
	return fmt.Sprintf("write %s to search for the word itself", strings.ToLower(name))
}

// cut divides the query into tokens.
func (p *parser) cut() error {
	s := p.text
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case unicode.IsSpace(r) || unicode.IsControl(r):
			i += n
		case r == '(':
			p.tokens = append(p.tokens, token{kind: tokenOpen, text: "(", at: i})
			i += n
		case r == ')':
			p.tokens = append(p.tokens, token{kind: tokenClose, text: ")", at: i})
			i += n
		case closing(r) != 0:
			text, end, err := p.quoted(i)
			switch {
			case err != nil && (r == '»' || r == '”'): // one that closes, left over
				i += n
				continue
			case err != nil:
				return err
			}
			p.tokens = append(p.tokens, token{kind: tokenWord, text: text, quoted: true, at: i})
			i = end
		case r == '-' && p.startsTerm(i+1):
			p.tokens = append(p.tokens, token{kind: tokenNot, text: "-", at: i})
			i += n
		default:
			end, err := p.word(i)
			if err != nil {
				return err
			}
			i = end
		}
	}
	p.tokens = append(p.tokens, token{kind: tokenEnd, at: len(s)})
	return nil
}

// startsTerm tells whether something to search for starts at byte i.
func (p *parser) startsTerm(i int) bool {
	r, _ := utf8.DecodeRuneInString(p.text[i:])
	return r == '(' || closing(r) != 0 || inWord(r)
}

// closing is the mark that closes what r opens; 0 if it opens nothing.
func closing(r rune) rune {
	switch r {
	case '"':
		return '"'
	case '“':
		return '”'
	case '„':
		return '“'
	case '«':
		return '»'
	case '»': // as German and Danish have them
		return '«'
	case '”': // as Swedish and Finnish have them
		return '”'
	}
	return 0
}

// quoted reads what stands in quotation marks from byte i on; end is the byte
// after the closing mark.
func (p *parser) quoted(i int) (text string, end int, err error) {
	open, n := utf8.DecodeRuneInString(p.text[i:])
	rest := p.text[i+n:]
	k := strings.IndexFunc(rest, func(r rune) bool {
		return r == closing(open) || open == '„' && r == '”' || open == '»' && r == '»' || open != '"' && r == '"'
	})
	if k < 0 {
		return "", 0, p.problem(i, "this quotation mark is never closed", "add another one after the phrase")
	}
	_, m := utf8.DecodeRuneInString(rest[k:])
	return rest[:k], i + n + k + m, nil
}

// word reads a word, an operator or a field from byte i on.
func (p *parser) word(i int) (end int, err error) {
	s := p.text
	end = i
	for end < len(s) {
		r, n := utf8.DecodeRuneInString(s[end:])
		if unicode.IsSpace(r) || unicode.IsControl(r) || r == '(' || r == ')' || closing(r) != 0 {
			break
		}
		end += n
	}
	text := s[i:end]
	name, value, ok := strings.Cut(text, ":")
	if ok && isFieldName(name) {
		t := token{kind: tokenWord, field: strings.ToLower(name), text: value, at: i}
		if value == "" && end < len(s) {
			if r, _ := utf8.DecodeRuneInString(s[end:]); closing(r) != 0 {
				if t.text, end, err = p.quoted(end); err != nil {
					return 0, err
				}
				t.quoted = true
			}
		}
		p.tokens = append(p.tokens, t)
		return end, nil
	}
	t := token{kind: tokenWord, text: text, at: i}
	switch text {
	case "AND", "&&":
		t.kind = tokenAnd
	case "OR", "||":
		t.kind = tokenOr
	case "NOT":
		t.kind = tokenNot
	default:
		if strings.IndexFunc(text, inWord) < 0 && !strings.Contains(text, "*") {
			return end, nil // a lone dash or question mark: nothing was said
		}
	}
	p.tokens = append(p.tokens, t)
	return end, nil
}

// isFieldName tells whether what stands before a colon could name a field.
func isFieldName(name string) bool {
	if name == "" {
		return false
	}
	for i := 0; i < len(name); i++ {
		if c := name[i] | 0x20; c < 'a' || c > 'z' {
			return false
		}
	}
	return true
}
