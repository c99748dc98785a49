package interchange

import (
	"strings"
	"unicode"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// EDLMaxEvents is how many events a list of the old kind can number.
const EDLMaxEvents = 999

// EDLOptions says how an edit decision list is written.
type EDLOptions struct {
	// Video writes picture and sound (B, AA/V) instead of sound alone, for
	// recordings that are the sound of a camera file. It does not change an
	// event that names its own track.
	Video bool
	// FullPaths writes whole paths after SOURCE FILE instead of file names.
	FullPaths bool
	// ASCII folds titles and comments to ASCII: é becomes e, dashes and
	// quotation marks become plain ones, anything else a question mark.
	ASCII bool
}

// EDLReport says what became of a cut on its way into a list.
type EDLReport struct {
	// Events counts the numbered events.
	Events int
	// Reels maps each reel to its name in the list.
	Reels map[string]string
	// Notes say what the list cannot hold or what a reader must know.
	Notes []string
}

// The keys of comments, as met in lists (FROM CLIP NAME, TO CLIP NAME, SOURCE
// FILE, LOC) and as this package adds them.
const (
	keyFromClip = "FROM CLIP NAME"
	keyToClip   = "TO CLIP NAME"
	keySource   = "SOURCE FILE"
	keyLoc      = "LOC"
	keyRate     = "FRAME RATE"
	keyCode     = "CODE"
	keySpeaker  = "SPEAKER"
	keyText     = "COMMENT"
	keyNote     = "NOTE"
	keyTheme    = "THEME"
	keyHandles  = "HANDLES"
	keyListNote = "LIST NOTE"
)

// markerColour is the colour of the marker that stands for a quote.
const markerColour = "GREEN"

// quoteMarker is the text of the marker that stands for a quote, "" for an
// event that is none.
func quoteMarker(e story.Event) string {
	if e.Code == "" {
		return ""
	}
	return strings.TrimSpace(string(e.Code) + " " + flat(e.Speaker))
}

// flat makes one line of a text: white space and control characters become
// single spaces.
func flat(s string) string {
	s = strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == 0x2028 || r == 0x2029 {
			return ' '
		}
		return r
	}, s)
	return strings.Join(strings.Fields(s), " ")
}

// frameAt is the frame edge at t; between two, round decides. Rates whose
// frames are no whole number of ticks are met to the nearest tick.
func frameAt(r timecode.Rate, t timecode.Ticks, round timecode.Rounding) int64 {
	n := r.Frame(t, timecode.Nearest)
	if d := r.Ticks(n) - t; d >= -1 && d <= 1 {
		return n
	}
	return r.Frame(t, round)
}

// hasDrop tells whether a rate has drop-frame labels (SMPTE ST 12-1).
func hasDrop(r timecode.Rate) bool { return r == timecode.Rate2997 || r == timecode.Rate5994 }

func fcm(drop bool) string {
	if drop {
		return "FCM: DROP FRAME"
	}
	return "FCM: NON-DROP FRAME"
}
