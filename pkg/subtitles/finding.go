package subtitles

import (
	"fmt"

	"rushlight/pkg/timecode"
)

// Severity says how bad a finding is.
type Severity string

// The severities. Wrong is a file that players misread or viewers can't
// follow; Warning breaks a limit; Advice is a matter of taste.
const (
	Wrong   Severity = "wrong"
	Warning Severity = "warning"
	Advice  Severity = "advice"
)

// The rules a finding can name.
const (
	RuleLineLength  = "line length"
	RuleLines       = "lines"
	RuleMinDuration = "too short"
	RuleMaxDuration = "too long"
	RuleSpeed       = "reading speed"
	RuleWordSpeed   = "words per minute"
	RuleGap         = "gap"
	RuleOverlap     = "overlap"
	RuleEmpty       = "empty"
	RuleBreak       = "line break"
	RuleOrder       = "order"
	RuleItalics     = "italics"
	RuleFrame       = "frame"
)

// Finding is one place at which a limit is broken.
type Finding struct {
	// Cue counts from 1. Name is the number that the file gives it, else
	// the same.
	Cue  int    `json:"cue"`
	Name string `json:"name"`
	// At is the cue's in.
	At timecode.Ticks `json:"at"`
	// Rule is one of the Rule constants.
	Rule string `json:"rule"`
	// What says got, want and the source of the limit.
	What     string   `json:"what"`
	Severity Severity `json:"severity"`
}

// String prints "cue 12 at 00:01:02.120: reading speed: 21.3 …".
func (f Finding) String() string {
	return fmt.Sprintf("cue %s at %s: %s: %s", f.Name, f.At, f.Rule, f.What)
}
