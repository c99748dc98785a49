package selects

import (
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// arrange makes sections of what was chosen.
func arrange(p pool, chosen []int, order []string) []Section {
	steps := make([][]option, len(p.themes))
	for _, i := range chosen {
		o := p.options[i]
		steps[o.theme] = append(steps[o.theme], o)
	}
	var out []Section
	for _, place := range p.sequence(order, func(theme int) bool { return len(steps[theme]) > 0 }) {
		section := Section{Theme: p.themes[place.theme], Why: place.why}
		first := slices.IndexFunc(p.options, func(o option) bool { return o.theme == place.theme })
		section.Steps = lines(steps[place.theme], p.options[first].Quote)
		out = append(out, section)
	}
	return out
}

// lines gives the quotes of a section, in order of time, their roles; mention
// is the first mention of the theme among all candidates.
func lines(taken []option, mention story.Quote) []Step {
	turn := 0
	for i := 1; i < len(taken); i++ {
		if turn == 0 || taken[i].worth > taken[turn].worth {
			turn = i
		}
	}
	out := make([]Step, len(taken))
	for i, o := range taken {
		s := Step{Quote: o.Quote, Score: o.Score}
		switch {
		case i == turn && len(taken) == 1:
			s.Role, s.Why = Turn, "the one quote taken for this theme"
		case i == turn:
			s.Role, s.Why = Turn, "the strongest after the first mention, score "+score(o.Score)
		case i < turn:
			s.Role, s.Why = SetUp, "said before the turn, "+apart(o.Quote, taken[turn].Quote)
		default:
			s.Role, s.Why = Consequence, "said after the turn, "+apart(taken[turn].Quote, o.Quote)
		}
		if i == 0 && bySaid(o.Quote, mention) == 0 {
			s.Why = "the first mention; " + s.Why
		}
		out[i] = s
	}
	return out
}

func score(v float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", v), "0"), ".")
}

// apart says how far b was said after a.
func apart(a, b story.Quote) string {
	switch {
	case strings.EqualFold(a.Reel, b.Reel):
		return (b.In - a.Out).Short() + " apart"
	case a.Day != b.Day && a.Day != "" && b.Day != "":
		return "on another day (" + a.Day + ", " + b.Day + ")"
	}
	return "in another reel (" + a.Reel + ", " + b.Reel + ")"
}

// placed is a theme in its place.
type placed struct {
	theme int
	why   string
}

// sequence puts the themes that are there in order; see Outline.
func (p pool) sequence(order []string, there func(int) bool) []placed {
	var out []placed
	used := make([]bool, len(p.themes))
	put := func(theme int, why string) {
		used[theme] = true
		out = append(out, placed{theme, why})
	}
	for _, name := range order {
		name = strings.Join(strings.Fields(name), " ")
		i := slices.IndexFunc(p.themes, func(t string) bool { return story.SameTheme(t, name) })
		if i >= 0 && !used[i] && there(i) {
			put(i, "in the order given")
		}
	}
	met := p.meetings()
	for {
		next, most := -1, 0
		for i := range p.themes {
			if used[i] || !there(i) {
				continue
			}
			n := 0
			if len(out) > 0 {
				n = met[[2]int{out[len(out)-1].theme, i}]
			}
			if next < 0 || n > most {
				next, most = i, n
			}
		}
		switch {
		case next < 0:
			return out
		case most > 0:
			put(next, fmt.Sprintf("meets %q in %d places", p.themes[out[len(out)-1].theme], most))
		case len(out) == 0:
			put(next, "mentioned first")
		default:
			put(next, "the next first mentioned")
		}
	}
}

// near is how close two quotes of one reel lie that meet.
const near = timecode.Minute

// meetings counts for each two themes the pairs of candidates that meet: the
// same quote, one that carries both, or two within a minute.
func (p pool) meetings() map[[2]int]int {
	met := map[[2]int]int{}
	meet := func(a, b int) {
		if a != b {
			met[[2]int{a, b}]++
			met[[2]int{b, a}]++
		}
	}
	for i, o := range p.options {
		for _, name := range o.Quote.Themes {
			other := slices.IndexFunc(p.themes, func(t string) bool { return story.SameTheme(t, name) })
			if other >= 0 {
				meet(o.theme, other)
			}
		}
		for _, b := range p.options[i+1:] {
			if !strings.EqualFold(o.Quote.Reel, b.Quote.Reel) || b.Quote.In-o.Quote.Out > near {
				break
			}
			meet(o.theme, b.theme)
		}
	}
	return met
}
