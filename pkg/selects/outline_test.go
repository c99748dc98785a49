package selects

import (
	"errors"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// said is a candidate of the demo scenario, times in seconds.
func said(theme string, score float64, day, reel string, in, out timecode.Ticks, text string) Candidate {
	span := timecode.Span{In: in * timecode.Second, Out: out * timecode.Second}
	return Candidate{Theme: theme, Score: score, Quote: story.Quote{
		Code: story.NewCode(reel, span.In, nil), Reel: reel, Day: day, Speaker: "Ines Corrigan", Text: text, Span: span,
	}}
}

// demo holds sayings of the demo shoot, with times made for this test.
func demo() []Candidate {
	return []Candidate{
		said("bell", 0.6, "D1", "D1-INT1", 110, 112, "There's a bell."),
		said("bell", 0.8, "D2", "D2-INT2", 10, 16, "There's a post on the far bank, with a bell on it."),
		said("bell", 0.95, "D2", "D2-INT2", 200, 204, "Nobody rings a bridge."),
		said("bell", 0.7, "D2", "D2-INT2", 230, 236, "They want it for the opening."),
		said("bridge", 0.3, "D1", "D1-INT1", 20, 22, "It's a bridge."),
		said("bridge", 0.5, "D1", "D1-INT1", 60, 64, "They offered me a yellow vest."),
		said("mother", 0.9, "D2", "D2-INT2", 120, 132, "My mother stopped in the spring."),
		said("wife", 0.85, "D1", "D1-WILF", 1, 9, "My wife rang the bell the morning we married."),
	}
}

func TestOutline(t *testing.T) {
	sections, err := Outline(demo(), OutlineOptions{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, s := range sections {
		got = append(got, "# "+s.Theme+": "+s.Why)
		for _, step := range s.Steps {
			got = append(got, string(step.Role)+": "+step.Quote.Text+" ("+step.Why+")")
		}
	}
	// Worked out by hand from the rules.
	want := []string{
		"# bridge: mentioned first",
		"set-up: It's a bridge. (the first mention; said before the turn, 0:38.0 apart)",
		"turn: They offered me a yellow vest. (the strongest after the first mention, score 0.5)",
		`# bell: meets "bridge" in 1 places`,
		"set-up: There's a bell. (the first mention; said before the turn, on another day (D1, D2))",
		"set-up: There's a post on the far bank, with a bell on it. (said before the turn, 3:04.0 apart)",
		"turn: Nobody rings a bridge. (the strongest after the first mention, score 0.95)",
		"consequence: They want it for the opening. (said after the turn, 0:26.0 apart)",
		"# wife: the next first mentioned",
		"turn: My wife rang the bell the morning we married. (the first mention; the one quote taken for this theme)",
		"# mother: the next first mentioned",
		"turn: My mother stopped in the spring. (the first mention; the one quote taken for this theme)",
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("got\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestOutlineTarget(t *testing.T) {
	themes := func(target timecode.Ticks, order ...string) (string, timecode.Ticks) {
		sections, err := Outline(demo(), OutlineOptions{Target: target * timecode.Second, Order: order})
		if err != nil {
			t.Fatal(err)
		}
		var names []string
		var sum timecode.Ticks
		for _, s := range sections {
			names = append(names, s.Theme)
			sum += s.RunningTime()
		}
		return strings.Join(names, " "), sum
	}
	tests := []struct {
		target timecode.Ticks
		order  []string
		want   string
		least  timecode.Ticks
	}{
		{0, nil, "bridge bell wife mother", 44},
		{0, []string{"MOTHER", "unheard", "wife"}, "mother wife bridge bell", 44},
		// One of each theme needs 28 s: 4, 12, 8 and 4.
		{28, nil, "bridge bell wife mother", 28},
		// The best of all, then what still fits.
		{4, nil, "bell", 4},
		{5, nil, "bell", 4},
		{30, nil, "bridge bell wife mother", 29},
	}
	for _, tt := range tests {
		got, sum := themes(tt.target, tt.order...)
		if got != tt.want || sum < tt.least*timecode.Second || tt.target > 0 && sum > tt.target*timecode.Second {
			t.Errorf("target %d: got %q of %s, want %q of at least %d s", tt.target, got, sum.Short(), tt.want, tt.least)
		}
	}
}

func TestOutlineErrors(t *testing.T) {
	empty := demo()
	empty[3].Quote.Out = empty[3].Quote.In
	none := demo()
	none[0].Theme = " "
	wild := demo()
	wild[0].Score = math.NaN()
	tests := []struct {
		name  string
		cands []Candidate
		opt   OutlineOptions
		want  string
	}{
		{"none", nil, OutlineOptions{}, "no candidates"},
		{"negative", demo(), OutlineOptions{Target: -1}, "must not be negative"},
		{"short", demo(), OutlineOptions{Target: timecode.Second}, "shorter than every candidate"},
		{"empty quote", empty, OutlineOptions{}, "candidate 4"},
		{"no theme", none, OutlineOptions{}, "has no theme"},
		{"no score", wild, OutlineOptions{}, "its score is NaN"},
	}
	for _, tt := range tests {
		got, err := Outline(tt.cands, tt.opt)
		if got != nil || !errors.Is(err, ErrOutline) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%s: got %v, %v; want an error with %q", tt.name, got, err, tt.want)
		}
	}
}

func TestOutlineSelects(t *testing.T) {
	sections, err := Outline(demo(), OutlineOptions{Target: 44 * timecode.Second})
	if err != nil {
		t.Fatal(err)
	}
	s, err := OutlineSelects("first", 44*timecode.Second, sections)
	if err != nil {
		t.Fatal(err)
	}
	if fit := FitOf(s); fit.Over > 0 || fit.Items != len(OutlineQuotes(sections)) {
		t.Errorf("got %s in %d items", fit, fit.Items)
	}
	if got, want := s.Items[0].Note, "bridge: set-up"; got != want {
		t.Errorf("got note %q, want %q", got, want)
	}
}

// clashes tells whether two quotes use the same piece of a recording.
func clashes(a, b story.Quote) bool {
	return strings.EqualFold(a.Reel, b.Reel) && a.Overlaps(b.Span)
}

func drawCandidates(t *rapid.T) []Candidate {
	var cands []Candidate
	for range rapid.IntRange(1, 30).Draw(t, "candidates") {
		in := timecode.FromMillis(rapid.Int64Range(0, 300_000).Draw(t, "in"))
		c := Candidate{
			Theme: rapid.SampledFrom([]string{"bell", "Bell", "bridge", "mother", "ice"}).Draw(t, "theme"),
			Score: rapid.Float64Range(-10, 10).Draw(t, "score"),
			Quote: story.Quote{
				Reel: rapid.SampledFrom([]string{"D1-INT1", "D2-INT2"}).Draw(t, "reel"), Text: rapid.StringMatching(`[a-c]{3}`).Draw(t, "text"),
				Span:   timecode.Span{In: in, Out: in + timecode.FromMillis(rapid.Int64Range(1, 30_000).Draw(t, "length"))},
				Themes: rapid.SliceOfN(rapid.SampledFrom([]string{"bell", "ice"}), 0, 2).Draw(t, "themes"),
			},
		}
		c.Quote.Day = c.Quote.Reel[:2]
		c.Quote.Code = story.NewCode(c.Quote.Reel+c.Quote.Text, c.Quote.In+c.Quote.Out, nil)
		cands = append(cands, c)
		if rapid.IntRange(0, 4).Draw(t, "again") == 0 {
			c.Theme = "again"
			cands = append(cands, c)
		}
	}
	return cands
}

func TestOutlineProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cands := drawCandidates(t)
		opt := OutlineOptions{Target: timecode.FromMillis(rapid.Int64Range(0, 120_000).Draw(t, "target"))}
		sections, err := Outline(cands, opt)
		if err != nil {
			for _, c := range cands {
				if opt.Target == 0 || c.Quote.Length() <= opt.Target {
					t.Fatalf("got %v though %s fits", err, c.Quote.Length())
				}
			}
			return
		}
		quotes := OutlineQuotes(sections)
		var sum timecode.Ticks
		for i, q := range quotes {
			sum += q.Length()
			for _, other := range quotes[i+1:] {
				if clashes(q, other) {
					t.Fatalf("%+v and %+v use the same piece", q, other)
				}
			}
		}
		if opt.Target > 0 && sum > opt.Target {
			t.Fatalf("runs %s, target %s", sum, opt.Target)
		}
		seen := map[string]bool{}
		for _, s := range sections {
			checkSection(t, s, cands)
			name := strings.ToLower(s.Theme)
			if seen[name] {
				t.Fatalf("theme %q twice", s.Theme)
			}
			seen[name] = true
		}
		// Nothing that is left would fit.
		for _, c := range cands {
			free := opt.Target == 0 || c.Quote.Length() <= opt.Target-sum
			for _, q := range quotes {
				free = free && !clashes(q, c.Quote)
			}
			if free {
				t.Fatalf("%+v would fit into the %s left", c, opt.Target-sum)
			}
		}
		// The order in which candidates come changes nothing.
		other := rapid.Permutation(cands).Draw(t, "other order")
		again, err := Outline(other, opt)
		if err != nil || !reflect.DeepEqual(OutlineQuotes(again), quotes) {
			t.Fatalf("another order: got %v, %v, want %v", OutlineQuotes(again), err, quotes)
		}
	})
}

// checkSection holds the order rules inside a section.
func checkSection(t *rapid.T, s Section, cands []Candidate) {
	if len(s.Steps) == 0 || s.Why == "" {
		t.Fatalf("got section %+v", s)
	}
	rank := map[Role]int{SetUp: 0, Turn: 1, Consequence: 2}
	turns := 0
	for i, step := range s.Steps {
		known := false
		for _, c := range cands {
			known = known || c.Quote.Code == step.Quote.Code && story.SameTheme(c.Theme, s.Theme) && c.Score == step.Score
		}
		if !known || step.Why == "" {
			t.Fatalf("step %+v is no candidate of %q", step, s.Theme)
		}
		if step.Role == Turn {
			turns++
		}
		if i > 0 && (bySaid(s.Steps[i-1].Quote, step.Quote) > 0 || rank[s.Steps[i-1].Role] > rank[step.Role]) {
			t.Fatalf("out of order: %+v", s.Steps)
		}
	}
	if turns != 1 || len(s.Steps) > 1 && s.Steps[0].Role != SetUp {
		t.Fatalf("got %d turns in %+v", turns, s.Steps)
	}
}

// With enough material the running time comes within the shortest candidate
// of the target: 100 shoots of 40 to 100 passages of 3 to 25 s.
func TestOutlineFills(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 5))
	for range 100 {
		var cands []Candidate
		shortest, all := timecode.Hour, timecode.Ticks(0)
		at := timecode.Ticks(0)
		for range 40 + r.IntN(60) {
			length := timecode.FromMillis(3000 + r.Int64N(22_000))
			cands = append(cands, Candidate{
				Theme: []string{"bell", "bridge", "mother", "ice"}[r.IntN(4)], Score: r.Float64(),
				Quote: story.Quote{Reel: "D2-INT2", Code: story.NewCode("x", at, nil), Span: timecode.Span{In: at, Out: at + length}},
			})
			at += length + timecode.Second
			shortest, all = min(shortest, length), all+length
		}
		target := all/10 + timecode.Ticks(r.Int64N(int64(all/3)))
		sections, err := Outline(cands, OutlineOptions{Target: target})
		if err != nil {
			t.Fatal(err)
		}
		var sum timecode.Ticks
		for _, s := range sections {
			sum += s.RunningTime()
		}
		if left := target - sum; left < 0 || left >= shortest {
			t.Errorf("%d candidates: %s left of %s, want less than the shortest, %s", len(cands), left.Short(), target.Short(), shortest.Short())
		}
	}
}

