package themes

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// plant is a saying put into known turns of real meetings.
type plant struct {
	text, term string
	// turns gives how many turns of a meeting get it, from turn 1 on, every
	// seventh.
	turns map[string]int
}

// truth is what must be found of a plant, worked out while planting.
type truth struct {
	count    int
	reels    []string
	speakers map[string]int
	perReel  map[string]float64
	first    story.Code
	at       timecode.Ticks
}

// planted streams meetings with plants in them and a time for each turn, and
// fills in the truth.
func planted(ms []meeting, plants []plant, truths []truth) func(func(story.Quote, error) bool) {
	return func(yield func(story.Quote, error) bool) {
		at := timecode.Ticks(0)
		for q := range meetingQuotes(ms) {
			if q.Order == 0 {
				at = 0
			}
			q.Code = story.Code(fmt.Sprintf("%s.%d", q.Reel, q.Order))
			q.In = at
			at += timecode.Ticks(1+len(q.Text)/15) * timecode.Second
			q.Out = at
			for i, p := range plants {
				if q.Order%7 != 1 || q.Order/7 >= p.turns[q.Reel] {
					continue
				}
				q.Text += ". " + p.text
				tr := &truths[i]
				tr.count++
				tr.perReel[q.Reel]++
				tr.speakers[q.Speaker]++
				if tr.first == "" {
					tr.first, tr.at = q.Code, q.In
				}
				if !slices.Contains(tr.reels, q.Reel) {
					tr.reels = append(tr.reels, q.Reel)
				}
			}
			if !yield(q, nil) {
				return
			}
		}
	}
}

// shot puts meetings in the order of shooting, that of their names.
func shot(ms []meeting) []meeting {
	return slices.SortedFunc(slices.Values(ms), func(a, b meeting) int {
		return story.CompareShots(story.Shot{Reel: a.name}, story.Shot{Reel: b.name})
	})
}

// TestPlantedThemes: words and phrases put into k of n real meetings (QMSum)
// at known times are counted exactly, with reels, speakers, first time and
// dispersion, and are found.
func TestPlantedThemes(t *testing.T) {
	ms := meetings(t)
	for _, n := range []int{4, 12, 20} {
		some := shot(ms[len(ms)-n:])
		plants := []plant{
			{"the lantern boats", "lantern boats", map[string]int{some[0].name: 3, some[2].name: 4, some[3].name: 5}},
			{"our winchhouse", "winchhouse", map[string]int{some[1].name: 9}},
			{"on the far bank", "far bank", map[string]int{some[n-1].name: 4, some[0].name: 1}},
		}
		truths := make([]truth, len(plants))
		for i := range truths {
			truths[i] = truth{speakers: map[string]int{}, perReel: map[string]float64{}}
		}
		got, err := Find(context.Background(), planted(some, plants, truths), Options{Limit: -1})
		if err != nil {
			t.Fatal(err)
		}
		sizes := reelSizes(some, plants)
		for i, p := range plants {
			at := slices.IndexFunc(got.Recurring, func(c Candidate) bool { return slices.Contains(c.Forms, p.term) })
			if at < 0 {
				t.Errorf("%d meetings: %q is not found", n, p.term)
				continue
			}
			t.Logf("%d meetings: %q stands at %d of %d", n, p.term, at+1, len(got.Recurring))
			check(t, got.Recurring[at], truths[i], got.Reels, sizes)
		}
	}
}

