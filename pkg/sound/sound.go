// Package sound reads WAV, RF64/BW64 and Broadcast Wave metadata as a stream
// of sample blocks, has ffmpeg decode any other file into the same blocks, and
// writes WAV.
//
// A file is a row of chunks: a name of four letters, a size, a body, a pad
// byte where the size is odd. "fmt " says how samples are stored, "data" holds
// them, "bext" and "iXML" say where and when they were recorded, "cue " and
// "LIST" carry markers. Recorders lose power, cards fail and programs write
// wrong sizes: whatever can be heard is read, each thing that was wrong gives
// a note, and what can't be heard is refused with its place and a remedy.
// Memory is the same for a second and for ten hours.
//
// It measures nothing (that is listen), decodes nothing compressed by itself
// (OpenMedia runs ffmpeg where that is on the PATH), and never changes a
// source: files are opened read-only, and a stringout is refused where it
// would replace one.
//
// Sources: Microsoft/IBM Multimedia Programming Interface 1.0 (RIFF), EBU Tech
// 3285 (bext), EBU Tech 3306 (RF64), ITU-R BS.2088 (BW64), the iXML
// specification. docs/decisions/0003 says why the reader is our own, 0007
// how other files are read.
package sound

import (
	"rushlight/pkg/timecode"
)

// Info is what a file says of itself, checked against what is really there.
type Info struct {
	// Container is "RIFF", "RF64" or "BW64"; of a decoded file its kind in
	// capitals ("MOV", "MP4", "MXF", "FLAC").
	Container string
	// Codec is the decoder's name for how the sound is packed ("aac", "flac",
	// "pcm_s24le"); "" for the WAV family.
	Codec string
	// Float tells IEEE float samples; else integer PCM.
	Float bool
	// Bits is the size of a sample's container in the file (8, 16, 24, 32,
	// 64); ValidBits how many of them count.
	Bits, ValidBits int
	Channels        int
	SampleRate      int
	ChannelMask     uint32
	// Frames is the number of sample frames really present.
	Frames int64
	// DataOffset is the byte at which the first sample lies.
	DataOffset int64
	// Unfinished tells that the header was never closed (a size of 0 or
	// 0xFFFFFFFF, or larger than the file).
	Unfinished bool
	// Missing is how many frames the header claims that the file doesn't have:
	// a copy that was cut short, or a recorder that died.
	Missing int64
	// Notes holds one line for each thing that was wrong and was got over,
	// with its byte offset.
	Notes []string

	Broadcast  *Broadcast
	Production *Production
	Markers    []Marker
}

// Duration is the exact length of what is there.
func (i Info) Duration() timecode.Ticks { return timecode.FromSamples(i.Frames, i.SampleRate) }

// Broadcast is the bext chunk (EBU Tech 3285).
type Broadcast struct {
	Description, Originator, OriginatorReference string
	// Date is YYYY-MM-DD and Time HH:MM:SS as written; "" if blank.
	Date, Time string
	// TimeReference is the sample count since midnight of the first sample.
	TimeReference uint64
	Version       int
	// LoudnessLUFS is the value the file carries (version 2), 0 if none.
	LoudnessLUFS  float64
	CodingHistory string
}

// Production is the iXML chunk, as far as the bank uses it.
type Production struct {
	Project, Scene, Take, Tape, Note, UID string
	// Base is the timecode rate with its drop flag; zero if not given.
	Base timecode.Base
	// StartSamples is TIMESTAMP_SAMPLES_SINCE_MIDNIGHT, counted at the file's
	// sample rate; −1 if not given.
	StartSamples int64
	// TrackNames is one name for each channel, "" where there is none; nil if
	// the chunk has no tracks.
	TrackNames []string
}

// Marker is one point of the cue chunk with its label, "" without one. Markers
// come in order of time and lie within the sound.
type Marker struct {
	Frame int64
	Label string
}
