// Package quotes cuts a transcript, together with what was heard, into
// quotes: sentences with in, out, speaker and an identity that lasts.
//
// It deliberately reads no file, changes no word of a transcript (white space
// apart), and keeps nothing: what people did to quotes is the bank's, and
// Carry only says where it goes when a corrected transcript comes in.
//
// Sentences follow Unicode UAX #29 with the abbreviations of the language and
// the habits of real speech. Where words have no times of their own, sentences
// are laid over the heard speech by length (Gale & Church 1993, "A Program for
// Aligning Sentences in Bilingual Corpora": lengths of matching parts go in
// proportion) with boundaries in pauses.
package quotes

import (
	"errors"
	"fmt"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// ErrPastEnd is wrapped by the error for a document all of whose cues lie
// outside the recording.
var ErrPastEnd = errors.New("times lie past the end of the recording")

// Source is what quotes are cut from.
type Source struct {
	// Recording gives Reel, Essence, Duration (0 = unknown), Clock, Day and
	// Language.
	Recording story.Recording
	Document  *timedtext.Document
	// Heard is nil if there is no sound.
	Heard *story.Heard
	// Taken tells which codes are in use elsewhere; nil = none.
	Taken func(story.Code) bool
}

// Warning is one thing about the document that a person should know.
type Warning struct {
	// Line is the line in the file, 0 if the format has none.
	Line int
	// At is the place in the recording, in its own time.
	At   timecode.Ticks
	What string
}

// String is the warning with its place.
func (w Warning) String() string {
	if w.Line > 0 {
		return fmt.Sprintf("line %d: %s", w.Line, w.What)
	}
	return fmt.Sprintf("%s: %s", w.At, w.What)
}

// Result is what Build made.
type Result struct {
	// Quotes are in order of their In; Order counts from 0.
	Quotes   []story.Quote
	Warnings []Warning
	// Language is the BCP 47 tag of the talk, "" if unknown.
	Language string
	// Shift is what was added to the document's times to get the recording's
	// own, 0 where they were the recording's own already.
	Shift timecode.Ticks
}
