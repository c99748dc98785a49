package quotes

import (
	"cmp"
	"context"
	"slices"
	"sort"
	"strings"
	"unicode"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Bounds of the matching.
const (
	// mostCells is the size of a table that is filled at once.
	mostCells = 1_000_000
	// closeCells is the size up to which words that are spelt alike match.
	closeCells = 40_000
	// nearby is how far a match of a word or two may lie off its time.
	nearby = 20 * timecode.Second
)

// token is one word of a row of quotes.
type token struct {
	id    int
	quote int
	at    timecode.Ticks
	text  string
}

// matching tells how many words of old quotes stand in which new ones.
type matching struct {
	ctx              context.Context
	old, new         []story.Quote
	oldWords         []token
	newWords         []token
	oldSize, newSize []int
	// mass[o] counts the words of old quote o found in new quotes.
	mass []map[int]float64
	// delta is by how much times moved as far as known.
	delta timecode.Ticks
}

// match aligns the words of old and new: stretches of three words that occur
// once in each are sure (as in a patience diff); between them a table of the
// best common row is filled, with a gain for words at the same time.
// Where ctx ends, it stops with its work half done.
func match(ctx context.Context, old, new []story.Quote) *matching {
	m := &matching{ctx: ctx, old: old, new: new, mass: make([]map[int]float64, len(old))}
	ids := map[string]int{}
	m.oldWords, m.oldSize = tokens(old, ids)
	m.newWords, m.newSize = tokens(new, ids)
	i, j := 0, 0
	for i < len(m.oldWords) && j < len(m.newWords) && m.same(i, j) {
		m.pair(i, j, 1)
		i, j = i+1, j+1
	}
	oldEnd, newEnd := len(m.oldWords), len(m.newWords)
	for oldEnd > i && newEnd > j && m.same(oldEnd-1, newEnd-1) {
		oldEnd, newEnd = oldEnd-1, newEnd-1
		m.pair(oldEnd, newEnd, 1)
	}
	anchors := m.anchors(i, oldEnd, j, newEnd)
	for _, a := range anchors {
		if a[0] < i || a[1] < j {
			continue
		}
		m.delta = m.newWords[a[1]].at - m.oldWords[a[0]].at
		m.fill(i, a[0], j, a[1])
		i, j = a[0], a[1]
		for i < len(m.oldWords) && j < len(m.newWords) && m.oldWords[i].id == m.newWords[j].id && i < a[0]+3 {
			m.pair(i, j, 1)
			i, j = i+1, j+1
		}
	}
	m.fill(i, oldEnd, j, newEnd)
	return m
}

// same tells whether two words are one at one time: what is before the first
// change of a corrected transcript, and after the last, needs no search.
func (m *matching) same(i, j int) bool {
	a, b := m.oldWords[i], m.newWords[j]
	return a.id == b.id && a.at == b.at
}

// tokens cuts quotes into folded words; a sign of a script without spaces is
// a word.
func tokens(quotes []story.Quote, ids map[string]int) (out []token, sizes []int) {
	sizes = make([]int, len(quotes))
	for qi, q := range quotes {
		words := strings.FieldsFunc(strings.ToLower(q.Text), func(r rune) bool {
			return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !unicode.Is(unicode.M, r) && r != '\'' && r != '’'
		})
		var parts []string
		for _, w := range words {
			from := 0
			for i, r := range w {
				if i > from && unspaced(r) {
					parts = append(parts, w[from:i])
					from = i
				}
			}
			parts = append(parts, w[from:])
		}
		for i, w := range parts {
			id, ok := ids[w]
			if !ok {
				id = len(ids)
				ids[w] = id
			}
			at := q.In + q.Length()*timecode.Ticks(i)/timecode.Ticks(len(parts))
			out = append(out, token{id, qi, at, w})
		}
		sizes[qi] = len(parts)
	}
	return out, sizes
}

// anchors are the places of word triples that occur once in old[a:b] and once
// in new[c:d], the longest row of them that is in order in both.
func (m *matching) anchors(a, b, c, d int) [][2]int {
	once := func(words []token, from, to int) map[[3]int]int {
		at := make(map[[3]int]int, to-from)
		for i := from; i+2 < to; i++ {
			k := [3]int{words[i].id, words[i+1].id, words[i+2].id}
			if _, twice := at[k]; twice {
				at[k] = -1
			} else {
				at[k] = i
			}
		}
		return at
	}
	inOld, inNew := once(m.oldWords, a, b), once(m.newWords, c, d)
	var pairs [][2]int
	for k, i := range inOld {
		if j, ok := inNew[k]; ok && i >= 0 && j >= 0 {
			pairs = append(pairs, [2]int{i, j})
		}
	}
	slices.SortFunc(pairs, func(x, y [2]int) int { return cmp.Compare(x[0], y[0]) })
	// The longest rising row, by patience sorting.
	var tops []int
	back := make([]int, len(pairs))
	for p, pair := range pairs {
		k := sort.Search(len(tops), func(i int) bool { return pairs[tops[i]][1] >= pair[1] })
		back[p] = -1
		if k > 0 {
			back[p] = tops[k-1]
		}
		if k == len(tops) {
			tops = append(tops, p)
		} else {
			tops[k] = p
		}
	}
	if len(tops) == 0 {
		return nil
	}
	var row [][2]int
	for p := tops[len(tops)-1]; p >= 0; p = back[p] {
		row = append(row, pairs[p])
	}
	slices.Reverse(row)
	return row
}

func (m *matching) pair(i, j int, weight float64) {
	o, n := m.oldWords[i].quote, m.newWords[j].quote
	if m.mass[o] == nil {
		m.mass[o] = map[int]float64{}
	}
	m.mass[o][n] += weight
}

// fill matches the words old[a:b] and new[c:d].
func (m *matching) fill(a, b, c, d int) {
	rows, cols := b-a, d-c
	if rows <= 0 || cols <= 0 || m.ctx.Err() != nil {
		return
	}
	if rows*cols > mostCells {
		// Too far apart in words: go by time.
		if rows < 2 {
			return
		}
		mid := a + rows/2
		at := m.oldWords[mid].at + m.delta
		cut := c + sort.Search(cols, func(k int) bool { return m.newWords[c+k].at >= at })
		m.fill(a, mid, c, cut)
		m.fill(mid, b, cut, d)
		return
	}
	m.table(a, b, c, d)
}

// table fills the table of the best common row and pairs the words on it.
func (m *matching) table(a, b, c, d int) {
	rows, cols := b-a, d-c
	score := make([]int32, (rows+1)*(cols+1))
	alike := map[[2]int]int32{}
	fuzzy := rows*cols <= closeCells
	gain := func(i, j int) int32 {
		o, n := m.oldWords[a+i], m.newWords[c+j]
		g := int32(100)
		if o.id != n.id {
			if !fuzzy {
				return 0
			}
			k := [2]int{o.id, n.id}
			v, ok := alike[k]
			if !ok {
				v = spelling(o.text, n.text)
				alike[k] = v
			}
			if g = v; g == 0 {
				return 0
			}
		}
		off := n.at - o.at - m.delta
		off = max(off, -off)
		return g + int32(40*max(0, 5*timecode.Second-off)/(5*timecode.Second))
	}
	at := func(i, j int) *int32 { return &score[i*(cols+1)+j] }
	for i := rows - 1; i >= 0; i-- {
		for j := cols - 1; j >= 0; j-- {
			best := max(*at(i+1, j), *at(i, j+1))
			if g := gain(i, j); g > 0 {
				best = max(best, *at(i+1, j+1)+g)
			}
			*at(i, j) = best
		}
	}
	for i, j := 0, 0; i < rows && j < cols; {
		g := gain(i, j)
		switch {
		case g > 0 && *at(i, j) == *at(i+1, j+1)+g:
			weight := 1.0
			if m.oldWords[a+i].id != m.newWords[c+j].id {
				weight = 0.7
			}
			m.pair(a+i, c+j, weight)
			i, j = i+1, j+1
		case *at(i, j) == *at(i+1, j):
			i++
		default:
			j++
		}
	}
}

// spelling is how alike two words are spelt: 0 below three letters in five,
// else up to 70 (by edit distance).
func spelling(a, b string) int32 {
	x, y := []rune(a), []rune(b)
	longer := max(len(x), len(y))
	if longer < 3 || longer > 40 || 5*min(len(x), len(y)) < 3*longer {
		return 0
	}
	row := make([]int, len(y)+1)
	for j := range row {
		row[j] = j
	}
	for i := range x {
		diagonal := row[0]
		row[0] = i + 1
		for j := range y {
			cost := diagonal
			if x[i] != y[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, row[j+1]+1)
		}
	}
	same := longer - row[len(y)]
	if 5*same < 3*longer {
		return 0
	}
	return int32(70 * same / longer)
}

// best is the new quote in which an old one stands, −1 if in none.
func (m *matching) best(o int) int {
	best := -1
	for n, w := range m.mass[o] {
		if !m.stands(o, n, w) {
			continue
		}
		if best < 0 || w > m.mass[o][best] || w == m.mass[o][best] && n < best {
			best = n
		}
	}
	return best
}

// stands tells whether w matched words make old o and new n the same saying.
func (m *matching) stands(o, n int, w float64) bool {
	size := min(m.oldSize[o], m.newSize[n])
	if w < leastShare*float64(size) {
		return false
	}
	if size > 2 {
		return true
	}
	off := m.new[n].In - m.old[o].In - m.delta
	return max(off, -off) <= nearby || m.old[o].Overlaps(m.new[n].Span)
}

// sources gives for each new quote the old one of which it is most plausibly a
// part: at least half its words come from it; −1 if there's none.
func (m *matching) sources() []int {
	from := make([]int, len(m.new))
	most := make([]float64, len(m.new))
	for n := range from {
		from[n] = -1
	}
	for o, to := range m.mass {
		for n, w := range to {
			if w > most[n] && w >= 0.5*float64(m.newSize[n]) && w >= leastShare*float64(min(m.oldSize[o], m.newSize[n])) {
				from[n], most[n] = o, w
			}
		}
	}
	return from
}
