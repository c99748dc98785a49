// Package listen hears what is in a recording: level each 10 ms, noise floor,
// speech and pauses, who speaks when, clipping, and integrated loudness. It
// takes one streaming pass over sample blocks and keeps a few bytes for each
// 10 ms, never the samples.
//
// It does not recognise words and changes no sound. What a voice is known by
// from one recording to the next is measured only where that is asked for
// (MeasureVoices). Turns are told apart by
// microphone where each speaker has one, else by level and voice colour, or by
// a transcript's own labels (Relabel); it does not undo room echo or separate
// voices that talk at once on one microphone.
//
// Sources: ITU-R BS.1770-5 and EBU Tech 3341 (loudness); Martin 2001 (noise
// floor by minimum statistics); Sohn, Kim & Sung 1999 (detection over several
// bands by likelihood, with hang-over); Boersma 1993 (periodicity from a windowed
// autocorrelation); Davis & Mermelstein 1980 (mel cepstrum); Chen &
// Gopalakrishnan 1998 (BIC segment merging). The sources of single figures
// stand beside them.
package listen

import (
	"rushlight/pkg/sound"
	"rushlight/pkg/timecode"
)

// Version numbers the analyser; a bank knows by it what was heard by an older
// one.
const Version = 5

// Source is a stream of sample blocks; *sound.Reader is one.
type Source interface {
	Info() sound.Info
	// Next returns the next block, in order and without holes, and io.EOF
	// after the last. The block is valid until the next call.
	Next() (sound.Block, error)
}

// Options says what is known before listening. The zero value is usable.
type Options struct {
	// TrackNames holds a name for each channel ("Ines lav", "boom"); nil or
	// "" where none is known.
	TrackNames []string
	// Voices is the number of people, if known: 1 to 6; 0 finds out. At most
	// so many voices are told apart on one microphone; fewer where the sound
	// does not bear them out (a voice with a few words only).
	Voices int
	// Progress, if set, is called about once for each second of sound.
	Progress func(done timecode.Ticks)
}
