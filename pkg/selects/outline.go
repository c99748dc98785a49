package selects

import (
	"errors"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// ErrOutline is wrapped by every error about candidates that make no outline.
var ErrOutline = errors.New("cannot outline")

// Candidate is a quote that may stand in an outline.
type Candidate struct {
	Quote story.Quote
	Theme string
	// Score is how well it serves, larger is better; any scale.
	Score float64
}

// OutlineOptions says what an outline should become.
type OutlineOptions struct {
	// Target is the running time not to pass; 0 takes everything.
	Target timecode.Ticks
	// Order is the order of themes, if a person chose it; themes not named
	// follow by first mention.
	Order []string
}

// Role is what a quote does in its section.
type Role string

// The roles, in their order.
const (
	SetUp       Role = "set-up"
	Turn        Role = "turn"
	Consequence Role = "consequence"
)

// Section is one theme's part of an outline.
type Section struct {
	Theme string
	Steps []Step
	// Why says why the section stands where it does.
	Why string
}

// Step is one quote in its place.
type Step struct {
	Quote story.Quote
	Score float64
	Role  Role
	// Why says why it stands there, for people.
	Why string
}

// RunningTime is the added length of the section's quotes.
func (s Section) RunningTime() timecode.Ticks { return 0 }

// Outline makes a first paper edit.
func Outline(cands []Candidate, opt OutlineOptions) ([]Section, error) {
	return nil, ErrOutline
}

// OutlineQuotes is the outline's quotes in order, ready for Add.
func OutlineQuotes(sections []Section) []story.Quote { return nil }
