// Package selects edits ordered lists of quotes and lays them out on a
// timeline against a running time.
//
// It keeps nothing: it takes selects as values and gives new ones back, never
// changing what it was given; the bank stores them. It reads no file and
// writes no list (see interchange).
//
// Positions count from 1, as people count. Running time is talk: handles and
// gaps between items are not counted.
package selects

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rushlight/pkg/story"
)

// ErrPosition is wrapped by every error about a place in a list that is not
// there or not clear.
var ErrPosition = errors.New("no such item")

// Add puts quotes into a copy of s, in their order, the first of them at
// position at; 0 means at the end. A quote that is in the list already is put
// in once more. New items get IDs above all others in the list.
//
// Errors: a position that is neither 0 nor 1 to one past the end; a quote
// without length.
func Add(s story.Selects, quotes []story.Quote, at int) (story.Selects, error) {
	if at == 0 {
		at = len(s.Items) + 1
	}
	if at < 1 || at > len(s.Items)+1 {
		return s, fmt.Errorf("%w: position %d in %q, want 1 to %d, or 0 for the end", ErrPosition, at, s.Name, len(s.Items)+1)
	}
	id := 0
	for _, it := range s.Items {
		id = max(id, it.ID)
	}
	added := make([]story.Item, 0, len(quotes))
	for _, q := range quotes {
		if q.Empty() {
			return s, fmt.Errorf("quote %s of reel %s %w: its out %s is not after its in %s", q.Code, q.Reel, story.ErrInvalid, q.Out, q.In)
		}
		id++
		added = append(added, story.Item{
			ID: id, Code: q.Code, Reel: q.Reel, Span: q.Span,
			Speaker: q.Speaker, Text: q.Text, Clock: q.Clock,
		})
	}
	s.Items = slices.Concat(s.Items[:at-1], added, s.Items[at-1:])
	return s, nil
}

// Move takes the item at position from and puts it so that it then stands at
// position to; 0 means the end.
func Move(s story.Selects, from, to int) (story.Selects, error) {
	if err := checkPosition(s, from); err != nil {
		return s, err
	}
	if to == 0 {
		to = len(s.Items)
	}
	if err := checkPosition(s, to); err != nil {
		return s, err
	}
	it := s.Items[from-1]
	rest := slices.Concat(s.Items[:from-1], s.Items[from:])
	s.Items = slices.Insert(rest, to-1, it)
	return s, nil
}

// Drop takes the items at the given positions off; a position given twice
// counts once. Nothing is dropped if one of them is not there.
func Drop(s story.Selects, positions []int) (story.Selects, error) {
	gone := map[int]bool{}
	for _, p := range positions {
		if err := checkPosition(s, p); err != nil {
			return s, err
		}
		gone[p] = true
	}
	kept := make([]story.Item, 0, len(s.Items)-len(gone))
	for i, it := range s.Items {
		if !gone[i+1] {
			kept = append(kept, it)
		}
	}
	s.Items = kept
	return s, nil
}

// Resolve finds the position that ref means: a number such as "3", or the
// code of a quote that stands in the list once.
//
// Errors wrap ErrPosition, or story.ErrCode for what is neither a number nor
// a code.
func Resolve(s story.Selects, ref string) (int, error) {
	ref = strings.TrimSpace(ref)
	if n, err := strconv.Atoi(ref); err == nil {
		return n, checkPosition(s, n)
	}
	code, err := story.ParseCode(ref)
	if err != nil {
		return 0, fmt.Errorf("want a position from 1 to %d or the code of a quote: %w", len(s.Items), err)
	}
	var at []string
	for i, it := range s.Items {
		if it.Code == code {
			at = append(at, strconv.Itoa(i+1))
		}
	}
	switch len(at) {
	case 0:
		return 0, fmt.Errorf("%w: %s is not in %q", ErrPosition, code, s.Name)
	case 1:
		return strconv.Atoi(at[0])
	}
	return 0, fmt.Errorf("%w alone: %s stands in %q more than once, at positions %s; give the position", ErrPosition, code, s.Name, strings.Join(at, ", "))
}

func checkPosition(s story.Selects, pos int) error {
	if len(s.Items) == 0 {
		return fmt.Errorf("%w: %q is empty", ErrPosition, s.Name)
	}
	if pos < 1 || pos > len(s.Items) {
		return fmt.Errorf("%w: position %d in %q, want 1 to %d", ErrPosition, pos, s.Name, len(s.Items))
	}
	return nil
}
