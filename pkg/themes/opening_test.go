package themes

import (
	"context"
	"math"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// What is named early in a reel by somebody who answers ranks higher; that the
// asker named it before doesn't count. Ten words a quote, ten quotes a reel,
// so that the places are seen at a glance.
func TestOpening(t *testing.T) {
	talk := []struct{ reel, speaker, word string }{
		{"A", "Joss", "lantern"},
		{"A", "Ines", "kettle"},
		{"A", "Ines", ""},
		{"A", "Ines", ""},
		{"A", "Ines", ""},
		{"A", "Ines", "lantern"},
		{"A", "Ines", "kettle"},
		{"A", "Ines", ""},
		{"A", "Ines", "lantern"},
		{"A", "Ines", "kettle"},
		{"B", "Joss", ""},
		{"B", "Ines", "winch"},
		{"B", "Joss", "rope"},
		{"B", "Ines", "winch"},
		{"B", "Ines", ""},
		{"B", "Joss", "rope"},
		{"B", "Ines", "winch"},
		{"B", "Joss", "rope"},
		{"B", "Ines", ""},
		{"B", "Ines", "kettle"},
	}
	quotes := func(yield func(story.Quote, error) bool) {
		for i, said := range talk {
			text := strings.TrimSpace(said.word + strings.Repeat(" and", 10-len(strings.Fields(said.word))))
			if !yield(story.Quote{Reel: said.reel, Speaker: said.speaker, Text: text, Language: "en", Order: i}, nil) {
				return
			}
		}
	}
	asker := func(string) string { return "Joss" }
	find := func(opt Options) Found {
		t.Helper()
		opt.AskerOf, opt.Limit = asker, -1
		got, err := Find(context.Background(), quotes, opt)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	opening := func(list []Candidate, term string) float64 {
		t.Helper()
		why := candidate(t, list, term).Why
		i := slices.IndexFunc(why, func(p Part) bool { return p.Name == "opening" })
		if i < 0 {
			t.Fatalf("%s: no opening in %v", term, why)
		}
		return why[i].Factor
	}
	all, inA := find(Options{}).Recurring, find(Options{Reel: "A"}).Recurring
	for _, c := range []struct {
		name, term string
		list       []Candidate
		place      float64
	}{
		{"after 50 words of 100, though the asker began with it", "lantern", all, 0.5},
		{"three sayings where it comes after 10 words, one where after 90", "kettle", all, (3*0.1 + 0.9) / 4},
		{"only the asker says it", "rope", all, 1},
		{"in one reel", "kettle", inA, 0.1},
	} {
		if got, want := opening(c.list, c.term), math.Pow(0.1+c.place, -0.4); math.Abs(got/want-1) > 1e-12 {
			t.Errorf("%s, %s: got a factor of %g, want %g", c.term, c.name, got, want)
		}
	}
	if l := find(Options{Late: true}).Recurring; len(l) == 0 || slices.ContainsFunc(l, func(c Candidate) bool {
		return slices.ContainsFunc(c.Why, func(p Part) bool { return p.Name == "opening" })
	}) {
		t.Errorf("got %v late, want winch, not weighed by where it is said first", l)
	}
}
