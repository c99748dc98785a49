package review

import (
	"rushlight/pkg/story"
)

// Context is what is known around a saying.
type Context struct {
	// Before and After are the neighbouring quotes of the reel, in order;
	// three on each side are enough.
	Before, After []story.Quote
	// Heard is what was heard in the reel, nil if it has no sound.
	Heard *story.Heard
	// Language is a BCP 47 tag, used where the quote has none.
	Language string
	// Asker is who asks in the reel, "" if nobody is known to.
	Asker string
	// Habit is how the speaker usually talks; if zero, it is taken from
	// their quotes in Before and After.
	Habit Habit
}

// Habit is how one person usually talks in one reel: medians over their
// quotes. A zero Pace or an unset level is not known.
type Habit struct {
	// Pace is in words per second.
	Pace float64
	// LevelDBFS is the median level; Heard tells whether it is known.
	LevelDBFS float64
	Heard     bool
}

// Habits finds the habit of each speaker of one reel. heard may be nil.
func Habits(quotes []story.Quote, heard *story.Heard) map[string]Habit { return nil }

// Part is one reason for a score.
type Part struct {
	Name string `json:"name"`
	// Value is 0 to 1, Weight how much it counts.
	Value  float64 `json:"value"`
	Weight float64 `json:"weight"`
	// Why says it for people.
	Why string `json:"why"`
}

// Score is how quotable a passage is: the weighted mean of its parts, 0 to 1.
// It is for ordering; nothing is hidden because of it.
type Score struct {
	Total float64 `json:"total"`
	Parts []Part  `json:"parts"`
}

// Quotability scores a saying or a passage (see Passage.Quote).
func Quotability(q story.Quote, ctx Context) Score { return Score{} }
