package index

import (
	"context"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// sweptCodes makes codes by number.
func sweptCodes(n int) []story.Code {
	codes := make([]story.Code, n)
	taken := map[story.Code]bool{}
	for k := range codes {
		codes[k] = story.NewCode("R", timecode.Ticks(k)*timecode.Second, func(c story.Code) bool { return taken[c] })
		taken[codes[k]] = true
	}
	return codes
}

// sweptQuotes makes quotes whose words come often enough that lists meet.
func sweptQuotes(random *rand.Rand, codes []story.Code, from int) []story.Quote {
	words := strings.Fields("bell bells ringing ring rang rings bridge bridges the and river glocke glocken ferryman Fährmann old olden nobody")
	quotes := make([]story.Quote, len(codes))
	for k := range quotes {
		var said []string
		for range 1 + random.IntN(12) {
			said = append(said, words[int(float64(len(words))*random.Float64()*random.Float64())])
		}
		if random.IntN(40) == 0 {
			said = slices.Repeat(said, 30) // more words, and one more often, than scores are remembered for
		}
		quotes[k] = story.Quote{
			Code: codes[k], Reel: fmt.Sprintf("R%02d", (from+k)/300), Order: k,
			Speaker:  []string{"", "Ines", "Joss"}[random.IntN(3)],
			Language: []string{"en", "en", "de", ""}[random.IntN(4)],
			Text:     strings.Join(said, " "),
			Rating:   random.IntN(4),
		}
		if random.IntN(5) == 0 {
			quotes[k].Themes = []string{[]string{"bell", "water", story.Strong}[random.IntN(3)]}
		}
	}
	return quotes
}

// sweptQuery makes a query of words, fields and what joins them.
func sweptQuery(random *rand.Rand, depth int) string {
	leaves := []string{
		"bell", "bells", "ring", "rang", "bridge", "the", "river", "glocken", "Fährmann", "never", "ri*", "bel~",
		`"the bell"`, `"rang"`, "speaker:ines", "theme:bell", "rating:>=2", "reel:R01", "strong:yes", "code:" + string(sweptCodes(124)[123]),
	}
	if depth == 0 || random.IntN(3) == 0 {
		return leaves[random.IntN(len(leaves))]
	}
	a, b := sweptQuery(random, depth-1), sweptQuery(random, depth-1)
	switch random.IntN(4) {
	case 0:
		return "(" + a + " " + b + ")"
	case 1:
		return "(" + a + " NOT " + b + ")"
	case 2:
		return "(" + a + " OR NOT " + b + ")"
	}
	return "(" + a + " OR " + b + ")"
}

// TestSweepLikeAll: the best hits, their scores, their number and the counts
// that a sweep finds are those of all hits found one by one.
func TestSweepLikeAll(t *testing.T) {
	ctx := context.Background()
	random := rand.New(rand.NewPCG(7, 8))
	dir := t.TempDir()
	codes := sweptCodes(13_000)
	if err := Build(ctx, dir, "b", 1, all(sweptQuotes(random, codes[:12_000], 0)), nil); err != nil {
		t.Fatal(err)
	}
	if err := Update(ctx, dir, "b", 2, nil, codes[11_990:12_000]); err != nil { // no document is left at the end
		t.Fatal(err)
	}
	for state := int64(3); state < 7; state++ {
		i := opened(t, dir)
		for range 120 {
			q := Query{Text: sweptQuery(random, random.IntN(4)), Counts: true, Limit: 1 + random.IntN(30), Offset: random.IntN(2) * random.IntN(50)}
			compareSweep(t, i, q)
		}
		// Some are said anew, some are new, some are gone.
		from, fresh := random.IntN(11_000), 12_000+int(state)*100
		changed := append(sweptQuotes(random, codes[from:from+300], from), sweptQuotes(random, codes[fresh:fresh+100], fresh)...)
		var gone []story.Code
		for k := range 200 {
			gone = append(gone, codes[int(state)*1500+k*3])
		}
		gone = append(gone, codes[fresh-2:fresh]...) // the last that came before
		if err := Update(ctx, dir, "b", state, changed, gone); err != nil {
			t.Fatal(err)
		}
	}
}

func compareSweep(t *testing.T, i *Index, q Query) {
	t.Helper()
	got, err := i.Search(context.Background(), q)
	if err != nil {
		t.Fatalf("%s: %v", q.Text, err)
	}
	a, err := i.answer(context.Background(), q)
	if err != nil {
		t.Fatalf("%s: %v", q.Text, err)
	}
	if got.Total != len(a.found.docs) {
		t.Fatalf("%s: %d hits, want %d", q.Text, got.Total, len(a.found.docs))
	}
	want := i.best(a.found, q.Offset, q.Limit)
	if len(got.Hits) != len(want) {
		t.Fatalf("%s: %d hits shown, want %d", q.Text, len(got.Hits), len(want))
	}
	for k, w := range want {
		if h := got.Hits[k]; h.Code != i.cols.code(w.doc) || h.Score != float64(w.score) {
			t.Fatalf("%s: hit %d is %s with %v, want %s with %v", q.Text, k, h.Code, h.Score, i.cols.code(w.doc), w.score)
		}
	}
	var counts [nameTables][]int
	for which := range counts {
		counts[which] = make([]int, len(i.cols.names[which]))
	}
	for _, d := range a.found.docs {
		counts[nameSpeaker][i.cols.array(colSpeaker).at(d)]++
		counts[nameReel][i.cols.array(colReel).at(d)]++
		for _, theme := range i.cols.themes(d) {
			if theme != story.Strong {
				counts[nameTheme][slices.Index(i.cols.names[nameTheme], theme)]++
			}
		}
	}
	for name, pair := range map[string][2][]Count{
		"speaker": {got.Speakers, counted(i.cols.names[nameSpeaker], counts[nameSpeaker])},
		"reel":    {got.Reels, counted(i.cols.names[nameReel], counts[nameReel])},
		"theme":   {got.Themes, counted(i.cols.names[nameTheme], counts[nameTheme])},
	} {
		if len(pair[0])+len(pair[1]) > 0 && !reflect.DeepEqual(pair[0], pair[1]) {
			t.Fatalf("%s: by %s %v, want %v", q.Text, name, pair[0], pair[1])
		}
	}
}
