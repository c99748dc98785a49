package themes

import (
	"encoding/json"
	"iter"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// corpora gives the folder of outside data, or skips the test.
func corpora(t testing.TB, parts ...string) string {
	t.Helper()
	root := os.Getenv("RUSHLIGHT_CORPORA")
	if root == "" {
		root = filepath.Join("..", "..", "..", "shared", "corpora")
	}
	path := filepath.Join(append([]string{root}, parts...)...)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("outside data %s not found: set RUSHLIGHT_CORPORA", filepath.Join(parts...))
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
	return meetingsIn(t, corpora(t, "meetings-text", "val"))
}

func meetingsIn(t testing.TB, folder string) []meeting {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(folder, "*.json"))
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

// meetingQuotes streams the turns of meetings, one reel each.
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
