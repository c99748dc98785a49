package bank

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Themes lists the themes with what carries them, most quotes first, equal
// ones by name; also those that no quote carries, and without the mark
// story.Strong. Reels and speakers are in alphabetical order; quotes without
// a speaker count for none.
func (b *Bank) Themes(ctx context.Context) ([]story.Theme, error) {
	rows, err := b.db.QueryContext(ctx, `SELECT t.name, coalesce(a.statement, ''), coalesce(a.rule, ''), coalesce(p.name, ''),
			coalesce(s.n, 0), r.reel, c.speaker, c.n, c.length
		FROM theme AS t
		LEFT JOIN about AS a ON a.theme = t.key
		LEFT JOIN nest AS u ON u.theme = t.key
		LEFT JOIN theme AS p ON p.key = u.parent
		LEFT JOIN (SELECT g.theme, count(*) AS n FROM tag AS m JOIN tag AS g ON g.code = m.code
			WHERE m.theme = ?1 GROUP BY g.theme) AS s ON s.theme = t.key
		LEFT JOIN (SELECT g.theme, q.reel, q.speaker, count(*) AS n, sum(q.tout - q.tin) AS length
			FROM tag AS g JOIN quote AS q ON q.code = g.code
			WHERE g.theme <> ?1 GROUP BY g.theme, q.reel, q.speaker) AS c ON c.theme = t.key
		LEFT JOIN recording AS r ON r.key = c.reel
		WHERE t.key <> ?1 ORDER BY t.key`, story.Strong)
	if err != nil {
		return nil, fmt.Errorf("read themes: %w", fault(err))
	}
	defer func() { _ = rows.Close() }()
	var list []story.Theme
	for rows.Next() {
		th := story.Theme{Reels: []string{}, Speakers: []string{}}
		var reel, speaker *string
		var n *int
		var length *timecode.Ticks
		err := rows.Scan(&th.Name, &th.Statement, &th.Rule, &th.Parent, &th.Strong, &reel, &speaker, &n, &length)
		if err != nil {
			return nil, fmt.Errorf("read themes: %w", fault(err))
		}
		if len(list) == 0 || list[len(list)-1].Name != th.Name {
			list = append(list, th)
		}
		if t := &list[len(list)-1]; n != nil {
			t.Quotes += *n
			t.Ticks += *length
			t.Reels = append(t.Reels, *reel)
			if *speaker != "" {
				t.Speakers = append(t.Speakers, *speaker)
			}
		}
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read themes: %w", fault(err))
	}
	for i := range list {
		t := &list[i]
		t.Seconds = t.Ticks.Seconds()
		t.Reels = distinct(t.Reels)
		t.Speakers = distinct(t.Speakers)
	}
	slices.SortStableFunc(list, func(a, b story.Theme) int {
		return cmp.Or(cmp.Compare(b.Quotes, a.Quotes), strings.Compare(fold(a.Name), fold(b.Name)))
	})
	return list, nil
}

func distinct(names []string) []string {
	slices.SortFunc(names, func(a, b string) int {
		return cmp.Or(strings.Compare(fold(a), fold(b)), strings.Compare(a, b))
	})
	return slices.Compact(names)
}

// Summary is the bank at a glance.
type Summary struct {
	Film
	Recordings, Heard, Quotes int
	// Tagged counts quotes with a theme, Strong those marked strong, Rated
	// those with a rating.
	Tagged, Strong, Rated int
	// Themes counts the themes known, Selects the lists.
	Themes, Selects int
	// Sound is the length of all recordings, Speech that of the speech heard
	// in them.
	Sound, Speech timecode.Ticks
	// State is the number of the last journal entry.
	State int64
}

// Summary counts what is in the bank.
func (b *Bank) Summary(ctx context.Context) (Summary, error) {
	var s Summary
	err := b.read(ctx, func(v view) (err error) {
		if s.Film, err = v.film(ctx); err != nil {
			return err
		}
		return v.q.QueryRowContext(ctx, `SELECT
			(SELECT count(*) FROM recording), (SELECT coalesce(sum(duration), 0) FROM recording),
			(SELECT count(*) FROM heard), (SELECT coalesce(sum(speech), 0) FROM heard),
			(SELECT count(*) FROM quote),
			(SELECT count(DISTINCT code) FROM tag WHERE theme <> ?1),
			(SELECT count(*) FROM tag WHERE theme = ?1),
			(SELECT count(*) FROM mark WHERE rating > 0),
			(SELECT count(*) FROM theme WHERE key <> ?1),
			(SELECT count(*) FROM selects),
			(SELECT coalesce(max(entry), 0) FROM journal)`, story.Strong).
			Scan(&s.Recordings, &s.Sound, &s.Heard, &s.Speech, &s.Quotes, &s.Tagged, &s.Strong, &s.Rated,
				&s.Themes, &s.Selects, &s.State)
	})
	if err != nil {
		return Summary{}, fmt.Errorf("read the bank: %w", fault(err))
	}
	return s, nil
}
