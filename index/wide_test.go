package index

import (
	"context"
	"slices"
	"sort"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// TestSynonyms checks words against the sets of WordNet 3.0 as its own files
// have them (data.noun, data.verb, data.adj, seen).
func TestSynonyms(t *testing.T) {
	th, err := synonyms()
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(strings.TrimSuffix(th.lines, "\n"), "\n")
	if len(lines) != 46_136 || !sort.StringsAreSorted(lines) {
		t.Errorf("%d lines, sorted %v; want 46136, true", len(lines), sort.StringsAreSorted(lines))
	}
	for word, want := range map[string]string{
		"ferry": "ferryboat", "ferries": "ferryboat", "quit": "cease discontinue stop resign",
		"buying": "purchase", "bought": "purchase", "Bigger": "large", "stopped": "halt",
		"ringing": "resound", "alone": "lonely", lines[0][:strings.IndexByte(lines[0], '\t')]: "",
	} {
		got := th.of(word)
		if got == nil {
			t.Errorf("%s: got nothing", word)
		}
		for _, w := range strings.Fields(want) {
			if !slices.Contains(got, w) {
				t.Errorf("%s: got %v, want %s among them", word, got, w)
			}
		}
	}
	for _, word := range []string{"", "xyzzy", "the", "s", "zzzz"} {
		if got := th.of(word); len(got) > 0 {
			t.Errorf("%q: got %v, want none", word, got)
		}
	}
}

func TestWide(t *testing.T) {
	i := built(t, []story.Quote{
		{Code: "A", Reel: "D1", Order: 0, Language: "en", Text: "We purchased the boat in spring."},
		{Code: "B", Reel: "D1", Order: 1, Language: "en", Text: "He bought a rope in the town."},
		{Code: "C", Reel: "D1", Order: 2, Language: "de", Text: "Wir kauften ein Boot."},
		{Code: "D", Reel: "D1", Order: 3, Language: "en", Text: "The bridge is paid for."},
	})
	order := func(q Query) (string, Result) {
		t.Helper()
		res, err := i.Search(context.Background(), q)
		if err != nil {
			t.Fatal(err)
		}
		var codes []string
		for _, h := range res.Hits {
			codes = append(codes, string(h.Code))
		}
		return strings.Join(codes, " "), res
	}
	if got, res := order(Query{Text: "buy"}); got != "B" || res.Widened != nil || res.NotWidened != nil {
		t.Errorf("plain: got %s, widened %v %v; want B", got, res.Widened, res.NotWidened)
	}
	got, res := order(Query{Text: "buy", Wide: true})
	if got != "B A" || !slices.Equal(res.Widened, []string{"purchase"}) || !slices.Equal(res.NotWidened, []string{"de"}) {
		t.Errorf("wide: got %s, widened %v, not %v; want B A, purchase, de", got, res.Widened, res.NotWidened)
	}
	if m := res.Hits[1].Marks; len(m) != 1 || m[0] != (Mark{3, 12}) {
		t.Errorf("marks of the synonym: got %v, want purchased", m)
	}
	for query, want := range map[string]string{
		`"buy"`:                  "",    // as typed
		"buy -purchase":          "B",   // synonyms don't come back
		"in -buy":                "A",   // what is not wanted is not widened
		"buy in":                 "B A", // both words wanted
		"buy speaker:nobody":     "",
		"buy OR bridge":          "D B A",
		"the buy":                "B A",
		"buy rope":               "B",
		"buy NOT (rope OR town)": "A",
	} {
		if got, _ := order(Query{Text: query, Wide: true}); len(got) != len(want) || got != want && query != "buy OR bridge" {
			t.Errorf("wide %s: got %q, want %q", query, got, want)
		}
	}
}

func TestSmoothAndLoose(t *testing.T) {
	var quotes []story.Quote
	for k, text := range []string{
		"What did the ferry cost, in money?",
		"More than we had.",
		"And the bell?",
		"Nothing, it hung there.",
	} {
		quotes = append(quotes, story.Quote{Code: story.Code("ABCD"[k : k+1]), Reel: "D1", Order: k, Speaker: []string{"Joss Adeyemi", "Ines Corrigan"}[k%2], Language: "en", Text: text})
	}
	quotes = append(quotes, story.Quote{Code: "E", Reel: "D2", Order: 0, Speaker: "Wilf Tranter", Language: "en", Text: "The money went on the bridge."})
	quotes = append(quotes, story.Quote{Code: "F", Reel: "D3", Order: 0, Speaker: "Wilf Tranter", Language: "en", Text: "I walk a lot."})
	i := built(t, quotes)
	for _, c := range []struct {
		name     string
		q        Query
		first    string
		all      string // in any order
		smoothed bool
	}{
		{"all words", Query{Text: "ferry money"}, "A", "A", false},
		{"loose: all words first", Query{Text: "money bridge", Loose: true}, "E", "ABCDE", true},
		{"the answer of whom it is asked", Query{Text: "ferry cost speaker:ines", Smooth: true}, "B", "BD", true},
		{"not", Query{Text: "ferry money -bell", Smooth: true}, "A", "ABDE", true},
		{"one word stays plain", Query{Text: "money", Smooth: true}, "E", "AE", false},
		{"or stays plain", Query{Text: "bell OR money", Smooth: true}, "", "ACE", false},
		{"a phrase is demanded", Query{Text: `"the ferry" bridge lantern`, Smooth: true}, "", "", true},
		{"nobody said it", Query{Text: "zebra lantern", Smooth: true}, "", "", true},
		{"stop words alone", Query{Text: "in the", Smooth: true}, "A", "ABCDE", true},
	} {
		res, err := i.Search(context.Background(), c.q)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, h := range res.Hits {
			got = append(got, string(h.Code))
		}
		if c.first != "" && (len(got) == 0 || got[0] != c.first) {
			t.Errorf("%s: got %v, want %s first", c.name, got, c.first)
		}
		slices.Sort(got)
		if g := strings.Join(got, ""); g != c.all || res.Smoothed != c.smoothed || res.Total != len(got) {
			t.Errorf("%s: got %s of %d, smoothed %v; want %s, %v", c.name, g, res.Total, res.Smoothed, c.all, c.smoothed)
		}
	}
}
