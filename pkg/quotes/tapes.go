package quotes

import (
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// tapeJump is how far times must fall back, to as near their beginning, to be
// those of a new tape.
const tapeJump = timecode.Minute

// tapes lays what was said on a second tape behind the first, where the times
// of a document begin anew in the middle, so that it doesn't get between what
// was said on the first. It gives for each cue what is to be added to its
// times, and the places where a tape begins.
func tapes(cues []timedtext.Cue) (add []timecode.Ticks, begins []int) {
	add = make([]timecode.Ticks, len(cues))
	if len(cues) == 0 {
		return add, nil
	}
	start := 0
	var last, shift timecode.Ticks // last is the highest time of this tape
	for i, c := range cues {
		if c.In == timedtext.NoTime {
			add[i] = shift
			continue
		}
		fresh := i-start >= 2 && i+1 < len(cues) && c.In+tapeJump < last && c.In <= cues[0].In+tapeJump &&
			cues[i+1].In >= c.In && cues[i+1].In < last
		if fresh {
			shift += last - c.In
			begins = append(begins, i)
			start, last = i, c.In
		}
		add[i] = shift
		last = max(last, c.In)
		if c.Out != timedtext.NoTime {
			last = max(last, c.Out)
		}
	}
	return add, begins
}

// moved is lines with their word times moved; the lines aren't changed.
func moved(lines []timedtext.Line, by timecode.Ticks) []timedtext.Line {
	out := make([]timedtext.Line, len(lines))
	for i, l := range lines {
		out[i] = append(timedtext.Line(nil), l...)
		for j, r := range l {
			words := append([]timedtext.Word(nil), r.Words...)
			for k := range words {
				if words[k].In != timedtext.NoTime {
					words[k].In += by
				}
				if words[k].Out != timedtext.NoTime {
					words[k].Out += by
				}
			}
			out[i][j].Words = words
		}
	}
	return out
}
