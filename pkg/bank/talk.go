package bank

import (
	"context"
	"fmt"

	"rushlight/pkg/timecode"
)

// Talk is what one speaker says in one reel.
type Talk struct {
	Reel, Speaker string
	Quotes        int
	// Length is that of all quotes together, from in to out.
	Length timecode.Ticks
}

// Talk counts the quotes by reel and speaker, in the order of Recordings, in
// each reel by who speaks first. Speakers are told apart as they are spelt.
func (b *Bank) Talk(ctx context.Context) ([]Talk, error) {
	var list []Talk
	err := view{b.db}.each(ctx, `SELECT r.reel, c.speaker, c.n, c.length
		FROM (SELECT reel, speaker, count(*) AS n, sum(tout - tin) AS length, min(ord) AS first FROM quote GROUP BY reel, speaker) AS c
		JOIN recording AS r ON r.key = c.reel ORDER BY r.day, r.start, r.key, c.first`, nil, func(scan func(...any) error) error {
		var t Talk
		err := scan(&t.Reel, &t.Speaker, &t.Quotes, &t.Length)
		list = append(list, t)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("count quotes: %w", err)
	}
	return list, nil
}

// QuotesIn counts the quotes of each reel that has any, by reel.
func (b *Bank) QuotesIn(ctx context.Context) (map[string]int, error) {
	counts := map[string]int{}
	err := view{b.db}.each(ctx, `SELECT r.reel, c.n FROM (SELECT reel, count(*) AS n FROM quote GROUP BY reel) AS c
		JOIN recording AS r ON r.key = c.reel`, nil, func(scan func(...any) error) error {
		var reel string
		var n int
		err := scan(&reel, &n)
		counts[reel] = n
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("count quotes: %w", err)
	}
	return counts, nil
}
