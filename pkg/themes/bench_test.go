package themes

import (
	"context"
	"fmt"
	"math/rand"
	"strings"
	"testing"

	"rushlight/pkg/story"
)

// BenchmarkRecurring goes over 10,000, 100,000 quotes of 20 words, drawn from
// 20,000 words by Zipf's law.
func BenchmarkRecurring(b *testing.B) {
	for _, n := range []int{10_000, 100_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			quotes := zipfQuotes(n)
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Recurring(context.Background(), quotes, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func zipfQuotes(n int) func(func(story.Quote, error) bool) {
	r := rand.New(rand.NewSource(1))
	z := rand.NewZipf(r, 1.1, 5, 20_000)
	syllables := strings.Fields("ba co di fe gu la mo ni pe ru sa to vi we zo")
	word := func(k uint64) string {
		s := ""
		for k += 15; k > 0; k /= 15 {
			s += syllables[k%15]
		}
		return s
	}
	texts := make([]string, n)
	for i := range texts {
		var t strings.Builder
		for range 20 {
			t.WriteString(word(z.Uint64()))
			t.WriteByte(' ')
		}
		texts[i] = t.String()
	}
	return func(yield func(story.Quote, error) bool) {
		for i, text := range texts {
			if !yield(story.Quote{
				Code: "x", Reel: fmt.Sprint("R", i/1000), Speaker: fmt.Sprint("S", i%3),
				Text: text, Language: "en", Order: i % 1000,
			}, nil) {
				return
			}
		}
	}
}
