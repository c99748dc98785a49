// Package selects edits ordered lists of quotes and lays them out on a
// timeline against a running time.
//
// It keeps nothing: it takes selects as values and gives new ones back, never
// changing what it was given; the bank stores them. It reads no file and
// writes no list (see interchange).
//
// Positions count from 1, as people count.
package selects

import (
	"errors"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// ErrPosition is wrapped by every error about a place in a list that is not
// there or not clear.
var ErrPosition = errors.New("no such item")

// ErrTrim is wrapped by every error about an in or out that cannot be.
var ErrTrim = errors.New("cannot trim")

var errNotBuilt = errors.New("not built yet")

// Add puts quotes into a copy of s, the first of them at position at; 0 means
// at the end.
func Add(s story.Selects, quotes []story.Quote, at int) (story.Selects, error) {
	return s, errNotBuilt
}

// Move takes the item at from and puts it so that it then stands at to; 0
// means the end.
func Move(s story.Selects, from, to int) (story.Selects, error) { return s, errNotBuilt }

// Drop takes items off.
func Drop(s story.Selects, positions []int) (story.Selects, error) { return s, errNotBuilt }

// Resolve finds the position that ref means: a number or the code of a quote.
func Resolve(s story.Selects, ref string) (int, error) { return 0, errNotBuilt }

// Trim moves the in and out of one item; duration is the length of its
// recording, 0 if unknown.
func Trim(s story.Selects, pos int, in, out Edge, duration timecode.Ticks) (story.Selects, error) {
	return s, errNotBuilt
}

// Untrim gives an item the in and out of its quote again.
func Untrim(s story.Selects, pos int, quote story.Quote) (story.Selects, error) {
	return s, errNotBuilt
}