// check compares a candidate with the truth.
func check(t *testing.T, c Candidate, want truth, reels []string, sizes map[string]float64) {
	t.Helper()
	if c.Count != want.count {
		t.Errorf("%s: got %d times, want %d", c.Term, c.Count, want.count)
	}
	if !slices.Equal(c.Reels, want.reels) {
		t.Errorf("%s: got reels %v, want %v", c.Term, c.Reels, want.reels)
	}
	if len(c.Speakers) != len(want.speakers) || slices.ContainsFunc(c.Speakers, func(s string) bool { return want.speakers[s] == 0 }) {
		t.Errorf("%s: got speakers %v, want %v", c.Term, c.Speakers, want.speakers)
	}
	if c.First != want.first || c.FirstSaid.Code != want.first || c.FirstSaid.At != want.at {
		t.Errorf("%s: first in %s at %v, want %s at %v", c.Term, c.First, c.FirstSaid.At, want.first, want.at)
	}
	// Gries' DPnorm, written out again.
	all, smallest, dp := 0.0, math.Inf(1), 0.0
	for _, s := range sizes {
		all += s
		smallest = min(smallest, s)
	}
	for i, r := range reels {
		dp += math.Abs(want.perReel[r]/float64(want.count) - sizes[r]/all)
		if c.PerReel[i].Reel != r || float64(c.PerReel[i].Count) != want.perReel[r] {
			t.Errorf("%s: got %+v in reel %s, want %g", c.Term, c.PerReel[i], r, want.perReel[r])
		}
	}
	near(t, c.Term+": dispersion", c.Dispersion, dp/2/(1-smallest/all), 1e-12)
}

// reelSizes counts the words of each meeting with its plants.
func reelSizes(ms []meeting, plants []plant) map[string]float64 {
	l, sizes := languageOf("en"), map[string]float64{}
	for q := range planted(ms, nil, nil) {
		l.cut(q.Text, func(string) { sizes[q.Reel]++ })
		for _, p := range plants {
			if q.Order%7 == 1 && q.Order/7 < p.turns[q.Reel] {
				sizes[q.Reel] += float64(len(strings.Fields(p.text)))
			}
		}
	}
	return sizes
}

// TestPlantedLateTheme: a phrase and a word that only come up in the last
// meeting, close together, are among the first ten of Late, whatever the
// meetings are about.
func TestPlantedLateTheme(t *testing.T) {
	all, l := meetings(t), languageOf("en")
	groups := [][]meeting{all, all[:12], all[5:15], all[10:18], all[12:32], all[25:30], all[26:33]}
	for _, prefix := range []string{"Bed", "Bmr", "Bro", "ES2006", "ES2009", "IS1006", "TS3009", "TS3010", "education"} {
		var ms []meeting
		for _, m := range all {
			if strings.HasPrefix(m.name, prefix) {
				ms = append(ms, m)
			}
		}
		groups = append(groups, ms)
	}
	for i, ms := range groups {
		ms = shot(ms)
		last, said := ms[len(ms)-1], map[string]bool{}
		for q := range meetingQuotes(ms) {
			l.cut(q.Text, func(w string) { said[l.stem(strings.Clone(w))] = true })
		}
		words := []string{"lantern", "rope", "kettle"}
		for _, planted := range []string{words[i%3], words[(i+1)%3]} {
			if said[l.stem(planted)] {
				continue // then it isn't new
			}
			quotes := func(yield func(story.Quote, error) bool) {
				left := 12
				for q := range meetingQuotes(ms) {
					// Twelve times, about once in a hundred words.
					for n := 1 + len(q.Text)/500; q.Reel == last.name && q.Order >= 30 && left > 0 && n > 0; n-- {
						q.Text += " the " + planted
						left--
					}
					if !yield(q, nil) {
						return
					}
				}
			}
			got, err := Find(context.Background(), quotes, Options{Late: true, Limit: 10})
			if err != nil {
				t.Fatal(err)
			}
			at := slices.IndexFunc(got.Recurring, func(c Candidate) bool { return slices.Contains(c.Forms, planted) })
			names := []string{}
			for _, c := range got.Recurring {
				names = append(names, c.Term)
			}
			t.Logf("%q planted in %s, last of %d: %s", planted, last.name, len(ms), strings.Join(names, ", "))
			if at < 0 {
				t.Errorf("%q planted in %s is not among the first ten", planted, last.name)
				continue
			}
			if c := got.Recurring[at]; !c.Late || c.Burst.Levels == 0 || c.Burst.Reel != last.name {
				t.Errorf("%q: got late %v, burst %+v; want late and a burst in %s", planted, c.Late, c.Burst, last.name)
			}
		}
	}
}
