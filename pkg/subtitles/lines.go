package subtitles

import "math"

// text is a run of tokens with what is known of it, prepared for laying out.
type text struct {
	tokens []token
	// ends[i] is the width in half characters of the first i tokens, each
	// with the space before it; spaces[i] the part of it that token i's own
	// space takes.
	ends, spaces []int
	// cost[i] is what a break before token i costs.
	cost []int
	// lineLength and lines are the limits; lines at least 1.
	lineLength, lines int
}

// wrongLineCost makes another cue dearer only than a good line break.
const wrongLineCost = 40

// anyLength stands for a line without a limit.
const anyLength = math.MaxInt32

func newText(tokens []token, g grammar, lim Limits) text {
	t := text{
		tokens: tokens, ends: make([]int, len(tokens)+1), spaces: make([]int, len(tokens)),
		cost: make([]int, len(tokens)), lineLength: lim.LineLength, lines: lim.Lines,
	}
	if t.lineLength == 0 {
		t.lineLength = anyLength
	}
	if t.lines == 0 {
		t.lines = 2
	}
	space := 2
	if wide(lim.Language) {
		space = 1
	}
	for i, w := range tokens {
		if i > 0 {
			t.cost[i] = g.breakCost(tokens, i)
			if !w.glued {
				t.spaces[i] = space
			}
		}
		t.ends[i+1] = t.ends[i] + t.spaces[i] + halfWidths(w.text, lim.Language)
	}
	return t
}

// halfWidths is the width of one token in half characters.
func halfWidths(s, language string) int {
	if wide(language) {
		return stringWidth(s)
	}
	return 2 * width(s, language)
}

// width is how many characters tokens i to j-1 take on one line.
func (t text) width(i, j int) int {
	return (t.ends[j] - t.ends[i] - t.spaces[i] + 1) / 2
}

// layout finds the cheapest lines for tokens i to j-1: the places, in order, at
// which a line starts after the first. It uses as few lines as it can. One
// token alone always fits.
func (t text) layout(i, j int) (starts []int, cost float64, ok bool) {
	for n := 1; n <= t.lines; n++ {
		if starts, cost, ok = t.inLines(i, j, n); ok {
			return starts, cost, true
		}
	}
	return nil, 0, false
}

// inLines lays tokens i to j-1 in exactly n lines.
func (t text) inLines(i, j, n int) (starts []int, cost float64, ok bool) {
	w := t.width(i, j)
	if n == 1 {
		return nil, 0, w <= t.lineLength || j-i == 1
	}
	// Longer than any n lines can be: no need to look.
	if t.lineLength < anyLength && w > n*(t.lineLength+1) && j-i > n {
		return nil, 0, false
	}
	best := math.Inf(1)
	for k := i + 1; k < j; k++ {
		first := t.width(i, k)
		if first > t.lineLength && k-i > 1 {
			break
		}
		rest, c, fits := t.inLines(k, j, n-1)
		if !fits {
			continue
		}
		second := t.width(k, j) / (n - 1)
		if t.cost[k] >= breakSubject {
			c += wrongLineCost
		}
		c += float64(t.cost[k]) + unevenness(first, second, min(t.lineLength, w))
		if c < best {
			best, starts = c, append([]int{k}, rest...)
		}
	}
	return starts, best, starts != nil
}

// unevenness is the cost of lines of different length; a longer upper line
// costs a little more (Ivarsson & Carroll 1998: upper line shorter).
func unevenness(upper, lower, length int) float64 {
	c := 32 * math.Abs(float64(upper-lower)) / float64(max(length, 1))
	if upper > lower {
		c += 3
	}
	return c
}
