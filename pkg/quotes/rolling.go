package quotes

import (
	"strings"

	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// unroll leaves out what rolling captions say again: cues that begin with the
// lines that the cue before ended with, as live captions and many speech
// programs write them. It does so only where at least half of all cues roll,
// three at least, so that somebody who says a thing twice still does. The
// cues aren't changed; said is how many lines were left out, line the first
// one's place in the file.
func (f *flow) unroll() (out []timedtext.Cue, said, line int) {
	cues := f.doc.Cues
	again := make([]int, len(cues))
	rolls := 0
	for i := 1; i < len(cues) && f.ctx.Err() == nil; i++ {
		again[i] = linesAgain(cues[i-1].Lines, cues[i])
		if again[i] == len(cues[i].Lines) && cues[i].Length() > flash {
			again[i] = 0 // nothing new, and time to be said
		}
		if again[i] > 0 {
			rolls++
		}
	}
	if rolls < 3 || 2*rolls < len(cues)-1 {
		return cues, 0, 0
	}
	for i, c := range cues {
		if again[i] > 0 {
			if said == 0 {
				line = c.Line
			}
			said += again[i]
		}
		if c.Lines = c.Lines[again[i]:]; len(c.Lines) > 0 {
			out = append(out, c)
		}
	}
	return out, said, line
}

// flash is the longest that a cue is shown that only holds lines in place while
// they roll.
const flash = 100 * timecode.Millisecond

// linesAgain is how many lines at the end of one cue the next begins with. A
// line with word times of its own is said anew.
func linesAgain(before []timedtext.Line, c timedtext.Cue) int {
	after := c.Lines
	for n := min(len(before), len(after)); n > 0; n-- {
		same := true
		for i := range n {
			a, b := strings.TrimSpace(before[len(before)-n+i].Plain()), strings.TrimSpace(after[i].Plain())
			same = same && a == b && !timed(after[i], c.In)
		}
		if same {
			return n
		}
	}
	return 0
}

// timed tells whether a line has word times later than where its cue begins.
func timed(l timedtext.Line, in timecode.Ticks) bool {
	for _, r := range l {
		for _, w := range r.Words {
			if w.In > in {
				return true
			}
		}
	}
	return false
}
