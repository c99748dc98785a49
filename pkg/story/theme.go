package story

import (
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"rushlight/pkg/timecode"
)

// ThemeName puts a theme's name in its one form (inner spaces to single
// spaces, lower case kept as written) and tells whether it is valid: 1 to 60
// letters, no control characters, not starting with + or -, no quotation marks.
func ThemeName(name string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	switch {
	case name == "":
		return "", fmt.Errorf("theme name %w: it is empty", ErrInvalid)
	case utf8.RuneCountInString(name) > 60:
		return "", fmt.Errorf("theme name %q %w: longer than 60 letters", name, ErrInvalid)
	case strings.HasPrefix(name, "+"), strings.HasPrefix(name, "-"):
		return "", fmt.Errorf("theme name %q %w: it starts with %q", name, ErrInvalid, name[:1])
	}
	for _, r := range name {
		if unicode.IsControl(r) || r == '"' || r == utf8.RuneError {
			return "", fmt.Errorf("theme name %q %w: %q is not allowed", name, ErrInvalid, r)
		}
	}
	return name, nil
}

// SameTheme tells whether two theme names are the same theme: without regard
// to case.
func SameTheme(a, b string) bool { return strings.EqualFold(a, b) }

// Theme is an idea that quotes carry, with how much it carries.
type Theme struct {
	Name string `json:"theme"`
	// Statement says in one line what the theme is about, "" if nobody did.
	Statement string `json:"statement,omitempty"`
	// Parent is the theme that this one belongs under, "" if none. A theme
	// that is a parent has none itself.
	Parent string `json:"parent,omitempty"`
	// Rule is a search, as text, that suggests quotes for the theme; "" if
	// none.
	Rule     string   `json:"rule,omitempty"`
	Quotes   int      `json:"quotes"`
	Reels    []string `json:"reels"`
	Speakers []string `json:"speakers"`
	// Strong counts its quotes that are marked strong.
	Strong int `json:"strong"`
	// Ticks is the added length of its quotes.
	Ticks   timecode.Ticks `json:"-"`
	Seconds float64        `json:"seconds"`
}

// ThemeDetail is what is to be changed of a theme: nil leaves it as it is, ""
// takes it off.
type ThemeDetail struct {
	Statement, Parent, Rule *string
}

// ThemeStatement puts a statement in its one form, a single line with single
// spaces, and tells whether it is valid: up to 240 letters, "" for none.
func ThemeStatement(s string) (string, error) { return oneLine("statement of a theme", s, 240) }

// ThemeRule puts the text of a rule in its one form, as ThemeStatement does;
// up to 1,000 letters. Whether it can be searched for is not looked at here.
func ThemeRule(s string) (string, error) { return oneLine("rule of a theme", s, 1000) }

func oneLine(what, s string, most int) (string, error) {
	s = strings.Join(strings.Fields(s), " ")
	if n := utf8.RuneCountInString(s); n > most {
		return "", fmt.Errorf("%s %w: got %d letters, want at most %d", what, ErrInvalid, n, most)
	}
	for i, r := range s {
		if unicode.IsControl(r) || r == utf8.RuneError {
			return "", fmt.Errorf("%s %w: %q at byte %d is not allowed", what, ErrInvalid, r, i)
		}
	}
	return s, nil
}

// TaggedBy says how a theme came to a quote.
type TaggedBy string

// A person put it there, or accepted it; or the theme's rule did.
const (
	ByHand TaggedBy = "hand"
	ByRule TaggedBy = "rule"
)

// Valid tells whether it is one of the two.
func (b TaggedBy) Valid() error {
	if b != ByHand && b != ByRule {
		return fmt.Errorf("tagged by %q %w: want %q or %q", string(b), ErrInvalid, ByHand, ByRule)
	}
	return nil
}

// Tagging is one theme on one quote, with where it came from.
type Tagging struct {
	Theme string `json:"theme"`
	// Who set it, "" if nobody knows any more.
	Who string `json:"who"`
	// When it was set, the zero time if nobody knows any more.
	When time.Time `json:"when,omitzero"`
	By   TaggedBy  `json:"by"`
}
