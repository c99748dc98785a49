package listen

import (
	"math"
	"strings"
)

const (
	// sameVoice is the distance up to which two voices are taken for one; at
	// even, it is as likely as not. Measured on real voices, eight of them in
	// stretches of 8 to 60 s, all pairs alike in room and microphone:
	// 87 % of the pairs of one voice lie within sameVoice, and 0.2 % of those
	// of two. See docs/figures.md for other rooms.
	sameVoice = 0.50
	even      = 0.61
	// steep is how fast likeness falls with distance, by logistic regression
	// on those pairs.
	steep = 21
)

// Apart is how far two voices are from each other, from 0: the Bhattacharyya
// distance of two normal distributions (Kailath 1967), whose covariances are
// drawn towards each other where little was measured.
func (m VoiceMeasure) Apart(o VoiceMeasure) float64 {
	a, b := m.stats, o.stats
	if a.n < 1 || b.n < 1 {
		return math.Inf(1)
	}
	ca, cb := a.spread(), b.spread()
	var prior [voiceDims * (voiceDims + 1) / 2]float64
	for k := range prior {
		prior[k] = (ca[k]*a.n + cb[k]*b.n) / (a.n + b.n)
	}
	ca, cb = a.cov(&prior), b.cov(&prior)
	both := model{}
	for k := range both.chol {
		both.chol[k] = (ca[k] + cb[k]) / 2
	}
	both.logDet = factor(&both.chol)
	apart := (both.logDet - (factor(&ca)+factor(&cb))/2) / 2
	var d vector
	for i := range d {
		d[i] = a.sum[i]/a.n - b.sum[i]/b.n
	}
	// score is −(d'S⁻¹d + log det S)/2 about a mean of 0.
	return apart - (both.score(&d)+both.logDet/2)/4
}

// Alike turns a distance into how sure it is, 0 to 1, that two voices are one.
func Alike(apart float64) float64 { return 1 / (1 + math.Exp(steep*(apart-even))) }

// KnownVoice is one speaker of one reel.
type KnownVoice struct {
	Reel, Speaker string
	// Named tells that Speaker is a person's name: all of it are one voice,
	// and never that of another name. Known tells that Speaker, though no
	// person's name, stands for one voice in all reels.
	Named, Known bool
	// Measures may be too small to tell anything; then the voice joins none.
	Measure VoiceMeasure
}

// JoinedVoice says that a voice is the one of another, or of several.
type JoinedVoice struct {
	// Voice and With are places in the list; With is one of those that it
	// joined, a named one if there is any.
	Voice, With int
	// Alike is how sure that is, 0 to 1.
	Alike float64
}

// MatchVoices says which voices without a name are those of others: the two
// nearest groups first, as long as their voices are on average near enough.
// Two speakers of one reel are two people, and so are two names, and those
// that apart says are, in whichever order it is asked. The order of the list doesn't matter but for ties.
func MatchVoices(list []KnownVoice, apart func(one, other string) bool) []JoinedVoice {
	m := &matching{list: list, apart: apart}
	byName := map[string]int{}
	for i, v := range list {
		name := strings.ToLower(v.Speaker)
		if g, ok := byName[name]; ok && (v.Named || v.Known) {
			m.groups[g] = append(m.groups[g], i)
			continue
		}
		if v.Named || v.Known {
			byName[name] = len(m.groups)
		}
		m.groups = append(m.groups, []int{i})
	}
	m.far = make([][]float64, len(list))
	for i := range list {
		m.far[i] = make([]float64, i)
		for j := range i {
			m.far[i][j] = list[i].Measure.Apart(list[j].Measure)
		}
	}
	m.compare()
	for {
		g, h := m.nearest()
		if g < 0 {
			return m.joined()
		}
		if m.named(g) {
			g, h = h, g
		}
		m.join(g, h)
	}
}

// joined says of each unnamed voice of a group that it is the first's.
func (m *matching) joined() []JoinedVoice {
	var out []JoinedVoice
	for g, group := range m.groups {
		for k, i := range group {
			if k == 0 || m.list[i].Named {
				continue
			}
			var d float64
			n := 0
			for _, j := range group {
				if m.list[j].Measure.Enough() && j != i {
					d += m.far[max(i, j)][min(i, j)]
					n++
				}
			}
			out = append(out, JoinedVoice{Voice: i, With: m.groups[g][0], Alike: Alike(d / float64(max(n, 1)))})
		}
	}
	return out
}

// matching is groups of voices that are one each.
type matching struct {
	list   []KnownVoice
	groups [][]int // nil for one that joined another
	far    [][]float64
	apart  func(one, other string) bool
	// links holds what is known of groups i > j at links[i][j].
	links [][]link
}

// link is what is known of two groups: the sum of the distances of their
// voices, of how many pairs, and whether they can't be one.
type link struct {
	sum   float64
	n     int
	never bool
}

func (m *matching) named(g int) bool { return m.list[m.groups[g][0]].Named }

func (m *matching) link(g, h int) *link { return &m.links[max(g, h)][min(g, h)] }

// compare makes the links.
func (m *matching) compare() {
	m.links = make([][]link, len(m.groups))
	for g := range m.groups {
		m.links[g] = make([]link, g)
		for h := range g {
			m.links[g][h] = m.between(g, h)
		}
	}
}

// between compares the voices of two groups.
func (m *matching) between(g, h int) (l link) {
	if m.named(g) && m.named(h) {
		return link{never: true}
	}
	for _, i := range m.groups[g] {
		for _, j := range m.groups[h] {
			a, b := m.list[i], m.list[j]
			if strings.EqualFold(a.Reel, b.Reel) || m.apart(a.Speaker, b.Speaker) {
				return link{never: true}
			}
			if a.Measure.Enough() && b.Measure.Enough() {
				l.sum += m.far[max(i, j)][min(i, j)]
				l.n++
			}
		}
	}
	return l
}

// nearest are the two groups that may become one and are nearest by the mean
// distance of their voices; −1 if none is near enough.
func (m *matching) nearest() (g, h int) {
	g, h, d := -1, -1, sameVoice
	for i, links := range m.links {
		for j, l := range links {
			if l.never || l.n == 0 {
				continue
			}
			if x := l.sum / float64(l.n); x <= d {
				g, h, d = i, j, x
			}
		}
	}
	return g, h
}

// join makes group g a part of h.
func (m *matching) join(g, h int) {
	m.groups[h] = append(m.groups[h], m.groups[g]...)
	m.groups[g] = nil
	m.link(g, h).never = true
	for k := range m.groups {
		if k == g || k == h {
			continue
		}
		from, to := m.link(g, k), m.link(h, k)
		to.sum += from.sum
		to.n += from.n
		to.never = to.never || from.never
		from.never = true
	}
}
