package story

import (
	"rushlight/pkg/timecode"
)

// EnvelopeStep is the time between two values of an Envelope: 10 ms.
const EnvelopeStep = 10 * timecode.Millisecond

// Envelope is the level of a recording each 10 ms, over all channels: the
// root mean square and the highest absolute sample, in hundredths of a decibel
// relative to full scale (a full-scale square wave has RMS 0 dBFS). Silence is
// EnvelopeSilent. RMS and Peak have the same length.
type Envelope struct {
	RMS  []int16 `json:"rms_cdbfs"`
	Peak []int16 `json:"peak_cdbfs"`
}

// EnvelopeSilent stands for digital silence: −200.00 dBFS.
const EnvelopeSilent int16 = -20000

// Heard is what could be heard in one recording. Spans are in order and do
// not touch or overlap each other (turns may overlap).
type Heard struct {
	// Version is the version of the analyser that made it.
	Version int
	// Duration is what was listened to.
	Duration timecode.Ticks
	// FloorDBFS is the noise floor, LoudnessLUFS the integrated loudness
	// (ITU-R BS.1770; −Inf if nothing passes the gate), PeakDBFS the highest
	// sample (−Inf for digital silence).
	FloorDBFS    float64
	LoudnessLUFS float64
	PeakDBFS     float64
	// ThresholdDBFS is the level above which sound counted as speech.
	ThresholdDBFS float64

	Envelope Envelope
	// Speech holds the stretches in which somebody speaks.
	Speech []timecode.Span
	// Pauses holds the silences between stretches of speech; the time before
	// the first and after the last is not a pause.
	Pauses []timecode.Span
	// Turns holds who spoke when, ordered by In.
	Turns []Turn
	// Clipped holds the places where samples stand at full scale.
	Clipped []Clip
}

// Clip is one stretch of clipped samples on one channel (counted from 0).
type Clip struct {
	timecode.Span
	Channel int
	Samples int
}

// TurnSource says what a turn's speaker was told by.
type TurnSource string

// The sources of a turn's speaker.
const (
	ByChannel    TurnSource = "channel"
	ByVoice      TurnSource = "voice"
	ByTranscript TurnSource = "transcript"
)

// Turn is one person's stretch of talk.
type Turn struct {
	Speaker string
	timecode.Span
	Source TurnSource
	// Channel is the microphone (from 0) that told the speaker, −1 if none.
	Channel int
}

// Talk is one person's share of the talk in a recording.
type Talk struct {
	Speaker string         `json:"speaker"`
	Ticks   timecode.Ticks `json:"-"`
	Seconds float64        `json:"seconds"`
	// Share is the part of all talk, 0 to 1; the shares of a recording sum
	// to 1. Overlapping talk counts for each who talks.
	Share float64 `json:"share"`
}

// TalkShares adds up turns per speaker, most talkative first (ties by name).
// The turns of one speaker must not overlap each other.
func TalkShares(turns []Turn) []Talk {
	sum := map[string]timecode.Ticks{}
	var all timecode.Ticks
	for _, t := range turns {
		if t.Empty() {
			continue
		}
		sum[t.Speaker] += t.Length()
		all += t.Length()
	}
	talk := make([]Talk, 0, len(sum))
	for name, d := range sum {
		talk = append(talk, Talk{Speaker: name, Ticks: d, Seconds: d.Seconds(), Share: float64(d) / float64(all)})
	}
	sortTalk(talk)
	return talk
}
