package desk_test

import (
	"bufio"
	"context"
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rushlight/pkg/desk"
)

// demoBank takes the samples into a bank.
func demoBank(t *testing.T) *desk.Desk {
	t.Helper()
	ctx := context.Background()
	dir := filepath.Join(t.TempDir(), "bank")
	if _, err := desk.New(ctx, dir, desk.Options{}, desk.NewOptions{}); err != nil {
		t.Fatal(err)
	}
	d, err := desk.Open(ctx, desk.Options{Bank: dir})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.Close() })
	samples := filepath.Join("..", "..", "samples")
	rep, err := d.Ingest(ctx, desk.IngestOptions{Paths: []string{filepath.Join(samples, "day1"), filepath.Join(samples, "day2")}})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range rep.Files {
		if f.State != desk.StateNew {
			t.Errorf("%s", f)
		}
	}
	return d
}

// TestExpectedSearches: every search of samples/expected-searches.txt, worked
// out by hand from the script, finds what it must.
func TestExpectedSearches(t *testing.T) {
	d := demoBank(t)
	f, err := os.Open(filepath.Join("..", "..", "samples", "expected-searches.txt"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	n := 0
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		query, rest, ok := strings.Cut(lines.Text(), " ⇒ ")
		if !ok || strings.HasPrefix(query, "#") {
			continue
		}
		n++
		t.Run(query, func(t *testing.T) { expectSearch(t, d, query, strings.Split(rest, " | ")) })
	}
	if n < 20 {
		t.Errorf("%d searches, want at least 20", n)
	}
}

func expectSearch(t *testing.T, d *desk.Desk, query string, want []string) {
	limit := 10
	if want[0] != "?" {
		limit = -1
	}
	got, err := d.Find(context.Background(), desk.FindOptions{Query: query, Limit: limit})
	if err != nil {
		t.Fatal(err)
	}
	if n, err := strconv.Atoi(want[0]); err == nil && got.Total != n {
		t.Errorf("%d quotes found, want %d", got.Total, n)
	}
	for _, w := range want[1:] {
		reel, piece, _ := strings.Cut(w, ": ")
		if !slices.ContainsFunc(got.Hits, func(h desk.Hit) bool {
			return h.Quote.Reel == reel && strings.Contains(h.Quote.Text, piece)
		}) {
			t.Errorf("%q of %s is not among the hits", piece, reel)
		}
	}
}

// TestDemoThemes: the words that the film is about come before the one that
// everybody says.
func TestDemoThemes(t *testing.T) {
	d := demoBank(t)
	got, err := d.Themes(context.Background(), desk.ThemesOptions{Limit: -1})
	if err != nil {
		t.Fatal(err)
	}
	place := map[string]int{}
	for i, r := range got.Recurring {
		place[r.Term] = i + 1
	}
	for _, w := range []string{"ring", "bell", "bridge"} {
		if place[w] == 0 {
			t.Fatalf("%q doesn't come back", w)
		}
	}
	if place["ring"] > place["bridge"] || place["bell"] > place["bridge"] {
		t.Errorf("ring is %d, bell %d, bridge %d: want bridge last", place["ring"], place["bell"], place["bridge"])
	}
}

// TestDemoTimes compares ins and outs with the renderer's truth: a check of
// the plumbing, for the voices are a synthesiser's.
func TestDemoTimes(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("..", "..", "samples", "truth.json"))
	if err != nil {
		t.Fatal(err)
	}
	var truth map[string]struct {
		Sentences []struct {
			Text    string
			In, Out float64
		}
	}
	if err := json.Unmarshal(b, &truth); err != nil {
		t.Fatal(err)
	}
	d := demoBank(t)
	near, all := 0, 0
	for reel, r := range truth {
		got, err := d.Find(context.Background(), desk.FindOptions{Query: "reel:" + reel, Limit: -1})
		if err != nil {
			t.Fatal(err)
		}
		if got.Total == 0 {
			continue
		}
		for _, s := range r.Sentences {
			best := math.Inf(1)
			for _, h := range got.Hits {
				if h.Quote.Text == s.Text {
					best = min(best, max(math.Abs(h.Quote.In.Seconds()-s.In), math.Abs(h.Quote.Out.Seconds()-s.Out)))
				}
			}
			all++
			if best <= 0.2 {
				near++
			}
		}
	}
	t.Logf("%d of %d sentences have in and out within 200 ms", near, all)
	if all < 80 || float64(near) < 0.8*float64(all) {
		t.Errorf("%d of %d sentences within 200 ms, want 80 %%", near, all)
	}
}
