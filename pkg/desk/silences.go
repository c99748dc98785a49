package desk

import (
	"math"
	"slices"

	"rushlight/pkg/listen"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Silence is a stretch in which nobody speaks: "pause" inside one person's
// talk, "gap" between two people, "lead" before the first word and "tail" after
// the last, "unknown" where nobody is known to speak beside it.
type Silence struct {
	timecode.Span
	Kind string
	// Before and After are who spoke, "" if nobody is known to.
	Before, After string
}

// Silences are all silences of the recording, in order.
func (l Listened) Silences() []Silence {
	var out []Silence
	for _, s := range listen.Silences(l.Heard) {
		out = append(out, Silence{s.Span, s.Kind.String(), s.Before, s.After})
	}
	return out
}

// Unsure is a stretch heard as speech that may be none.
type Unsure struct {
	timecode.Span
	Confidence float64
}

// unsureBelow is the confidence below which a stretch is worth a look: in real
// meetings one stretch with speech in 46 lies below.
const unsureBelow = 0.15

// Unsure are the stretches of speech that a person should listen to, in order:
// those of little confidence for which no transcript has words.
func (l Listened) Unsure() []Unsure {
	var out []Unsure
	for i, c := range listen.Confidence(l.Heard) {
		s := l.Heard.Speech[i]
		said := slices.ContainsFunc(l.Heard.Turns, func(t story.Turn) bool { return t.Source == story.ByTranscript && t.Overlaps(s) })
		if c < unsureBelow && !said {
			out = append(out, Unsure{s, c})
		}
	}
	return out
}

type heardJSON struct {
	spanJSON
	Confidence float64 `json:"confidence"`
}

type silenceJSON struct {
	spanJSON
	Kind   string `json:"kind"`
	Before string `json:"before"`
	After  string `json:"after"`
}

// writeSpeech writes "speech" with a confidence each, "pauses" and "silences".
func (l Listened) writeSpeech(w *jsonWriter, span func(timecode.Span) spanJSON) {
	sure, silences := listen.Confidence(l.Heard), l.Silences()
	w.list("speech", len(l.Heard.Speech), func(i int) any {
		return heardJSON{span(l.Heard.Speech[i]), math.Round(sure[i]*100) / 100}
	})
	w.list("pauses", len(l.Heard.Pauses), func(i int) any { return span(l.Heard.Pauses[i]) })
	w.list("silences", len(silences), func(i int) any {
		s := silences[i]
		return silenceJSON{span(s.Span), s.Kind, s.Before, s.After}
	})
}
