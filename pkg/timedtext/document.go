// Package timedtext reads and writes every transcript and subtitle format as
// one document type; each format has a file of its own.
//
// A Document keeps what the formats can carry and the bank needs: cues, lines,
// spans with speaker and style, words with their own times, identifiers, and
// the place in the file each cue came from. Nothing is repaired silently: each
// mend is a Repair with its place, and text that cannot be timed becomes a
// comment.
//
// It does not lay text out on a picture, guess frame rates, cut text into
// sentences or correct what was heard. Positions are kept as the format writes
// them and not converted between formats.
//
// Sources: W3C WebVTT, W3C TTML2 and IMSC 1.1, EBU Tech 3264-E, ISO 6937, RFC
// 4180; SRT, SSA and ASS, plain text and the JSON of speech-to-text programs
// have no standard and are read as met in practice.
package timedtext

import (
	"fmt"
	"strings"

	"rushlight/pkg/timecode"
)

// Format names a timed-text format.
type Format string

// The formats.
const (
	SRT       Format = "srt"
	WebVTT    Format = "vtt"
	TTML      Format = "ttml"
	STL       Format = "stl" // EBU Tech 3264
	ASS       Format = "ass" // SSA version 4 and ASS
	PlainText Format = "text"
	JSON      Format = "json"
	CSV       Format = "csv" // TSV and semicolon-separated too
)

// Document is one file of timed text.
type Document struct {
	Format Format
	// Encoding is the character encoding it was read in: "utf-8",
	// "utf-16le", "windows-1252" …
	Encoding string
	// Language is the BCP 47 tag the file declares, "" if none.
	Language string
	Title    string
	// Base is the frame rate the file declares; zero if none.
	Base timecode.Base
	// ProgrammeStart is the time that the file calls the start of the
	// programme (EBU STL); cue times are as in the file, not shifted.
	ProgrammeStart timecode.Ticks
	// Labels tells that the cue times were timecode labels (counted from
	// midnight), not times from the start of the recording.
	Labels bool
	// Coarse tells that cues have a beginning only (plain text with a
	// timecode now and then): each Out is the next cue's In or NoTime.
	Coarse bool

	Cues     []Cue
	Comments []string
	Repairs  []Repair

	// Metadata holds what else the file says of itself, by the format's own
	// names (EBU STL: the field codes of Tech 3264).
	Metadata map[string]string
	// Regions holds the regions a WebVTT file defines, in order.
	Regions []Region
}

// Region is an area of the picture that cues may name in Settings["region"].
type Region struct {
	ID       string
	Settings map[string]string
}

// NoTime is the Out of a cue whose end the file does not say.
const NoTime timecode.Ticks = -1 << 62

// Cue is one timed piece of text.
type Cue struct {
	ID string
	timecode.Span
	// OpenEnd tells that the file gave no end; Out is then the next In, or
	// NoTime on the last cue.
	OpenEnd bool
	Lines   []Line
	// Settings carries what the format says of position and alignment, by
	// the format's own names.
	Settings map[string]string
	// Line is the line in the file at which the cue starts, from 1; 0 if the
	// format has no lines. Byte is its offset in binary formats.
	Line int
	Byte int64
}

// Line is one line of a cue.
type Line []Run

// Run is a run of text with one speaker and one style.
type Run struct {
	Text    string
	Speaker string
	// Dash tells that a dialogue dash stood before the text: somebody else
	// begins to speak, unnamed. The dash is not in Text.
	Dash  bool
	Style Style
	// Words holds word times inside Text, in order; empty if none.
	Words []Word
}

// Word is one word with the time the file gives it. An Out of NoTime means
// that only its beginning is known.
type Word struct {
	Text string
	timecode.Span
}

// Style is the styling that all formats share. Colour is a CSS colour name or
// #rrggbb, "" for the default.
type Style struct {
	Italic, Bold, Underline bool
	Colour                  string
}

// Repair is one thing that was wrong in the file and was mended.
type Repair struct {
	Line int
	Byte int64
	What string
}

// String gives the line or the byte, where it is known, and what was mended.
func (r Repair) String() string {
	switch {
	case r.Line > 0:
		return fmt.Sprintf("line %d: %s", r.Line, r.What)
	case r.Byte > 0:
		return fmt.Sprintf("byte %d: %s", r.Byte, r.What)
	}
	return r.What
}

// Plain is the text of the cue without styling, lines joined by \n.
func (c Cue) Plain() string {
	lines := make([]string, 0, len(c.Lines))
	for _, l := range c.Lines {
		lines = append(lines, l.Plain())
	}
	return strings.Join(lines, "\n")
}

// Plain is the text of the line without styling.
func (l Line) Plain() string {
	var b strings.Builder
	for _, r := range l {
		b.WriteString(r.Text)
	}
	return b.String()
}

// Speaker is the first speaker named in the cue, "" if none.
func (c Cue) Speaker() string {
	for _, l := range c.Lines {
		for _, r := range l {
			if r.Speaker != "" {
				return r.Speaker
			}
		}
	}
	return ""
}

// Text makes lines of one unstyled run each.
func Text(lines ...string) []Line {
	out := make([]Line, len(lines))
	for i, s := range lines {
		out[i] = Line{{Text: s}}
	}
	return out
}
