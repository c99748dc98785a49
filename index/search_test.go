package index

import (
	"context"
	"errors"
	"iter"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// farBank reads testdata/farbank.txt.
func farBank(t testing.TB) []story.Quote {
	t.Helper()
	var quotes []story.Quote
	order := map[string]int{}
	for _, line := range dataLines(t, "testdata/farbank.txt") {
		f := strings.SplitN(line, "|", 9)
		rating, err := strconv.Atoi(f[5])
		if err != nil {
			t.Fatal(err)
		}
		q := story.Quote{
			Code: story.Code(f[0]), Reel: f[1], Day: f[2], Speaker: f[3], Language: f[4],
			Rating: rating, Note: f[7], Text: f[8], Order: order[f[1]],
		}
		if f[6] != "" {
			q.Themes = strings.Split(f[6], ";")
		}
		order[f[1]]++
		quotes = append(quotes, q)
	}
	return quotes
}

func dataLines(t testing.TB, path string) []string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for line := range strings.Lines(string(b)) {
		if line = strings.TrimSpace(line); line != "" && line[0] != '#' {
			out = append(out, line)
		}
	}
	return out
}

func all(quotes []story.Quote) iter.Seq2[story.Quote, error] {
	return func(yield func(story.Quote, error) bool) {
		for _, q := range quotes {
			if !yield(q, nil) {
				return
			}
		}
	}
}

// built makes and opens an index of quotes.
func built(t testing.TB, quotes []story.Quote) *Index {
	t.Helper()
	dir := t.TempDir()
	if err := Build(context.Background(), dir, "bank", 1, all(quotes), nil); err != nil {
		t.Fatal(err)
	}
	return opened(t, dir)
}

func opened(t testing.TB, dir string) *Index {
	t.Helper()
	i, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = i.Close() })
	return i
}

func TestSearches(t *testing.T) {
	i := built(t, farBank(t))
	for _, line := range dataLines(t, "testdata/searches.txt") {
		query, want, ok := strings.Cut(line, "⇒")
		if !ok {
			t.Fatalf("no ⇒ in %q", line)
		}
		query = strings.TrimSpace(query)
		codes, err := i.All(context.Background(), query)
		if err != nil {
			t.Errorf("%s: %v", query, err)
			continue
		}
		var got []string
		for _, c := range codes {
			got = append(got, string(c))
		}
		if g, w := strings.Join(got, " "), strings.TrimSpace(want); g != w {
			t.Errorf("%s: got %s, want %s", query, g, w)
		}
		res, err := i.Search(context.Background(), Query{Text: query, Limit: -1})
		if err != nil || res.Total != len(codes) || len(res.Hits) != len(codes) {
			t.Errorf("%s: Search got %d hits of %d, %v; All got %d", query, len(res.Hits), res.Total, err, len(codes))
		}
	}
}

func TestMarks(t *testing.T) {
	quotes := farBank(t)
	i := built(t, quotes)
	text := map[story.Code]string{}
	for _, q := range quotes {
		text[q.Code] = q.Text
	}
	for query, want := range map[string]string{
		"ring -zebra code:CCCCGY":              "rings",
		"bell code:CCCCJH":                     "bell's",
		"rang bell code:CCCCJH":                "rang|bell's",
		`"rings a bridge" code:CCCCGY`:         "rings|a|bridge",
		"eglise code:CCCCMP":                   "l'église",
		"strasse code:CCCCNG":                  "Straße",
		"渡し code:CCCCPW":                       "渡し",
		"bri* nobody code:CCCCGY":              "Nobody|bridge",
		"theme:bell code:CCCCGY":               "",
		`("to be" OR people) code:CCCCDR`:      "People|To|be",
		"NOT ring code:KRTWHC":                 "",
		"bridge OR (bridge angry) code:CCCCCC": "angry|bridge",
	} {
		res, err := i.Search(context.Background(), Query{Text: query})
		if err != nil || len(res.Hits) == 0 {
			t.Errorf("%s: got %d hits, %v", query, len(res.Hits), err)
			continue
		}
		var got []string
		h := res.Hits[slices.IndexFunc(res.Hits, func(h Hit) bool {
			return strings.HasSuffix(query, string(h.Code))
		})]
		for _, m := range h.Marks {
			got = append(got, text[h.Code][m.Start:m.End])
		}
		// A phrase is one stretch; words are compared one by one.
		g := strings.ReplaceAll(strings.Join(got, "|"), " ", "|")
		if g != want {
			t.Errorf("%s: got %q, want %q", query, g, want)
		}
	}
}

func TestCounts(t *testing.T) {
	i := built(t, farBank(t))
	res, err := i.Search(context.Background(), Query{Text: "theme:bell OR theme:bridge", Counts: true, Limit: 1})
	if err != nil {
		t.Fatal(err)
	}
	if res.Total != 4 || len(res.Hits) != 1 {
		t.Errorf("got %d of %d hits, want 1 of 4", len(res.Hits), res.Total)
	}
	if want := []Count{{"Ines Corrigan", 3}, {"Wilf Tranter", 1}}; !slices.Equal(res.Speakers, want) {
		t.Errorf("speakers: got %v, want %v", res.Speakers, want)
	}
	if want := []Count{{"D2-INT2", 2}, {"D1-INT1", 1}, {"D1-WILF", 1}}; !slices.Equal(res.Reels, want) {
		t.Errorf("reels: got %v, want %v", res.Reels, want)
	}
	if want := []Count{{"bell", 3}, {"bridge", 1}, {"ringing for nobody", 1}}; !slices.Equal(res.Themes, want) {
		t.Errorf("themes: got %v, want %v", res.Themes, want)
	}
}

