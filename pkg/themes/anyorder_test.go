package themes

import (
	"context"
	"encoding/json"
	"fmt"
	"iter"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// madeTalk is talk of few words, so that many terms are equal in all that
// orders them, in so many reels of so many quotes.
func madeTalk(r *rand.Rand, reels, quotes int) []story.Quote {
	words := strings.Fields("bell ring ferry bank far rope winch tide nobody bridge river season hands cable boat ropes bells rings the of and a on is it")
	var out []story.Quote
	for reel := range reels {
		for k := range quotes {
			var said []string
			for range 4 + r.IntN(10) {
				said = append(said, words[r.IntN(len(words))])
			}
			out = append(out, story.Quote{
				Code: story.Code(fmt.Sprintf("%d-%d", reel, k)), Reel: fmt.Sprint("R", reel), Day: fmt.Sprint("D", reel/2), Order: k,
				Speaker: []string{"Ines", "Joss", "Wilf", ""}[r.IntN(4)], Text: strings.Join(said, " ") + []string{".", "?"}[r.IntN(2)],
				Language: []string{"en", "de"}[r.IntN(2)],
			})
		}
	}
	return out
}

func inOrder(quotes []story.Quote) iter.Seq2[story.Quote, error] {
	return func(yield func(story.Quote, error) bool) {
		for _, q := range quotes {
			if !yield(q, nil) {
				return
			}
		}
	}
}

// Quotes may come in any order: the answer is the same to the last digit.
func TestAnyOrder(t *testing.T) {
	for seed := range uint64(40) {
		r := rand.New(rand.NewPCG(seed, 3))
		quotes := madeTalk(r, 1+r.IntN(4), 6+r.IntN(20))
		for _, by := range []string{BySpeaker, ByReel} {
			var said []string
			for range 2 {
				found, err := Find(context.Background(), inOrder(slices.Clone(quotes)), Options{Limit: -1, By: by})
				if err != nil {
					t.Fatal(err)
				}
				b, err := json.MarshalIndent(found, "", " ")
				if err != nil {
					t.Fatal(err)
				}
				said = append(said, string(b))
				r.Shuffle(len(quotes), func(i, j int) { quotes[i], quotes[j] = quotes[j], quotes[i] })
			}
			if said[0] != said[1] {
				a, b := strings.Split(said[0], "\n"), strings.Split(said[1], "\n")
				k := 0
				for k < min(len(a), len(b)) && a[k] == b[k] {
					k++
				}
				t.Fatalf("seed %d, by %s, line %d: %s, in another order %s", seed, by, k, a[min(k, len(a)-1)], b[min(k, len(b)-1)])
			}
		}
	}
}
