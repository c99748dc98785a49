package subtitles

import (
	"math"

	"rushlight/pkg/timecode"
)

// What a cue costs besides its line breaks, against the break costs above.
// Ours; chosen on the demo talk, no source.
const (
	cueCost      = 30.0  // each cue
	joinCost     = 24.0  // each sentence after the first in a cue
	mixedCost    = 40.0  // the end of one sentence with the start of another
	pauseCost    = 35.0  // each second of silence inside a cue
	lineWeight   = 0.8   // of the break between lines
	cueWeight    = 2.2   // of the break between cues
	tooLongCost  = 300.0 // each second over the longest
	tooShortCost = 120.0 // a cue of no length
	tooFastCost  = 160.0 // a cue with half the time that it needs; squared
	orphanCost   = 40.0  // a scrap of a sentence
	orphanChars  = 28
)

// restless is the silence above which a pause counts against a cue.
const restless = 600 * timecode.Millisecond

// longestCue is the most words tried in one cue, where no limit says less.
const longestCue = 120

// cut is one cue found by cutTalk: tokens from to to-1.
type cut struct{ from, to int }

// cutTalk divides the talk into cues so that the whole costs least. room is
// the silence after the last token that may be used.
func cutTalk(t text, lim Limits, room timecode.Ticks) []cut {
	n := len(t.tokens)
	best := make([]float64, n+1)
	back := make([]int, n+1)
	for j := 1; j <= n; j++ {
		best[j] = math.Inf(1)
		for i := j - 1; i >= 0 && j-i <= longestCue; i-- {
			_, layout, ok := t.layout(i, j)
			if !ok {
				break
			}
			c := best[i] + cueCost + lineWeight*layout + t.inside(i, j) + t.timing(i, j, lim, room)
			if j < n {
				c += cueWeight * float64(t.cost[j])
			}
			if c < best[j] {
				best[j], back[j] = c, i
			}
		}
	}
	var cuts []cut
	for j := n; j > 0; j = back[j] {
		cuts = append(cuts, cut{back[j], j})
	}
	for a, b := 0, len(cuts)-1; a < b; a, b = a+1, b-1 {
		cuts[a], cuts[b] = cuts[b], cuts[a]
	}
	return cuts
}

// inside is what a cue's own content costs: sentences put together, silences
// covered, scraps.
func (t text) inside(i, j int) float64 {
	c, sentences := 0.0, 1
	for k := i + 1; k < j; k++ {
		if t.cost[k] == breakSentence {
			c += joinCost
			sentences++
		}
		if gap := t.tokens[k].In - t.tokens[k-1].Out; gap > restless {
			c += pauseCost * (gap - restless).Seconds()
		}
	}
	whole := (i == 0 || t.cost[i] == breakSentence) && (j == len(t.tokens) || t.cost[j] == breakSentence)
	if !whole && sentences > 1 {
		c += mixedCost
	}
	if w := t.width(i, j); !whole && w < orphanChars {
		c += orphanCost * float64(orphanChars-w) / orphanChars
	}
	return c
}

// timing is what it costs that a cue can't stand for the time it should.
func (t text) timing(i, j int, lim Limits, room timecode.Ticks) float64 {
	said := t.tokens[j-1].Out - t.tokens[i].In
	can := said + room
	if j < len(t.tokens) {
		can = t.tokens[j].In - t.tokens[i].In
	}
	c := 0.0
	if lim.MaxDuration > 0 && said > lim.MaxDuration {
		c += tooLongCost * (said - lim.MaxDuration).Seconds()
	}
	if lim.MinDuration > 0 && can < lim.MinDuration {
		c += tooShortCost * (1 - float64(can)/float64(lim.MinDuration))
	}
	if need := readingTime(t.width(i, j), countWords(t.tokens[i:j]), lim); need > can {
		over := min(float64(need)/float64(max(can, 1))-1, 5)
		c += tooFastCost * over * over
	}
	return c
}

// readingTime is how long a text must stand by the limits of reading.
func readingTime(chars, words int, lim Limits) timecode.Ticks {
	var t timecode.Ticks
	if lim.ReadingSpeed > 0 {
		t = timecode.Ticks(math.Ceil(float64(chars) / lim.ReadingSpeed * float64(timecode.PerSecond)))
	}
	if lim.WordsPerMinute > 0 && words > 2 {
		t = max(t, timecode.Ticks(math.Ceil(float64(words)/lim.WordsPerMinute*60*float64(timecode.PerSecond))))
	}
	return t
}

func countWords(tokens []token) int {
	n := 0
	for _, w := range tokens {
		if !w.glued && core(w.text) != "" {
			n++
		}
	}
	return n
}
