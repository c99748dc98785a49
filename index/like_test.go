package index

import (
	"context"
	"math/rand/v2"
	"slices"
	"testing"

	"rushlight/pkg/story"
)

// TestMeetingsLike asks for what is like a turn of a named topic: relevant is
// every other turn of its topic in the meeting that is farther than 15 turns
// away, so that mere neighbours earn nothing.
func TestMeetingsLike(t *testing.T) {
	const far = 15
	quotes, i := meetings(t)
	at := map[string]map[int]story.Quote{}
	turn := map[story.Code]int{}
	for _, q := range quotes {
		if at[q.Reel] == nil {
			at[q.Reel] = map[int]story.Quote{}
		}
		at[q.Reel][q.Order] = q
		turn[q.Code] = q.Order
	}
	r := rand.New(rand.NewPCG(5, 8))
	type asked struct {
		code  story.Code
		topic meetingTopic
	}
	var all []asked
	for _, m := range meetingTopics(t, false) {
		var long []int
		for k := range m.turns {
			if _, s, err := i.document(at[m.reel][k].Code); err != nil {
				t.Fatal(err)
			} else if len(s) >= 5 && len(s) <= 40 {
				long = append(long, k)
			}
		}
		slices.Sort(long)
		r.Shuffle(len(long), func(a, b int) { long[a], long[b] = long[b], long[a] })
		for _, k := range long[:min(1, len(long))] {
			rel := map[int]bool{}
			for other := range m.turns {
				if other < k-far || other > k+far {
					rel[other] = true
				}
			}
			if len(rel) < 5 {
				continue
			}
			topic := m
			topic.turns = rel
			all = append(all, asked{at[m.reel][k].Code, topic})
		}
	}
	plain := func(code story.Code) []story.Code {
		doc, _, err := i.document(code)
		if err != nil {
			t.Fatal(err)
		}
		e := i.evaluator(context.Background())
		terms, err := e.telling(doc, 0)
		if err != nil {
			t.Fatal(err)
		}
		var own hits
		for _, term := range terms {
			h, err := e.terms(term.leaf, nil)
			if err != nil {
				t.Fatal(err)
			}
			own = either(own, h)
		}
		var out []story.Code
		for _, h := range i.best(own, 0, len(own.docs)) {
			out = append(out, i.cols.code(h.doc))
		}
		return out
	}
	reel := map[story.Code]string{}
	for _, q := range quotes {
		reel[q.Code] = q.Reel
	}
	run := func(find func(story.Code) []story.Code) (*figures, [2]float64) {
		f := &figures{}
		var tens [2]float64
		for _, a := range all {
			var ranked []int
			k := turn[a.code]
			for _, c := range find(a.code) {
				if reel[c] == a.topic.reel && (turn[c] < k-far || turn[c] > k+far) {
					ranked = append(ranked, turn[c])
				}
			}
			f.add(a.topic, ranked)
			h := 1
			if a.topic.tune {
				h = 0
			}
			for _, n := range ranked[:min(10, len(ranked))] {
				if a.topic.turns[n] {
					tens[h] += 0.1
				}
			}
		}
		return f, [2]float64{tens[0] / f.n[0], tens[1] / f.n[1]}
	}
	report := func(name string, f *figures, tens [2]float64) {
		t.Logf("%-22s tuned on: MAP %.3f, first ten %.3f (n %g); other half: MAP %.3f, first ten %.3f (n %g)",
			name, f.MAP(0), tens[0], f.n[0], f.MAP(1), tens[1], f.n[1])
	}
	base, baseTens := run(func(c story.Code) []story.Code { return plain(c) })
	report("its words, BM25", base, baseTens)
	f, tens := run(func(c story.Code) []story.Code {
		found, _, err := i.evaluator(context.Background()).like(c, true)
		if err != nil {
			t.Fatal(err)
		}
		var out []story.Code
		for _, h := range i.best(found, 0, len(found.docs)) { // without marks: all hits
			out = append(out, i.cols.code(h.doc))
		}
		return out
	})
	report("Like", f, tens)
	if f.MAP(1) < base.MAP(1) || tens[1] < baseTens[1] {
		t.Errorf("Like is no better than plain BM25 on the other half")
	}
}
