package index

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rushlight/pkg/story"
)

// fieldNames lists the fields of a query, for messages.
const fieldNames = "speaker, theme, reel, day, rating, strong, has, language, code"

// field makes a node of name:value.
func (p *parser) field(t token) (node, error) {
	value := strings.TrimSpace(t.text)
	valueAt := t.at + len(t.field) + 1
	missing := func(example string) error {
		return p.problem(valueAt, fmt.Sprintf("%s: needs a value right after it", t.field), "such as "+example)
	}
	switch t.field {
	case "speaker":
		if len(foldedWords(value)) == 0 {
			return nil, missing("speaker:ines")
		}
		return speakerFact(value), nil
	case "theme", "reel", "day":
		if value == "" {
			return nil, missing(map[string]string{"theme": `theme:bell or theme:"ringing for nobody"`, "reel": "reel:D2-INT2", "day": "day:D2"}[t.field])
		}
		kind := map[string]byte{"theme": factTheme, "reel": factReel, "day": factDay}[t.field]
		return nameFact(kind, t.field, value, t.quoted), nil
	case "rating":
		return p.rating(value, valueAt)
	case "strong":
		n := nameFact(factTheme, "theme", story.Strong, true)
		switch Fold(value) {
		case "yes":
			n.say = "marked strong"
			return n, nil
		case "no":
			n.say = "marked strong"
			return notNode{n}, nil
		}
		return nil, p.problem(valueAt, fmt.Sprintf("strong: is %q, want yes or no", value), "")
	case "has":
		return p.has(value, valueAt)
	case "language":
		name := languageName(value)
		if name == "" {
			return nil, p.problem(valueAt, fmt.Sprintf("language %q is not one that forms are known for", value), "such as language:en")
		}
		return &factNode{kind: factLanguage, prefix: name, match: func(s string) bool { return s == name }, say: "in language " + name}, nil
	case "code":
		code, err := story.ParseCode(value)
		if err != nil {
			return nil, p.problem(valueAt, err.Error(), "")
		}
		return &codeNode{string(code)}, nil
	}
	return nil, p.problem(t.at, fmt.Sprintf("%q is not a field", t.field),
		fmt.Sprintf("fields are %s; put quotation marks around words with a colon", fieldNames))
}

const anyTheme = "with any theme"

// speakerFact matches speakers of whose name each word of value starts one.
func speakerFact(value string) *factNode {
	want := foldedWords(value)
	return &factNode{kind: factSpeaker, say: "spoken by " + value, match: func(name string) bool {
		parts := foldedWords(name)
		for _, w := range want {
			if !slices.ContainsFunc(parts, func(p string) bool { return strings.HasPrefix(p, w) }) {
				return false
			}
		}
		return true
	}}
}

// nameFact matches a name without regard to case and accents, or by its start
// where value ends in * outside quotation marks.
func nameFact(kind byte, field, value string, quoted bool) *factNode {
	start, isPrefix := strings.CutSuffix(value, "*")
	folded := Fold(strings.Join(strings.Fields(value), " "))
	say := map[string]string{"theme": "with theme ", "reel": "in reel ", "day": "on day "}[field] + value
	if isPrefix && !quoted {
		folded = Fold(start)
		return &factNode{kind: kind, say: say, match: func(name string) bool { return strings.HasPrefix(Fold(name), folded) }}
	}
	return &factNode{kind: kind, say: say, match: func(name string) bool { return Fold(name) == folded }}
}

// rating reads 4, >=4, <=2, >3, <3, 3-5, none and any.
func (p *parser) rating(value string, at int) (node, error) {
	low, high, say := 0, 0, ""
	folded := Fold(value)
	switch {
	case folded == "none":
		say = "not rated"
	case folded == "any":
		low, high, say = 1, 5, "rated"
	default:
		digits := strings.TrimLeft(folded, "<>=")
		sign := folded[:len(folded)-len(digits)]
		first, last, isRange := strings.Cut(digits, "-")
		a, err := strconv.Atoi(first)
		b := a
		if err == nil && isRange {
			b, err = strconv.Atoi(last)
		}
		if err != nil || a < 1 || a > 5 || b < a || b > 5 || isRange && sign != "" {
			return nil, p.problem(at, fmt.Sprintf("rating is %q, want 1 to 5, >=4, 3-5, none or any", value), "")
		}
		switch sign {
		case "", "=":
			low, high, say = a, b, fmt.Sprintf("rated %d", a)
			if isRange {
				say = fmt.Sprintf("rated %d to %d", a, b)
			}
		case ">=", "=>":
			low, high, say = a, 5, fmt.Sprintf("rated %d or more", a)
		case ">":
			low, high, say = a+1, 5, fmt.Sprintf("rated more than %d", a)
		case "<=", "=<":
			low, high, say = 1, a, fmt.Sprintf("rated %d or less", a)
		case "<":
			low, high, say = 1, a-1, fmt.Sprintf("rated less than %d", a)
		default:
			return nil, p.problem(at, fmt.Sprintf("rating is %q, want 1 to 5, >=4, 3-5, none or any", value), "")
		}
	}
	return &factNode{kind: factRating, say: say, match: func(name string) bool {
		n, err := strconv.Atoi(name)
		return err == nil && n >= low && n <= high
	}}, nil
}

func (p *parser) has(value string, at int) (node, error) {
	switch Fold(value) {
	case "note":
		return &factNode{kind: factHas, prefix: "note", say: "with a note", match: func(s string) bool { return s == "note" }}, nil
	case "theme":
		return &factNode{kind: factTheme, say: anyTheme, match: func(s string) bool { return !story.SameTheme(s, story.Strong) }}, nil
	case "rating":
		return p.rating("any", at)
	case "speaker":
		return &factNode{kind: factSpeaker, say: "with a known speaker", match: func(string) bool { return true }}, nil
	}
	return nil, p.problem(at, fmt.Sprintf("has: is %q, want note, theme, rating or speaker", value), "")
}
