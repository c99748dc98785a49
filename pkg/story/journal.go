package story

import "time"

// Entry is one change in the journal of a bank: one transaction.
type Entry struct {
	// Number counts changes from 1; it is the bank's state number.
	Number int64     `json:"number"`
	When   time.Time `json:"when"`
	Who    string    `json:"who"`
	// Kind is the command that made it: "ingest", "tag", "selects", "undo" …
	Kind string `json:"kind"`
	// Summary says it in one line for people.
	Summary string `json:"summary"`
	// Undoes is the number of the entry that this one takes back, 0 if none.
	Undoes int64 `json:"undoes,omitempty"`
	// UndoneBy is the number of the entry that took this one back, 0 if none.
	UndoneBy int64 `json:"undone_by,omitempty"`
	// Rows is how many rows of the bank it changed.
	Rows int `json:"rows"`
}
