package index

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// meetingTopic is one named topic of a meeting with the turns about it.
type meetingTopic struct {
	reel, name string
	turns      map[int]bool
	// tune tells the half on which constants were chosen: every other meeting.
	tune bool
}

// meetingTopics reads the topics of the meetings of meetingQuotes, or their
// specific questions.
func meetingTopics(t testing.TB, questions bool) []meetingTopic {
	t.Helper()
	root := os.Getenv("RUSHLIGHT_CORPORA")
	if root == "" {
		root = "../../shared/corpora"
	}
	files, _ := filepath.Glob(filepath.Join(root, "meetings-text", "val", "*.json"))
	type list []struct {
		Topic string      `json:"topic"`
		Query string      `json:"query"`
		Spans [][2]string `json:"relevant_text_span"`
	}
	var out []meetingTopic
	for n, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		var m struct {
			Topics  list `json:"topic_list"`
			Queries list `json:"specific_query_list"`
		}
		if err := json.Unmarshal(b, &m); err != nil {
			t.Fatal(err)
		}
		topics := m.Topics
		if questions {
			topics = m.Queries
		}
		for _, topic := range topics {
			mt := meetingTopic{
				reel: strings.TrimSuffix(filepath.Base(f), ".json"), name: topic.Topic + topic.Query,
				turns: map[int]bool{}, tune: n%2 == 0,
			}
			for _, s := range topic.Spans {
				from, err := strconv.Atoi(s[0])
				if err != nil {
					t.Fatal(err)
				}
				to, err := strconv.Atoi(s[1])
				if err != nil {
					t.Fatal(err)
				}
				for k := from; k <= to; k++ {
					mt.turns[k] = true
				}
			}
			if len(mt.turns) > 0 {
				out = append(out, mt)
			}
		}
	}
	return out
}

// asked makes a query of free text: its words, parted by what joins them.
func asked(text, with, reel string) string {
	var words []string
	for _, w := range cutWords(text, nil) {
		words = append(words, strings.ToLower(text[w.start:w.end]))
	}
	return "(" + strings.Join(words, with) + ") reel:" + reel
}

// precision gives average precision and the reciprocal rank of the first
// relevant hit (Manning, Raghavan and Schütze 2008, ch. 8, recalled), and the
// share of what is relevant that was found at all.
func precision(ranked []int, relevant map[int]bool) (average, reciprocal, recall float64) {
	found := 0
	for k, turn := range ranked {
		if !relevant[turn] {
			continue
		}
		found++
		average += float64(found) / float64(k+1)
		if reciprocal == 0 {
			reciprocal = 1 / float64(k+1)
		}
	}
	n := float64(len(relevant))
	return average / n, reciprocal, float64(found) / n
}

// figures are means over topics, on the half for tuning and on the other.
type figures struct {
	n                       [2]float64
	average, first, recalls [2]float64
}

func (f *figures) add(m meetingTopic, ranked []int) {
	h := 1
	if m.tune {
		h = 0
	}
	a, r, c := precision(ranked, m.turns)
	f.n[h]++
	f.average[h] += a
	f.first[h] += r
	f.recalls[h] += c
}

func (f *figures) MAP(h int) float64    { return f.average[h] / f.n[h] }
func (f *figures) MRR(h int) float64    { return f.first[h] / f.n[h] }
func (f *figures) recall(h int) float64 { return f.recalls[h] / f.n[h] }

// TestMeetingsRealTopics searches real meetings for their named topics.
// The reference of relevance is QMSum's (people marked the turns).
func TestMeetingsRealTopics(t *testing.T) {
	quotes, i := meetings(t)
	turn := map[story.Code]int{}
	for _, q := range quotes {
		turn[q.Code] = q.Order
	}
	run := func(topics []meetingTopic, with string, q Query) *figures {
		f := &figures{}
		for _, m := range topics {
			q.Text = asked(m.name, with, m.reel)
			if q.Smooth {
				q.Text = strings.NewReplacer("(", "", ")", "").Replace(q.Text)
			}
			a, err := i.answer(context.Background(), q)
			if err != nil {
				t.Fatal(err)
			}
			var ranked []int
			for _, h := range i.best(a.found, 0, len(a.found.docs)) { // without marks: all hits
				ranked = append(ranked, turn[i.cols.code(h.doc)])
			}
			f.add(m, ranked)
		}
		return f
	}
	for _, set := range []struct {
		name      string
		questions bool
	}{{"topics", false}, {"questions", true}} {
		if set.questions && os.Getenv("RUSHLIGHT_SLOW") == "" {
			continue
		}
		topics := meetingTopics(t, set.questions)
		if len(topics) < 100 {
			t.Fatalf("%d %s, want over 100", len(topics), set.name)
		}
		for _, c := range []struct {
			name, with string
			q          Query
		}{
			{"all words, BM25", " ", Query{}},
			{"any word, BM25", " OR ", Query{}},
			{"any word, wide", " OR ", Query{Wide: true}},
			{"smooth", " ", Query{Smooth: true}},
			{"smooth, wide", " ", Query{Smooth: true, Wide: true}},
		} {
			f := run(topics, c.with, c.q)
			t.Logf("%-9s %-16s tuned on: MAP %.3f MRR %.3f recall %.3f (n %g); other half: MAP %.3f MRR %.3f recall %.3f (n %g)", set.name, c.name,
				f.MAP(0), f.MRR(0), f.recall(0), f.n[0], f.MAP(1), f.MRR(1), f.recall(1), f.n[1])
			t.Logf("FIGURE | Search | %s of real meetings, %s, half held out | MAP %.3f, MRR %.3f, recall %.3f (%g) | MAP .38, MRR .55 for smooth", set.name, c.name, f.MAP(1), f.MRR(1), f.recall(1), f.n[1])
			if c.name == "smooth" && !set.questions && (f.MAP(1) < 0.38 || f.MRR(1) < 0.55) {
				t.Errorf("smooth on the other half: got MAP %.3f, MRR %.3f; want 0.38, 0.55", f.MAP(1), f.MRR(1))
			}
		}
	}
}
