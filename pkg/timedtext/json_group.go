package timedtext

import (
	"strings"

	"rushlight/pkg/timecode"
)

// Grouping of a bare list of words, our own choice: a new cue where somebody
// else speaks, after a silence of a second, after the end of a sentence once
// there are eight words, and at forty words.
const (
	groupGap      = timecode.Second
	groupSentence = 8
	groupMost     = 40
)

// regroup cuts up segments that are no more than a box for their words: those
// without a time of their own, and those in which several people speak.
func (j *jsonReader) regroup(list []object) []object {
	out := make([]object, 0, len(list))
	for _, o := range list {
		if j.stopped() != nil {
			return nil
		}
		words := wordsOf(o)
		_, timed := j.when(o, jsonStart)
		if len(words) == 0 || timed && !j.several(words) || o["lines"] != nil {
			out = append(out, o)
			continue
		}
		out = append(out, j.group(words, j.speaker(o))...)
	}
	return out
}

func (j *jsonReader) several(words []object) bool {
	who := ""
	for _, w := range words {
		if s := j.speaker(w); s != "" && s != who {
			if who != "" {
				return true
			}
			who = s
		}
	}
	return false
}

// group makes segments of a bare list of words; speaker is whose they are
// where they do not say so.
func (j *jsonReader) group(words []object, whose string) []object {
	var out []object
	var cur []any
	var speaker string
	var end timecode.Ticks
	close := func() {
		if len(cur) > 0 {
			out = append(out, object{"words": cur, "speaker": speaker})
			cur = nil
		}
	}
	for _, w := range words {
		in, timed := j.when(w, jsonStart)
		who := j.speaker(w)
		if who == "" {
			who = whose
		}
		if timed && len(cur) > 0 {
			last := textOf(object(cur[len(cur)-1].(map[string]any)), jsonWord)
			sentence := strings.HasSuffix(last, ".") || strings.HasSuffix(last, "?") || strings.HasSuffix(last, "!")
			if who != speaker || in-end >= groupGap || sentence && len(cur) >= groupSentence || len(cur) >= groupMost {
				close()
			}
		}
		if len(cur) == 0 {
			speaker = who
		}
		cur = append(cur, map[string]any(w))
		if t, ok := j.when(w, jsonEnd); ok {
			end = t
		} else if timed {
			end = in
		}
	}
	close()
	return out
}
