package index

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// retell tells a text again: of its words a share is changed, in equal parts
// left out, put in and replaced by other words of the same talk.
func retell(r *rand.Rand, text string, share float64, others []string) string {
	var out []string
	for _, w := range strings.Fields(text) {
		if r.Float64() >= share {
			out = append(out, w)
			continue
		}
		other := others[r.IntN(len(others))]
		switch r.IntN(3) {
		case 0:
		case 1:
			out = append(out, w, other)
		case 2:
			out = append(out, other)
		}
	}
	return strings.Join(out, " ")
}

// TestMeetingsPlantedTakes plants retellings of real turns in other meetings
// and looks for them among all turns.
func TestMeetingsPlantedTakes(t *testing.T) {
	quotes := meetingQuotes(t)
	r := rand.New(rand.NewPCG(7, 11))
	var others []string
	for _, q := range quotes[:2000] {
		others = append(others, strings.Fields(q.Text)...)
	}
	var long []int
	for k, q := range quotes {
		if n := len(strings.Fields(q.Text)); n >= 12 && n <= 60 {
			long = append(long, k)
		}
	}
	r.Shuffle(len(long), func(a, b int) { long[a], long[b] = long[b], long[a] })
	shares := []float64{0, 0.1, 0.2, 0.3, 0.4}
	// The even plants were for choosing the constants, the odd ones report.
	type plant struct {
		source story.Code
		share  int
	}
	planted := map[story.Code]plant{}
	var sources []story.Code
	for n, k := range long[:120] {
		sources = append(sources, quotes[k].Code)
		for s, share := range shares {
			code := story.Code(fmt.Sprintf("P%05d", len(planted)))
			quotes = append(quotes, story.Quote{
				Code: code, Reel: fmt.Sprintf("RETOLD%d", s), Order: n, Speaker: "Wilf Tranter", Language: "en",
				Text: retell(r, quotes[k].Text, share, others),
			})
			planted[code] = plant{quotes[k].Code, s}
		}
	}
	i := built(t, quotes)
	text := map[story.Code]string{}
	for _, q := range quotes {
		text[q.Code] = q.Text
	}
	for half, name := range []string{"tuned on", "reported"} {
		var found [5]int
		wrong, total, asked := 0, 0, 0
		for n, source := range sources {
			if n%2 != half {
				continue
			}
			asked++
			takes, err := i.Takes(context.Background(), source)
			if err != nil {
				t.Fatal(err)
			}
			for _, h := range takes {
				total++
				if p, ok := planted[h.Code]; ok && p.source == source {
					found[p.share]++
				} else if wrong++; wrong <= 3 {
					t.Logf("%s: score %.2f:\n  %.150q\n  %.150q", name, h.Score, text[source], text[h.Code])
				}
			}
		}
		right := 0
		line := ""
		for s, n := range found {
			right += n
			line += fmt.Sprintf(" %.0f %%: %.2f", 100*shares[s], float64(n)/float64(asked))
		}
		precision, recall := float64(right)/float64(total), float64(right)/float64(asked*len(shares))
		t.Logf("FIGURE | Search | other tellings of a story, %s | precision %.3f, recall %.3f (%d); recall by words changed:%s | precision .95, recall .85", name, precision, recall, asked*len(shares), line)
		if half == 1 && (precision < 0.95 || recall < 0.85) {
			t.Errorf("got precision %.3f recall %.3f, want 0.95 0.85", precision, recall)
		}
	}
	known := map[story.Code]bool{}
	for c, p := range planted {
		known[c], known[p.source] = true, true
	}
	foldFigures(t, i, sources[:50], text, known, func(c story.Code) story.Code {
		if p, ok := planted[c]; ok {
			return p.source
		}
		return c
	})
}

