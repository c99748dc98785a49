package review

import (
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Passage is what one person says in one go: one or more neighbouring quotes.
type Passage struct {
	timecode.Span
	Reel, Speaker string
	Quotes        []story.Quote
}

// Quote joins a passage into one quote, for Quotability: code, reel, order and
// note of the first, the text, words and themes of all, the highest rating,
// from the first in to the last out. A passage of one quote is that quote.
func (p Passage) Quote() story.Quote {
	if len(p.Quotes) == 0 {
		return story.Quote{Reel: p.Reel, Speaker: p.Speaker, Span: p.Span}
	}
	q := p.Quotes[0]
	if len(p.Quotes) == 1 {
		return q
	}
	q.Span = p.Span
	texts := []string{q.Text}
	q.Words, q.Themes = slices.Clone(q.Words), slices.Clone(q.Themes)
	for _, next := range p.Quotes[1:] {
		texts = append(texts, next.Text)
		q.Words = append(q.Words, next.Words...)
		for _, theme := range next.Themes {
			if !slices.ContainsFunc(q.Themes, func(t string) bool { return story.SameTheme(t, theme) }) {
				q.Themes = append(q.Themes, theme)
			}
		}
		q.Rating = max(q.Rating, next.Rating)
	}
	q.Text = strings.Join(texts, " ")
	q.OutBy = p.Quotes[len(p.Quotes)-1].OutBy
	return q
}

// PassageOptions says how quotes are joined; zero values take the defaults.
type PassageOptions struct {
	// Max is the longest passage, 25 s; a single longer quote stands alone.
	Max timecode.Ticks
	// Min is what a passage should last, 6 s; shorter ones are left only
	// where nothing is there to join.
	Min timecode.Ticks
	// Gap is the longest silence inside a passage, 2.5 s.
	Gap timecode.Ticks
}

func (o PassageOptions) withDefaults() PassageOptions {
	if o.Max <= 0 {
		o.Max = lengthMost
	}
	if o.Min <= 0 {
		o.Min = lengthLeast
	}
	if o.Gap <= 0 {
		o.Gap = 2500 * timecode.Millisecond
	}
	return o
}

// Passages groups neighbouring quotes of one speaker into passages, in order;
// each quote is in exactly one. Quotes of one reel stand together and in
// order. Where a stretch of talk is longer than opt.Max it is divided so that
// passages last between Min and Max, begin where a saying can stand by itself,
// and part at the longer silences.
func Passages(quotes []story.Quote, opt PassageOptions) []Passage {
	opt = opt.withDefaults()
	var out []Passage
	for from := 0; from < len(quotes); {
		to := from + 1
		for to < len(quotes) && joins(quotes[to-1], quotes[to], opt.Gap) {
			to++
		}
		out = append(out, divide(quotes[from:to], opt)...)
		from = to
	}
	return out
}

// joins tells whether b goes on with what a says.
func joins(a, b story.Quote, gap timecode.Ticks) bool {
	return a.Reel == b.Reel && a.Speaker == b.Speaker && b.In >= a.In && b.In-a.Out <= gap
}

// What dividing a stretch costs, in parts of a whole spoilt passage. Chosen
// by reason, not fitted.
const (
	eachCost    = 0.1 // each passage
	shortCost   = 1.0 // one without length, falling to 0 at Min
	danglesCost = 0.6 // one that cannot begin where it does
	silenceGain = 0.2 // a second of silence before it
)

// divide finds the cheapest division of one stretch of talk.
func divide(run []story.Quote, opt PassageOptions) []Passage {
	leans := make([]float64, len(run))
	for i, q := range run {
		stands, _ := begins(cut(q.Text), tongueOf(q.Language))
		leans[i] = 1 - stands
	}
	cost := make([]float64, len(run)+1)
	from := make([]int, len(run)+1)
	for end := 1; end <= len(run); end++ {
		cost[end] = -1
		out := run[end-1].Out
		for start := end - 1; start >= 0; start-- {
			out = max(out, run[start].Out)
			length := out - run[start].In
			if start < end-1 && length > opt.Max {
				break
			}
			c := cost[start] + passageCost(run, start, length, leans[start], opt)
			if cost[end] < 0 || c < cost[end] {
				cost[end], from[end] = c, start
			}
		}
	}
	var out []Passage
	for end := len(run); end > 0; end = from[end] {
		q := run[from[end]:end]
		span := q[0].Span
		for _, other := range q[1:] {
			span.Out = max(span.Out, other.Out)
		}
		out = append(out, Passage{Span: span, Reel: q[0].Reel, Speaker: q[0].Speaker, Quotes: slices.Clone(q)})
	}
	slices.Reverse(out)
	return out
}

// passageCost is the cost of a passage that begins at start; leans is how much
// its beginning leans on what was said before.
func passageCost(run []story.Quote, start int, length timecode.Ticks, leans float64, opt PassageOptions) float64 {
	c := eachCost
	if length < opt.Min {
		c += shortCost * float64(opt.Min-length) / float64(opt.Min)
	}
	if start > 0 {
		c += danglesCost * leans
		silence := (run[start].In - run[start-1].Out).Seconds()
		c -= silenceGain * min(max(silence, 0), 2)
	}
	return max(c, 0)
}