// The best 10 s and the only 2 s leave 4 s of 16, more than the shortest: the
// longer quote goes in for the better one.
func TestOutlineExchanges(t *testing.T) {
	cands := []Candidate{
		said("bell", 0.9, "D2", "D2-INT2", 0, 10, "The school rang at ten to eight."),
		said("bell", 0.8, "D2", "D2-INT2", 20, 34, "You can tell by the second stroke who's ringing."),
		said("bell", 0.7, "D2", "D2-INT2", 40, 42, "Nobody rings a bridge."),
		said("bell", 0.6, "D2", "D2-INT2", 50, 80, "In fog, you keep ringing."),
	}
	tests := []struct {
		target timecode.Ticks
		want   timecode.Ticks
	}{{12, 12}, {13, 12}, {16, 16}, {17, 16}, {26, 26}}
	for _, tt := range tests {
		sections, err := Outline(cands, OutlineOptions{Target: tt.target * timecode.Second})
		if err != nil {
			t.Fatal(err)
		}
		if got := sections[0].RunningTime(); got != tt.want*timecode.Second {
			t.Errorf("target %d s: got %s, want %d s", tt.target, got.Short(), tt.want)
		}
	}
}

// RunningTime is what the section's quotes run, in whole frames.
func (s Section) RunningTime() timecode.Ticks {
	var t timecode.Ticks
	for _, step := range s.Steps {
		t += step.Quote.Running()
	}
	return t
}
