package listen

import (
	"cmp"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

const (
	turnGap   = 50 // steps: one person's talk goes on over a pause shorter than 0.5 s
	turnLeast = 20 // steps: who talks for less than 0.2 s beside or between others is not heard
)

// turns says who spoke when: by microphone where at least two people have one
// of their own, else by voice.
func (a *analysis) turns(talk []stretch, opt Options, end timecode.Ticks) []story.Turn {
	if len(talk) == 0 {
		return nil
	}
	var out []story.Turn
	dead := a.deadIn(talk)
	works := working(talk, dead)
	if people := a.microphones(works, opt.TrackNames); len(people) > 1 {
		out = a.byChannel(talk, works, people, dead, opt.TrackNames, end)
	} else {
		out = a.byVoice(talk, opt.Voices, people, opt.TrackNames, end)
	}
	sortTurns(out)
	return out
}

func sortTurns(t []story.Turn) {
	slices.SortStableFunc(t, func(x, y story.Turn) int {
		return cmp.Or(cmp.Compare(x.In, y.In), cmp.Compare(x.Out, y.Out), strings.Compare(x.Speaker, y.Speaker))
	})
}

// gather makes turns of the steps in which one speaker talks: those with less
// than turnGap between them and nobody else in it are one turn.
func gather(steps int, talks func(step int) bool, others func(from, to int) bool) []stretch {
	var out []stretch
	for s := 0; s < steps; {
		if !talks(s) {
			s++
			continue
		}
		from := s
		for s < steps && talks(s) {
			s++
		}
		if n := len(out); n > 0 && from-out[n-1].to < turnGap && !others(out[n-1].to, from) {
			out[n-1].to = s
			continue
		}
		out = append(out, stretch{from, s})
	}
	return out
}

// trackWords are words in a track name that say what microphone it is, not
// whose.
var trackWords = []string{"lav", "lavalier", "lapel", "mic", "mike", "microphone", "radio", "wireless", "rf", "track", "trk", "tr", "ch", "channel", "iso", "headset", "clip", "personal"}

// sharedWords mark a track that is nobody's own.
var sharedWords = []string{"boom", "mix", "mixl", "mixr", "mixdown", "ambience", "ambient", "ambi", "atmos", "atmo", "room", "camera", "cam", "scratch", "stereo", "ms", "xy", "mid", "side", "tc", "timecode", "ltc", "guide"}

// nameWords are the words of a track name. A hyphen parts words only where one
// of them is about the microphone: Ines-lav, but Anna-Maria.
func nameWords(name string) []string {
	words := strings.FieldsFunc(name, func(r rune) bool { return strings.ContainsRune(" _./:()#", r) })
	var out []string
	for _, w := range words {
		parts := strings.FieldsFunc(w, func(r rune) bool { return r == '-' })
		if slices.ContainsFunc(parts, isTrackWord) {
			out = append(out, parts...)
		} else if len(parts) > 0 {
			out = append(out, strings.Join(parts, "-"))
		}
	}
	return out
}

// isTrackWord tells a word about the microphone, with or without a number.
func isTrackWord(w string) bool {
	w = strings.TrimRight(strings.ToLower(w), "0123456789")
	return w == "" || slices.Contains(trackWords, w) || slices.Contains(sharedWords, w)
}

// isShared tells whether a track by its name is nobody's own. MS is a pair of
// microphones, but "Ms Vance" is a person's.
func isShared(name string) bool {
	words := nameWords(name)
	person := slices.ContainsFunc(words, func(w string) bool { return !isTrackWord(w) })
	return slices.ContainsFunc(words, func(w string) bool {
		w = strings.ToLower(w)
		return slices.Contains(sharedWords, w) && !(person && w == "ms")
	})
}

// speakerOf is a track's name without the words for the microphone; "Channel
// n" (from 1) if nothing is left.
func speakerOf(names []string, channel int) string {
	if channel < len(names) {
		var keep []string
		letters := false
		for _, w := range nameWords(names[channel]) {
			if !isTrackWord(w) {
				keep = append(keep, w)
				letters = true
			}
		}
		if letters {
			return strings.Join(keep, " ")
		}
	}
	return "Channel " + number(channel+1)
}
