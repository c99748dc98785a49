package bank

import "errors"

// The errors of a bank, to be tested with errors.Is.
var (
	// ErrNoBank: no bank in the folder, or in any folder above it.
	ErrNoBank = errors.New("no story bank")
	// ErrExists: the folder already holds a bank.
	ErrExists = errors.New("there is a story bank already")
	// ErrNotFound: the bank has no such reel, quote, theme or selects.
	ErrNotFound = errors.New("not in the bank")
	// ErrNewer: the bank was made or used by a newer program.
	ErrNewer = errors.New("the bank is from a newer rushlight")
	// ErrBusy: another program is writing, and went on writing.
	ErrBusy = errors.New("another program is writing to the bank")
	// ErrDamaged: bank.db is not a bank, or not whole.
	ErrDamaged = errors.New("the bank is damaged")
	// ErrNothingToUndo: no change is left to take back.
	ErrNothingToUndo = errors.New("nothing to undo")
	// ErrReadOnly: the bank was opened for reading, or may only be read.
	ErrReadOnly = errors.New("the bank can only be read")
	// ErrFull: no room on the disk.
	ErrFull = errors.New("the disk is full")
)