func TestOrderAndPaging(t *testing.T) {
	i := built(t, farBank(t))
	order := func(q Query) string {
		t.Helper()
		res, err := i.Search(context.Background(), q)
		if err != nil {
			t.Fatal(err)
		}
		var codes []string
		for _, h := range res.Hits {
			codes = append(codes, string(h.Code))
		}
		return strings.Join(codes, " ")
	}
	whole := order(Query{Text: "bell OR bridge", Limit: -1})
	paged := ""
	for at := 0; at < 8; at += 3 {
		paged += " " + order(Query{Text: "bell OR bridge", Limit: 3, Offset: at})
	}
	if strings.TrimSpace(paged) != whole {
		t.Errorf("paged: got %s, want %s", paged, whole)
	}
	// Fields alone have one score: the order of reels.
	if got, want := order(Query{Text: "reel:D1*"}), "KRTWHC CCCCCC CCCCDR CCCCFJ"; got != want {
		t.Errorf("reel:D1*: got %s, want %s", got, want)
	}
	if got := order(Query{Text: "bell", Offset: 100}); got != "" {
		t.Errorf("past the end: got %s, want nothing", got)
	}
}

func TestUnderstoodAndMissing(t *testing.T) {
	i := built(t, farBank(t))
	for query, want := range map[string]struct{ understood, missing string }{
		"bell speaker:ines":   {"bell AND spoken by ines (Ines Corrigan)", ""},
		"speaker:nobody":      {"spoken by nobody (nobody of that name)", ""},
		"reel:D1*":            {"in reel D1* (D1-INT1, D1-WILF)", ""},
		"theme:bell":          {"with theme bell", ""},
		"zebra bell":          {"zebra AND bell", "zebra"},
		`"Zebra crossing"`:    {`"zebra crossing"`, "zebra crossing"},
		"bell -zebra":         {"bell AND NOT zebra", ""},
		"zeb* OR zebbbbb~":    {"zeb* OR zebbbbb~1", "zeb* zebbbbb"},
		"sonner OR ringed":    {"sonner OR ringed", ""},
		"Bells OR läutenden~": {"bells OR lautenden~1", "lautenden"},
	} {
		res, err := i.Search(context.Background(), Query{Text: query})
		if err != nil {
			t.Errorf("%s: %v", query, err)
			continue
		}
		if res.Understood != want.understood || strings.Join(res.Missing, " ") != want.missing {
			t.Errorf("%s: got %q, missing %q; want %q, %q", query, res.Understood, res.Missing, want.understood, want.missing)
		}
	}
}

func TestNear(t *testing.T) {
	i := built(t, farBank(t))
	for word, want := range map[string]string{
		"brigde":  "bridge",
		"Glokken": "glocken",
		"bel":     "bell be",
		"nobdy":   "nobody",
		"zebra":   "",
		"":        "",
		"*":       "",
		"a b":     "",
	} {
		got, err := i.Near(context.Background(), word, 3)
		if err != nil {
			t.Errorf("%q: %v", word, err)
			continue
		}
		if strings.Join(got, " ") != want {
			t.Errorf("%q: got %q, want %q", word, got, want)
		}
	}
}

func TestSearchRefuses(t *testing.T) {
	i := built(t, farBank(t))
	if _, err := i.Search(context.Background(), Query{Text: "bell AND"}); !errors.Is(err, ErrQuery) {
		t.Errorf("got %v, want ErrQuery", err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := i.Search(ctx, Query{Text: "bell"}); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want context.Canceled", err)
	}
}

func FuzzSearch(f *testing.F) {
	i := built(f, farBank(f))
	for _, line := range dataLines(f, "testdata/searches.txt") {
		query, _, _ := strings.Cut(line, "⇒")
		f.Add(query)
	}
	f.Fuzz(func(t *testing.T, query string) {
		res, err := i.Search(context.Background(), Query{Text: query, Limit: -1, Counts: true})
		if err != nil {
			if !errors.Is(err, ErrQuery) {
				t.Fatalf("%q: %v", query, err)
			}
			return
		}
		if len(res.Hits) != res.Total || res.Total > i.Quotes() {
			t.Fatalf("%q: %d hits, total %d of %d", query, len(res.Hits), res.Total, i.Quotes())
		}
	})
}

// Of two sayings of one length, the one with the word as typed comes first.
func TestAsTypedComesFirst(t *testing.T) {
	i := built(t, []story.Quote{
		{Code: "A", Reel: "R", Order: 0, Language: "en", Text: "She rings it now."},
		{Code: "B", Reel: "R", Order: 1, Language: "en", Text: "They ring it now."},
		{Code: "C", Reel: "R", Order: 2, Language: "en", Text: "He rang it now."},
	})
	for query, want := range map[string]story.Code{"ring": "B", "rings": "A", "rang": "C"} {
		res, err := i.Search(context.Background(), Query{Text: query})
		if err != nil || len(res.Hits) != 3 || res.Hits[0].Code != want {
			t.Errorf("%s: got %v, %v; want three hits, %s first", query, res.Hits, err, want)
		}
	}
}
