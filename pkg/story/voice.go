package story

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"regexp"
	"slices"

	"rushlight/pkg/timecode"
)

// VoiceMeasure is what the voice of one speaker in one reel is known by. It is
// personal data: it stays in the bank.
type VoiceMeasure struct {
	Reel string
	// Turns is the TurnsDigest of the stretches that were measured.
	Turns string
	// Body is the measure, as the analyser packs it; empty for a voice that is
	// not to be measured.
	Body []byte
}

// TurnsDigest knows the stretches of one speaker again, whatever the speaker
// is called.
func TurnsDigest(turns []Turn, speaker string) string {
	h := sha256.New()
	spans := []timecode.Span{}
	for _, t := range turns {
		if t.Speaker == speaker {
			spans = append(spans, t.Span)
		}
	}
	slices.SortFunc(spans, func(a, b timecode.Span) int { return int(max(-1, min(1, a.In-b.In))) })
	for _, s := range spans {
		var b [16]byte
		binary.LittleEndian.PutUint64(b[:8], uint64(s.In))
		binary.LittleEndian.PutUint64(b[8:], uint64(s.Out))
		h.Write(b[:])
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

var madeUpSpeaker = regexp.MustCompile(`^(Voice|Channel) [0-9]+$`)

// IsMadeUp tells whether a speaker's name is one that listening made up, such
// as Voice 2, and no person's.
func IsMadeUp(speaker string) bool { return speaker == "" || madeUpSpeaker.MatchString(speaker) }
