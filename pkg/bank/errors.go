package bank

import (
	"errors"
	"strings"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

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

// fault turns what SQLite says into the errors of a bank; nil and errors that
// are not SQLite's stay as they are.
func fault(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	kind := error(nil)
	// The low byte is the primary result code: https://www.sqlite.org/rescode.html
	switch e.Code() & 0xff {
	case sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED, sqlite3.SQLITE_PROTOCOL:
		kind = ErrBusy
	case sqlite3.SQLITE_READONLY, sqlite3.SQLITE_PERM, sqlite3.SQLITE_CANTOPEN:
		kind = ErrReadOnly
	case sqlite3.SQLITE_FULL:
		kind = ErrFull
	case sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB:
		kind = ErrDamaged
	case sqlite3.SQLITE_ERROR:
		// The statements of this package are tested: they fail where the
		// file isn't what it says.
		kind = ErrDamaged
	}
	if e.Code() == sqlite3.SQLITE_IOERR_SHMSIZE {
		// No room for the side files, seen on a full disk.
		kind = ErrFull
	}
	if kind == nil || errors.Is(err, kind) {
		return err
	}
	return &sqliteError{kind, err}
}

// sqliteError is an error of SQLite as one of the bank's.
type sqliteError struct{ kind, cause error }

// Error says what it means and, in brackets, what SQLite said, in one line.
func (e *sqliteError) Error() string {
	return e.kind.Error() + " (" + strings.Join(strings.Fields(e.cause.Error()), " ") + ")"
}

// Unwrap gives both.
func (e *sqliteError) Unwrap() []error { return []error{e.kind, e.cause} }
