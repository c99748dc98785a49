package themes

import (
	"cmp"
	"context"
	"iter"
	"math"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// near are the bounds of a stretch of talk that MapOptions leave open.
const (
	nearQuotes = 3
	nearTime   = timecode.Minute
	// strongRating is the rating from which a quote counts as strong.
	strongRating = 4
)

// tagged is all quotes with their themes as numbers.
type tagged struct {
	quotes   []taggedQuote
	names    []string // of themes
	speakers table
	reels    []string
	shots    []story.Shot
	rank     []int32 // place of a reel in the order of shooting
}

type taggedQuote struct {
	timecode.Span
	code    story.Code
	reel    int32
	speaker int32
	order   int32
	strong  bool
	themes  []int32
}

// readTagged takes in all quotes, in the order of shooting.
func readTagged(ctx context.Context, quotes iter.Seq2[story.Quote, error]) (*tagged, error) {
	m := &tagged{}
	themeAt, reelAt := map[string]int32{}, map[string]int32{}
	n := 0
	for q, err := range quotes {
		if err != nil {
			return nil, err
		}
		if n++; n%1000 == 0 && ctx.Err() != nil {
			break
		}
		at, ok := reelAt[q.Reel]
		if !ok {
			at = int32(len(m.reels))
			reelAt[q.Reel] = at
			m.reels, m.shots = append(m.reels, q.Reel), append(m.shots, q.Shot())
		}
		t := taggedQuote{
			Span: q.Span, code: q.Code, reel: at, speaker: m.speakers.number(q.Speaker), order: int32(q.Order),
			strong: q.IsStrong() || q.Rating >= strongRating,
		}
		for _, name := range q.Themes {
			if story.SameTheme(name, story.Strong) {
				continue
			}
			th, ok := themeAt[strings.ToLower(name)]
			if !ok {
				th = int32(len(m.names))
				themeAt[strings.ToLower(name)] = th
				m.names = append(m.names, name)
			}
			if !slices.Contains(t.themes, th) {
				t.themes = append(t.themes, th)
			}
		}
		m.quotes = append(m.quotes, t)
	}
	m.sort()
	return m, ctx.Err()
}

// sort puts quotes in the order of shooting.
func (m *tagged) sort() {
	byTime := make([]int32, len(m.reels))
	for i := range byTime {
		byTime[i] = int32(i)
	}
	slices.SortFunc(byTime, func(a, b int32) int {
		return story.CompareShots(m.shots[a], m.shots[b])
	})
	m.rank = make([]int32, len(m.reels))
	for place, r := range byTime {
		m.rank[r] = int32(place)
	}
	slices.SortStableFunc(m.quotes, func(a, b taggedQuote) int {
		return cmp.Or(cmp.Compare(m.rank[a.reel], m.rank[b.reel]), cmp.Compare(a.order, b.order))
	})
}

// reelNames lists the reels in the order of shooting.
func (m *tagged) reelNames() []string {
	names := make([]string, len(m.reels))
	for r, place := range m.rank {
		names[place] = m.reels[r]
	}
	return names
}

// carried lists, by theme, the quotes that carry it.
func (m *tagged) carried() [][]int32 {
	by := make([][]int32, len(m.names))
	for i, q := range m.quotes {
		for _, th := range q.themes {
			by[th] = append(by[th], int32(i))
		}
	}
	return by
}

// biggestFirst orders themes by how many quotes carry them, then by name.
func (m *tagged) biggestFirst(carried [][]int32) []int32 {
	order := make([]int32, len(m.names))
	for i := range order {
		order[i] = int32(i)
	}
	slices.SortFunc(order, func(a, b int32) int {
		return cmp.Or(cmp.Compare(len(carried[b]), len(carried[a])), strings.Compare(m.names[a], m.names[b]))
	})
	return order
}

// row describes one theme.
func (m *tagged) row(th int32, carried []int32) MappedTheme {
	row := MappedTheme{
		Theme: story.Theme{Name: m.names[th], Quotes: len(carried), Reels: []string{}, Speakers: []string{}},
		First: m.quotes[carried[0]].code, Last: m.quotes[carried[len(carried)-1]].code,
	}
	for _, name := range m.reelNames() {
		row.PerReel = append(row.PerReel, Cell{Reel: name})
	}
	said := map[int32]int{}
	for _, i := range carried {
		q := m.quotes[i]
		cell := &row.PerReel[m.rank[q.reel]]
		cell.Quotes++
		cell.Ticks += max(q.Length(), 0)
		said[q.speaker]++
		if q.strong {
			row.Strong++
		}
	}
	for i := range row.PerReel {
		cell := &row.PerReel[i]
		cell.Seconds = cell.Ticks.Seconds()
		row.Ticks += cell.Ticks
		if cell.Quotes > 0 {
			row.Reels = append(row.Reels, cell.Reel)
		}
	}
	row.Seconds = row.Ticks.Seconds()
	for s := range said {
		if m.speakers.names[s] != "" {
			row.Speakers = append(row.Speakers, m.speakers.names[s])
		}
	}
	slices.SortFunc(row.Speakers, func(a, b string) int {
		return cmp.Or(cmp.Compare(said[m.speakers.at[b]], said[m.speakers.at[a]]), strings.Compare(a, b))
	})
	return row
}

// unnamed tells whether the speaker of any of the quotes is unknown.
func (m *tagged) unnamed(quotes []int32) bool {
	return slices.ContainsFunc(quotes, func(i int32) bool { return m.speakers.names[m.quotes[i].speaker] == "" })
}

// reach is where a theme is: by quote, whether it is carried near.
type reach struct {
	near  []bool
	count float64
}

// near marks the quotes that stand in one stretch of talk with any of these.
func (m *tagged) near(carried []int32, opt MapOptions) reach {
	marks, count := make([]bool, len(m.quotes)), 0.0
	mark := func(i int32) {
		if !marks[i] {
			marks[i] = true
			count++
		}
	}
	quotes, within := opt.Quotes, opt.Within
	if quotes == 0 {
		quotes = nearQuotes
	}
	if within == 0 {
		within = nearTime
	}
	timed := func(q taggedQuote) bool { return q.Out > q.In }
	for _, at := range carried {
		mark(at)
		q := m.quotes[at]
		for _, step := range []int32{-1, 1} {
			for i := at + step; i >= 0 && int(i) < len(m.quotes) && m.quotes[i].reel == q.reel; i += step {
				other := m.quotes[i]
				apart := max(other.In-q.Out, q.In-other.Out)
				if int((i-at)*step) > quotes && (within < 0 || !timed(q) || !timed(other) || apart > within) {
					break
				}
				mark(i)
			}
		}
	}
	return reach{marks, count}
}

// meet compares where theme a is carried with what is near theme b; false if
// they never do.
func (m *tagged) meet(a int32, carried []int32, b int32, of reach) (Meeting, bool) {
	out := Meeting{A: m.names[a], B: m.names[b], Reels: []string{}}
	for _, i := range carried {
		if !of.near[i] {
			continue
		}
		q := m.quotes[i]
		if out.Stretches == 0 {
			out.At = q.code
		}
		out.Stretches++
		if slices.Contains(q.themes, b) {
			out.Same++
		}
		if name := m.reels[q.reel]; !slices.Contains(out.Reels, name) {
			out.Reels = append(out.Reels, name)
		}
	}
	if out.Stretches == 0 {
		return out, false
	}
	all, k, n := float64(len(m.quotes)), float64(out.Stretches), float64(len(carried))
	out.G2 = LogLikelihood(k, of.count-k, n-k, all-n-of.count+k)
	out.LogRatio = math.Log2(k / n / (of.count / all))
	if out.LogRatio < 0 {
		out.G2 = -out.G2
	}
	return out, true
}
