package selects

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// ErrOutline is wrapped by every error about candidates that make no outline.
var ErrOutline = errors.New("cannot outline")

// Candidate is a quote that may stand in an outline, under one theme. A quote
// may be a candidate under several themes; it is used once.
type Candidate struct {
	Quote story.Quote
	Theme string
	// Score is how well it serves, larger is better; any finite scale.
	Score float64
}

// OutlineOptions says what an outline should become.
type OutlineOptions struct {
	// Target is the running time not to pass; 0 takes everything.
	Target timecode.Ticks
	// Order is the order of themes, if a person chose it; themes not named
	// follow. Names without candidates are passed over.
	Order []string
}

// Role is what a quote does in its section.
type Role string

// The roles, in their order. The turn is the strongest quote after the first
// mention; what was said before it sets it up, what was said after it is its
// consequence. A section of one quote is a turn; the order of telling is
// common practice, no source.
const (
	SetUp       Role = "set-up"
	Turn        Role = "turn"
	Consequence Role = "consequence"
)

// Section is one theme's part of an outline; it has at least one step.
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

// Outline makes a first paper edit for a person to change: sections by theme,
// in each the quotes in the order in which they were said (day, reel, in).
//
// Each theme gets its best quote as far as the target allows; then the best
// of the rest are taken, a theme's next quote counting less each time, until
// no candidate that is left would fit; then single quotes are exchanged for
// longer ones to come closer to the target. The running time never passes it.
// No piece of a recording is used twice, even where candidates overlap.
//
// Sections stand in opt.Order, then the theme first mentioned, and after each
// the one that meets it most (quotes that carry both, or that lie within a
// minute of each other), else the next first mentioned.
//
// The same candidates give the same outline, in whatever order they come.
// Errors wrap ErrOutline: no candidates; one without length, theme or finite
// score; a negative target; a target shorter than every candidate.
func Outline(cands []Candidate, opt OutlineOptions) ([]Section, error) {
	if err := checkOutline(cands, opt); err != nil {
		return nil, err
	}
	all := gather(cands)
	chosen := choose(all, opt.Target)
	if len(chosen) == 0 {
		return nil, fmt.Errorf("%w: the target %s is shorter than every candidate; give a longer one", ErrOutline, opt.Target.Short())
	}
	return arrange(all, chosen, opt.Order), nil
}

func checkOutline(cands []Candidate, opt OutlineOptions) error {
	if len(cands) == 0 {
		return fmt.Errorf("%w: there are no candidates; tag quotes with the themes first", ErrOutline)
	}
	if opt.Target < 0 {
		return fmt.Errorf("%w: the target %s must not be negative", ErrOutline, opt.Target.Short())
	}
	for i, c := range cands {
		where := fmt.Sprintf("candidate %d (%s of reel %s)", i+1, c.Quote.Code, c.Quote.Reel)
		switch {
		case c.Quote.Empty():
			return fmt.Errorf("%w: %s: its out %s is not after its in %s", ErrOutline, where, c.Quote.Out, c.Quote.In)
		case strings.TrimSpace(c.Theme) == "":
			return fmt.Errorf("%w: %s has no theme", ErrOutline, where)
		case math.IsNaN(c.Score) || math.IsInf(c.Score, 0):
			return fmt.Errorf("%w: %s: its score is %g", ErrOutline, where, c.Score)
		}
	}
	return nil
}

// OutlineQuotes is the outline's quotes in order, ready for Add.
func OutlineQuotes(sections []Section) []story.Quote {
	var out []story.Quote
	for _, s := range sections {
		for _, step := range s.Steps {
			out = append(out, step.Quote)
		}
	}
	return out
}

// OutlineSelects makes selects of an outline; each item's note says its theme
// and role.
func OutlineSelects(name string, target timecode.Ticks, sections []Section) (story.Selects, error) {
	s, err := Add(story.Selects{Name: name, Target: target}, OutlineQuotes(sections), 0)
	if err != nil {
		return story.Selects{}, err
	}
	i := 0
	for _, section := range sections {
		for _, step := range section.Steps {
			s.Items[i].Note = section.Theme + ": " + string(step.Role)
			i++
		}
	}
	return s, nil
}