// foldFigures searches for the longest word of each source and looks at what
// is folded: a pair under one hit is right where both tell the same source.
func foldFigures(t *testing.T, i *Index, sources []story.Code, text map[story.Code]string, known map[story.Code]bool, origin func(story.Code) story.Code) {
	right, pairs, together, all := 0, 0, 0, 0
	for _, source := range sources {
		longest := ""
		for _, w := range foldedWords(text[source]) {
			if len(w) > len(longest) {
				longest = w
			}
		}
		res, err := i.Search(context.Background(), Query{Text: `"` + longest + `"`, Limit: -1, Fold: true})
		if err != nil {
			t.Fatal(err)
		}
		told := 0
		for _, h := range res.Hits {
			group := append([]story.Code{h.Code}, h.Folded...)
			mine := 0
			for _, c := range group {
				if origin(c) == source {
					mine++
				}
				// What two real turns have to do with each other nobody knows.
				if c != group[0] && (known[c] || known[group[0]]) {
					pairs++
					if origin(c) == origin(group[0]) {
						right++
					} else if pairs-right <= 3 {
						t.Logf("fold %s: %.200q %.200q", longest, text[group[0]], text[c])
					}
				}
			}
			together += mine * (mine - 1) / 2
			told += mine
		}
		all += told * (told - 1) / 2 // all of them should be one group
	}
	precision, recall := float64(right)/float64(pairs), float64(together)/float64(all)
	t.Logf("FIGURE | Search | tellings folded | precision %.3f of %d pairs, recall %.3f of %d | precision .95, recall .65", precision, pairs, recall, all)
	if precision < 0.95 || recall < 0.65 {
		t.Errorf("fold: got precision %.3f recall %.3f, want 0.95 0.65", precision, recall)
	}
}

func TestFoldTellings(t *testing.T) {
	bell := "Nobody rings the bell on the far bank any more, it hangs there for the gulls."
	i := built(t, []story.Quote{
		{Code: "A", Reel: "D1", Order: 0, Language: "en", Text: bell},
		{Code: "B", Reel: "D1", Order: 1, Language: "en", Text: "The bell."},
		{Code: "C", Reel: "D2", Order: 0, Language: "en", Text: "Nobody rings the bell on the far bank now, it just hangs there for the gulls.", Themes: []string{story.Strong}},
		{Code: "D", Reel: "D2", Order: 1, Language: "en", Text: "The bell!"},
		{Code: "E", Reel: "D2", Order: 2, Language: "en", Text: "A bell costs money and the bridge has none of it."},
		{Code: "F", Reel: "D2", Order: 3, Language: "en", Text: bell, Rating: 3},
	})
	res, err := i.Search(context.Background(), Query{Text: "bell", Fold: true})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, h := range res.Hits {
		folded := slices.Clone(h.Folded)
		slices.Sort(folded)
		got = append(got, fmt.Sprint(h.Code, folded))
	}
	if g, w := strings.Join(got, " "), "B[D] E[] C[A F]"; g != w {
		t.Errorf("got %s, want %s", g, w)
	}
	if res.Total != 6 {
		t.Errorf("total: got %d, want 6", res.Total)
	}
	page, err := i.Search(context.Background(), Query{Text: "bell", Fold: true, Offset: 1, Limit: 1})
	if err != nil || len(page.Hits) != 1 || page.Hits[0].Code != "E" {
		t.Errorf("page: got %v, %v; want E", page.Hits, err)
	}
	takes, err := i.Takes(context.Background(), "C")
	if err != nil || len(takes) != 2 || takes[0].Code != "A" || takes[1].Code != "F" || takes[0].Score < 0.8 || len(takes[0].Marks) == 0 {
		t.Errorf("takes of C: got %v, %v; want A and F with marks", takes, err)
	}
	if takes, err = i.Takes(context.Background(), "B"); err != nil || len(takes) != 1 || takes[0].Code != "D" || takes[0].Score != 1 {
		t.Errorf("takes of B: got %v, %v; want D", takes, err)
	}
}
