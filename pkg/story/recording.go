// Package story holds the words of the trade as types: recording, speaker,
// turn, pause, quote, theme, rating, selects; and what makes each valid.
//
// It reads and writes nothing. Every time in it is exact (see timecode) and
// counts from the start of its recording unless a name says otherwise. Times
// turn into labels only where a value leaves: the JSON forms here carry
// seconds, timecode and ticks side by side.
package story

import (
	"errors"
	"fmt"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"rushlight/pkg/timecode"
)

// ErrInvalid is wrapped by every error that says a value breaks its own rules.
var ErrInvalid = errors.New("not valid")

// Recording is one reel: a piece of recorded sound as the edit knows it. A
// recording is known by content (Essence), never by where it lies.
type Recording struct {
	// Reel is the name people use: unique in a bank, compared without case.
	Reel string `json:"reel"`
	// Essence is the SHA-256, in hex, of the sound data alone, without
	// headers; empty for a reel known only by its transcript.
	Essence string `json:"essence,omitempty"`
	// Path is where the file was last seen, absolute; empty without sound.
	Path string `json:"path,omitempty"`
	// Bytes and Modified are the file's size and time when it was read.
	Bytes    int64     `json:"bytes,omitempty"`
	Modified time.Time `json:"modified,omitzero"`

	Duration   timecode.Ticks `json:"-"`
	SampleRate int            `json:"sample_rate,omitempty"`
	Channels   int            `json:"channels,omitempty"`
	// Encoding is for people: "24-bit PCM", "32-bit float".
	Encoding string `json:"encoding,omitempty"`
	// TrackNames holds a name for each channel, "" where none is known.
	TrackNames []string `json:"track_names,omitempty"`

	// Clock is the frame rate, drop flag and start timecode.
	Clock timecode.Clock `json:"-"`
	// Day is the day of recording as YYYY-MM-DD, or a label such as "D2"
	// taken from the reel name; empty if unknown.
	Day         string `json:"day,omitempty"`
	Scene       string `json:"scene,omitempty"`
	Take        string `json:"take,omitempty"`
	Tape        string `json:"tape,omitempty"`
	Description string `json:"description,omitempty"`
	Originator  string `json:"originator,omitempty"`
	Note        string `json:"note,omitempty"`

	Markers []Marker `json:"markers,omitempty"`
	// Unfinished tells that the recorder never closed the file.
	Unfinished bool `json:"unfinished,omitempty"`
	// Language is the BCP 47 tag of the talk, "" if unknown.
	Language string `json:"language,omitempty"`

	// Transcript is where its timed text came from; zero if it has none.
	Transcript Transcript `json:"transcript,omitzero"`
}

// Marker is a named place that the recorder or a person set.
type Marker struct {
	At    timecode.Ticks `json:"at"`
	Label string         `json:"label"`
}

// Transcript says where a reel's words came from.
type Transcript struct {
	Path string `json:"path"`
	// Digest is the SHA-256, in hex, of the file's bytes.
	Digest   string `json:"digest"`
	Format   string `json:"format"`
	Encoding string `json:"encoding,omitempty"`
	// Bytes and Modified are the file's size and time when it was read.
	Bytes    int64     `json:"bytes,omitempty"`
	Modified time.Time `json:"modified,omitzero"`
}

// Valid reports the first rule the recording breaks.
func (r Recording) Valid() error {
	if err := ValidReel(r.Reel); err != nil {
		return err
	}
	if r.Duration < 0 {
		return fmt.Errorf("reel %s: %w: negative duration", r.Reel, ErrInvalid)
	}
	return nil
}

// ValidReel tells whether a name can serve as a reel name: 1 to 64 letters,
// digits, hyphens, underscores and full stops, starting with a letter or
// digit.
func ValidReel(name string) error {
	if name == "" {
		return fmt.Errorf("reel name %w: it is empty", ErrInvalid)
	}
	if utf8.RuneCountInString(name) > 64 {
		return fmt.Errorf("reel name %q %w: longer than 64 letters", name, ErrInvalid)
	}
	for i, r := range name {
		ok := unicode.IsLetter(r) || unicode.IsDigit(r) || i > 0 && (unicode.Is(unicode.Mn, r) || strings.ContainsRune("-_.", r))
		if !ok {
			return fmt.Errorf("reel name %q %w: %q is not allowed; use letters, digits, full stops, - and _", name, ErrInvalid, r)
		}
	}
	return nil
}

// ReelName makes a valid reel name from a file stem or tape name: spaces and
// other signs become hyphens. It returns "" if nothing usable is left.
func ReelName(stem string) string {
	var b strings.Builder
	n := 0
	for _, r := range strings.TrimSpace(stem) {
		if n == 64 {
			break
		}
		keep := unicode.IsLetter(r) || unicode.IsDigit(r) || n > 0 && (unicode.Is(unicode.Mn, r) || strings.ContainsRune("-_.", r))
		if !keep {
			if n == 0 || strings.HasSuffix(b.String(), "-") {
				continue
			}
			r = '-'
		}
		b.WriteRune(r)
		n++
	}
	return strings.TrimRight(b.String(), "-_.")
}
