// Package interchange writes and reads cuts in the forms that other people and
// programs take: edit decision lists, OpenTimelineIO, paper edits, CSV.
//
// It opens no file and looks at no medium: it turns a story.Cut into bytes and
// back. It does not decide what is in a cut or where an edge lies (see
// selects); where a form cannot hold something, it says so.
//
// Sources: SMPTE ST 258 practice as the lists of the OpenTimelineIO project's
// edit-list adapter show it (seen); OpenTimelineIO documents of the same
// project and the schemas in its source (seen); RFC 4180 for CSV; CommonMark
// for Markdown (recalled). docs/formats-edit.md describes what is written.
package interchange

import "errors"

// ErrFormat is wrapped by every error about a list or timeline that cannot be
// read.
var ErrFormat = errors.New("not understood")

// ErrNoRate is wrapped by the error about a list that doesn't say its frame
// rate, when nobody else did.
var ErrNoRate = errors.New("the list does not say its frame rate; give it, for example 25 or 29.97df")

// ErrCut is wrapped by every error about a cut that a form cannot hold.
var ErrCut = errors.New("cut cannot be written")
