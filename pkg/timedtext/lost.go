package timedtext

import (
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// The kinds of loss that several formats share.
const (
	lostWords     = "word times"
	lostID        = "cue identifiers"
	lostSameID    = "cue identifiers that occur twice: numbered"
	lostSettings  = "position and alignment"
	lostStyle     = "styles: slant, weight, underline, colour"
	lostColour    = "colours"
	lostComments  = "comments"
	lostTitle     = "title"
	lostLanguage  = "language"
	lostOpenEnd   = "cues without an end: given one"
	lostRounded   = "times finer than the format has: rounded"
	lostNegative  = "times before zero: moved to zero"
	lostLabels    = "speakers or dashes that cannot be told from text"
	lostSplit     = "two speakers in one line: put on lines of their own"
	lostSpaces    = "spaces at the ends of lines or doubled"
	lostControl   = "control characters"
	lostEmpty     = "cues without text"
	lostCharacter = "characters the format does not have: replaced"
	lostMeta      = "what else the file said of itself"
	lostRegions   = "regions"
	lostBackward  = "cues that end before they begin"
	lostRate      = "frame rate"
	lostStart     = "programme start"
)

// lose notes that one thing of a kind could not be written.
func (w *writer) lose(kind string) {
	if w.count[kind]++; w.count[kind] == 1 {
		w.kinds = append(w.kinds, kind)
	}
}

// loseCharacter notes a character that the format doesn't have.
func (w *writer) loseCharacter(r rune) {
	w.lose(lostCharacter)
	if !slices.Contains(w.replaced, r) && len(w.replaced) <= mostReplaced {
		w.replaced = append(w.replaced, r)
	}
}

// mostReplaced is how many of them are listed.
const mostReplaced = 8

// listReplaced names them; "" if there are none.
func (w *writer) listReplaced() string {
	var list []string
	for k, r := range w.replaced {
		if k == mostReplaced {
			list = append(list, "…")
			break
		}
		if unicode.IsGraphic(r) && !unicode.IsSpace(r) && !unicode.IsMark(r) {
			list = append(list, string(r))
		} else {
			list = append(list, fmt.Sprintf("U+%04X", r))
		}
	}
	if list == nil {
		return ""
	}
	return ": " + strings.Join(list, " ")
}
