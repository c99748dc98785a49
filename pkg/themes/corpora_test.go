package themes

import (
	"context"
	"encoding/json"
	"iter"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// corpora gives the folder of outside data, or skips the test.
func corpora(t testing.TB, parts ...string) string {
	t.Helper()
	root := os.Getenv("RUSHLIGHT_CORPORA")
	if root == "" {
		root = "../../../shared/corpora"
	}
	path := filepath.Join(append([]string{root}, parts...)...)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("outside data %s is not here: set RUSHLIGHT_CORPORA", filepath.Join(parts...))
	}
	return path
}

// meeting is one file of QMSum (Zhong et al. 2021): a real meeting with the
// topics that people named in it.
type meeting struct {
	name   string
	Topics []struct {
		Topic string `json:"topic"`
	} `json:"topic_list"`
	Turns []struct {
		Speaker string `json:"speaker"`
		Content string `json:"content"`
	} `json:"meeting_transcripts"`
}

func meetings(t testing.TB) []meeting {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(corpora(t, "meetings-text", "val"), "*.json"))
	if err != nil || len(files) == 0 {
		t.Fatalf("no meetings: %v", err)
	}
	var out []meeting
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		m := meeting{name: strings.TrimSuffix(filepath.Base(f), ".json")}
		if err := json.Unmarshal(b, &m); err != nil {
			t.Fatal(err)
		}
		out = append(out, m)
	}
	return out
}

// meetingQuotes streams the turns of meetings, one reel each; replace, if not
// nil, may change a text.
func meetingQuotes(ms []meeting) iter.Seq2[story.Quote, error] {
	marks := regexp.MustCompile(`\{[a-z]+\}`)
	return func(yield func(story.Quote, error) bool) {
		for _, m := range ms {
			for i, turn := range m.Turns {
				text := marks.ReplaceAllString(turn.Content, " ")
				if !yield(story.Quote{
					Code: story.Code(m.name), Reel: m.name, Speaker: turn.Speaker,
					Text: text, Language: "en", Order: i,
				}, nil) {
					return
				}
			}
		}
	}
}

// TestTopicWords: for each of 35 real meetings (QMSum, Yale-LILY/QMSum), the
// words of the topics that people named are looked for among what sets the
// meeting apart. The bounds stand a little under what was measured, so that a
// change for the worse shows.
func TestTopicWords(t *testing.T) {
	ms := meetings(t)
	stems := (&corpus{langs: map[string]*language{}}).language("en")
	inTen, reciprocal, recall := 0.0, 0.0, 0.0
	for _, m := range ms {
		title := map[string]bool{}
		for _, topic := range m.Topics {
			stems.cut(topic.Topic, func(w string) {
				if !stems.isStop(w) {
					title[stems.stem(strings.Clone(w))] = true
				}
			})
		}
		got, err := Recurring(context.Background(), meetingQuotes(ms), Options{Limit: 20, Reel: m.name})
		if err != nil {
			t.Fatal(err)
		}
		first, hit := -1, map[string]bool{}
		for i, r := range got {
			for _, w := range strings.Fields(r.Term) {
				if s := stems.stem(w); title[s] {
					hit[s] = true
					if first < 0 {
						first = i
					}
				}
			}
		}
		if first >= 0 {
			reciprocal += 1 / float64(first+1)
			if first < 10 {
				inTen++
			}
		}
		recall += float64(len(hit)) / float64(len(title))
		if testing.Verbose() {
			names := []string{}
			for _, r := range got[:min(10, len(got))] {
				names = append(names, r.Term)
			}
			t.Logf("%-10s %.2f %s", m.name, float64(len(hit))/float64(len(title)), strings.Join(names, ", "))
		}
	}
	n := float64(len(ms))
	t.Logf("%d meetings: a title word in the first ten %.2f, MRR %.2f, recall of title words in the first 20 %.2f", len(ms), inTen/n, reciprocal/n, recall/n)
	if inTen/n < 0.79 || reciprocal/n < 0.45 {
		t.Errorf("got any in the first ten %.2f and MRR %.2f, want at least 0.79 and 0.45", inTen/n, reciprocal/n)
	}
}

// TestPlantedTheme: a made-up word put into known turns of real meetings is
// counted exactly, with its reels, speakers and first place, and is found.
func TestPlantedTheme(t *testing.T) {
	ms := meetings(t)[:8]
	planted := map[string]int{ms[2].name: 3, ms[5].name: 4, ms[7].name: 5}
	speakers := map[string]bool{}
	quotes := func(yield func(story.Quote, error) bool) {
		for q, err := range meetingQuotes(ms) {
			if q.Order%7 == 1 && q.Order/7 < planted[q.Reel] {
				q.Text += " the lantern boats"
				speakers[q.Speaker] = true
				q.Code = story.Code(q.Reel + "!")
			}
			if !yield(q, err) {
				return
			}
		}
	}
	got, err := Recurring(context.Background(), quotes, Options{Limit: -1})
	if err != nil {
		t.Fatal(err)
	}
	i := slices.IndexFunc(got, func(r story.Recurring) bool { return r.Term == "lantern boats" })
	if i < 0 {
		t.Fatal("the planted phrase was not found")
	}
	r := got[i]
	if r.Count != 12 || !slices.Equal(r.Reels, []string{ms[2].name, ms[5].name, ms[7].name}) || len(r.Speakers) != len(speakers) {
		t.Errorf("got %d times in %v by %v, want 12 in three reels by %d speakers", r.Count, r.Reels, r.Speakers, len(speakers))
	}
	if r.First != story.Code(ms[2].name+"!") {
		t.Errorf("first said in %s, want %s!", r.First, ms[2].name)
	}
}
