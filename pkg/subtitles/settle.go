package subtitles

import (
	"slices"

	"rushlight/pkg/timecode"
)

const (
	// linger is how long a cue stays after the speech where there is room.
	linger = 480 * timecode.Millisecond
	// lead is how much before the speech a cue may come in where it would
	// else be too fast to read. The BBC allows 1.5 s (recalled).
	lead = 500 * timecode.Millisecond
	// lateMost is how far a cue may trail its speech without a finding: BBC
	// Subtitle Guidelines, lead or hang at most 1.5 s (recalled).
	lateMost = 1500 * timecode.Millisecond
)

// shown is a cue on its way: what it says and when that is heard.
type shown struct {
	lines   []string
	speaker string
	dashed  bool // each line is somebody else's
	heard   timecode.Span
	// shot is from the cut before to the cut after, as far as they are known:
	// a cue leads and lingers only within it.
	shot  timecode.Span
	chars int
	words int
	// start and end are in units of the grid.
	start, end int64
}

// settle gives every cue its start and end. Cues must be in the order of their
// speech. No two overlap afterwards, and the gap is kept.
func settle(cues []shown, lim Limits) []shown {
	g := grid{lim.Base.Rate}
	cues = dashes(cues, lim)
	least := max(g.count(lim.MinDuration, timecode.Ceil), 1)
	most := g.count(lim.MaxDuration, timecode.Floor)
	gap := max(g.gap(lim.Gap), 0)
	for i := range cues {
		c := &cues[i]
		c.start = max(g.count(c.heard.In, timecode.Floor), 0)
		if i > 0 {
			c.start = max(c.start, cues[i-1].start+least+gap)
		}
	}
	needs := func(c shown) int64 {
		n := max(g.count(readingTime(c.chars, c.words, lim), timecode.Ceil), least)
		return capped(n, most)
	}
	free := int64(0) // the first place at which the next cue may start
	for i := range cues {
		c := &cues[i]
		need := needs(*c)
		end := max(g.count(c.heard.Out, timecode.Ceil), c.start+need)
		c.end = min(end, c.start+capped(end-c.start, most))
		if i+1 < len(cues) {
			c.end = min(c.end, cues[i+1].start-gap)
		}
		if short := need - (c.end - c.start); short > 0 {
			early := min(short, g.count(lead, timecode.Floor), c.start-max(free, g.count(c.shot.In, timecode.Ceil)))
			c.start -= max(early, 0)
		}
		free = c.end + gap
	}
	for i := range cues {
		c := &cues[i]
		end := max(c.end, g.count(min(c.heard.Out+linger, c.shot.Out), timecode.Floor))
		if i+1 < len(cues) {
			end = min(end, cues[i+1].start-gap)
		}
		c.end = max(c.end, c.start+capped(end-c.start, most))
	}
	return cues
}

// capped is n, at most most where that is set.
func capped(n, most int64) int64 {
	if most > 0 {
		return min(n, most)
	}
	return n
}

// dashes puts two people who talk at once into one cue, a line each with a
// dash, where both fit; else they follow each other.
func dashes(cues []shown, lim Limits) []shown {
	if lim.Lines == 1 {
		return cues
	}
	out := cues[:0:0]
	for i := 0; i < len(cues); i++ {
		c := cues[i]
		if i+1 < len(cues) {
			if both, ok := together(c, cues[i+1], lim); ok {
				out = append(out, both)
				i++
				continue
			}
		}
		out = append(out, c)
	}
	return out
}

// dash stands before a line where two people talk in one cue, two characters
// wide; timedtext writes it.
const dash = "- "

func together(a, b shown, lim Limits) (shown, bool) {
	if len(a.lines) != 1 || len(b.lines) != 1 || a.speaker == b.speaker || a.dashed || b.dashed {
		return shown{}, false
	}
	if b.heard.In-a.heard.In >= max(lim.MinDuration, a.heard.Out-a.heard.In) {
		return shown{}, false
	}
	both := shown{
		lines: []string{a.lines[0], b.lines[0]}, dashed: true,
		heard: a.heard.Cover(b.heard), shot: a.shot.Cover(b.shot), words: a.words + b.words,
	}
	for _, l := range both.lines {
		if lim.LineLength > 0 && width(dash+l, lim.Language) > lim.LineLength {
			return shown{}, false
		}
	}
	both.chars = width(dash+both.lines[0]+" "+dash+both.lines[1], lim.Language)
	if lim.MaxDuration > 0 && both.heard.Length() > lim.MaxDuration {
		return shown{}, false
	}
	return both, true
}

// inOrder sorts cues by when they are heard; cues of one speaker stay in the
// order of their words.
func inOrder(cues []shown) {
	slices.SortStableFunc(cues, func(a, b shown) int {
		switch {
		case a.heard.In < b.heard.In:
			return -1
		case a.heard.In > b.heard.In:
			return 1
		}
		return 0
	})
}
