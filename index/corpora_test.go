package index

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"

	"rushlight/pkg/story"
)

// meetingQuotes reads the turns of the real meetings of QMSum
// (Yale-LILY/QMSum), or skips the test.
func meetingQuotes(t testing.TB) []story.Quote {
	t.Helper()
	root := os.Getenv("RUSHLIGHT_CORPORA")
	if root == "" {
		root = "../../shared/corpora"
	}
	files, _ := filepath.Glob(filepath.Join(root, "meetings-text", "val", "*.json"))
	if len(files) == 0 {
		t.Skip("outside data meetings-text/val not found: set RUSHLIGHT_CORPORA")
	}
	marks := regexp.MustCompile(`\{[a-z]+\}`)
	var quotes []story.Quote
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var m struct {
			Turns []struct {
				Speaker string `json:"speaker"`
				Content string `json:"content"`
			} `json:"meeting_transcripts"`
		}
		if err := json.Unmarshal(b, &m); err != nil {
			t.Fatal(err)
		}
		for i, turn := range m.Turns {
			quotes = append(quotes, story.Quote{
				Code: story.Code(fmt.Sprintf("%06d", len(quotes))), Reel: strings.TrimSuffix(filepath.Base(f), ".json"),
				Order: i, Speaker: turn.Speaker, Language: "en", Text: marks.ReplaceAllString(turn.Content, " "),
			})
		}
	}
	return quotes
}

// meetingIndex is made once for all tests; TestMain removes it.
var meetingIndex struct {
	sync.Once
	quotes []story.Quote
	dir    string
	err    error
}

// meetings gives the meetings' turns and an index of them.
func meetings(t testing.TB) ([]story.Quote, *Index) {
	t.Helper()
	quotes := meetingQuotes(t)
	m := &meetingIndex
	m.Do(func() {
		m.quotes = quotes
		if m.dir, m.err = os.MkdirTemp("", "rushlight-index-"); m.err == nil {
			m.err = Build(context.Background(), m.dir, "bank", 1, all(quotes), nil)
		}
	})
	if m.err != nil {
		t.Fatal(m.err)
	}
	return m.quotes, opened(t, m.dir)
}

func TestMain(m *testing.M) {
	code := m.Run()
	if meetingIndex.dir != "" {
		_ = os.RemoveAll(meetingIndex.dir)
	}
	os.Exit(code)
}

// tokenPattern is a word for the reference below; made independently of
// cutWords.
var tokenPattern = regexp.MustCompile(`\d+(?:[.,]\d+)+|[\pL\pN]+(?:['’]\pL+)*`)

// TestAgainstPlainReading compares what searches find in 20,000 turns of real
// meetings with a reading of every turn from start to end.
func TestAgainstPlainReading(t *testing.T) {
	quotes, i := meetings(t)
	tokens := make([][]string, len(quotes))
	for k, q := range quotes {
		tokens[k] = tokenPattern.FindAllString(strings.ToLower(q.Text), -1)
	}
	is := func(token, w string) bool { return token == w || token == w+"'s" }
	has := func(w string) func(int) bool {
		return func(k int) bool { return slices.ContainsFunc(tokens[k], func(s string) bool { return is(s, w) }) }
	}
	starts := func(p string) func(int) bool {
		return func(k int) bool {
			return slices.ContainsFunc(tokens[k], func(s string) bool { return strings.HasPrefix(s, p) })
		}
	}
	phrase := func(words string) func(int) bool {
		want := strings.Fields(words)
		return func(k int) bool {
			for at := 0; at+len(want) <= len(tokens[k]); at++ {
				if slices.EqualFunc(tokens[k][at:at+len(want)], want, is) {
					return true
				}
			}
			return false
		}
	}
	within := func(w string, letters int) func(int) bool {
		return func(k int) bool {
			return slices.ContainsFunc(tokens[k], func(s string) bool {
				return distance(w, s) <= letters || strings.HasSuffix(s, "'s") && distance(w, s[:len(s)-2]) <= letters
			})
		}
	}
	and := func(x, y func(int) bool) func(int) bool { return func(k int) bool { return x(k) && y(k) } }
	or := func(x, y func(int) bool) func(int) bool { return func(k int) bool { return x(k) || y(k) } }
	not := func(x func(int) bool) func(int) bool { return func(k int) bool { return !x(k) } }
	for _, c := range []struct {
		query string
		want  func(int) bool
	}{
		{`"remote"`, has("remote")},
		{`"remote" "battery"`, and(has("remote"), has("battery"))},
		{`"remote" OR "battery"`, or(has("remote"), has("battery"))},
		{`"remote" -"control"`, and(has("remote"), not(has("control")))},
		{`-"the"`, not(has("the"))},
		{`("money" OR "price") AND NOT ("euros" OR "cost")`, and(or(has("money"), has("price")), not(or(has("euros"), has("cost"))))},
		{`"to be"`, phrase("to be")},
		{`"remote control"`, phrase("remote control")},
		{`"i don't know"`, phrase("i don't know")},
		{`"at the end of"`, phrase("at the end of")},
		{`"you know" "i mean" -"yeah"`, and(and(phrase("you know"), phrase("i mean")), not(has("yeah")))},
		{`batter*`, starts("batter")},
		{`sub* "children"`, and(starts("sub"), has("children"))},
		{`button~`, within("button", 1)},
		{`batery~2`, within("batery", 2)},
	} {
		codes, err := i.All(context.Background(), c.query)
		if err != nil {
			t.Errorf("%s: %v", c.query, err)
			continue
		}
		found := map[story.Code]bool{}
		for _, code := range codes {
			found[code] = true
		}
		total, wrong := 0, 0
		for k, q := range quotes {
			want := c.want(k)
			if want {
				total++
			}
			if want != found[q.Code] {
				if wrong++; wrong <= 2 {
					t.Errorf("%s: found %v, want %v: %.200q", c.query, found[q.Code], want, q.Text)
				}
			}
		}
		if total == 0 {
			t.Errorf("%s: the reference finds nothing: the check is empty", c.query)
		}
		t.Logf("%-55s %5d turns, %d wrong", c.query, total, wrong)
	}
}

// BenchmarkBuild makes an index of real meetings, about 20,000 turns.
func BenchmarkBuild(b *testing.B) {
	quotes := meetingQuotes(b)
	for b.Loop() {
		if err := Build(context.Background(), b.TempDir(), "bank", 1, all(quotes), nil); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkOpenSearchClose is what a one-shot search does with the index.
func BenchmarkOpenSearchClose(b *testing.B) {
	dir := b.TempDir()
	if err := Build(context.Background(), dir, "bank", 1, all(meetingQuotes(b)), nil); err != nil {
		b.Fatal(err)
	}
	for _, text := range []string{"battery", "remote OR control", `"to be"`, "the", "batter*", "buton~"} {
		b.Run(text, func(b *testing.B) {
			for b.Loop() {
				i, err := Open(dir)
				if err != nil {
					b.Fatal(err)
				}
				if _, err := i.Search(context.Background(), Query{Text: text, Counts: true}); err != nil {
					b.Fatal(err)
				}
				if err := i.Close(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
