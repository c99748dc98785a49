package themes

import (
	"cmp"
	"context"
	"iter"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// MapOptions say what counts as the same stretch of talk.
type MapOptions struct {
	// Quotes is how many quotes of a reel apart two may be: 0 means 3, less
	// than 0 that only time counts.
	Quotes int
	// Within is how far apart in time they may be: 0 means 60 s, less than 0
	// that only the number of quotes counts.
	Within timecode.Ticks
}

// ThemeMap is how named themes meet and travel.
type ThemeMap struct {
	// Reels is the order of the columns: the order of shooting.
	Reels []string `json:"reels"`
	// Themes is the order of the rows: most quotes first, then by name.
	Themes []MappedTheme `json:"themes"`
	// Meet are the pairs that meet, surest first.
	Meet []Meeting `json:"meet"`
	// OneVoice names the themes that one speaker alone carries, NoStrong
	// those without a strong quote.
	OneVoice []string `json:"one_voice"`
	NoStrong []string `json:"no_strong"`
	// Quotes counts all, Untagged those that carry no theme.
	Quotes   int `json:"quotes"`
	Untagged int `json:"untagged"`
}

// MappedTheme is a row of the map.
type MappedTheme struct {
	story.Theme
	// PerReel has an entry for every reel of ThemeMap.Reels.
	PerReel []Cell `json:"per_reel"`
	// Strong is how many of its quotes are worth using: marked strong or
	// rated 4 or 5.
	Strong int        `json:"strong"`
	First  story.Code `json:"first"`
	Last   story.Code `json:"last"`
}

// Cell is a theme in a reel.
type Cell struct {
	Reel    string         `json:"reel"`
	Quotes  int            `json:"quotes"`
	Ticks   timecode.Ticks `json:"-"`
	Seconds float64        `json:"seconds"`
}

// Meeting is two themes in the same stretches of talk.
type Meeting struct {
	// A is the rarer theme.
	A string `json:"a"`
	B string `json:"b"`
	// Stretches is how many quotes of A have B near, or carry it themselves.
	Stretches int `json:"stretches"`
	// Same is how many quotes carry both.
	Same  int      `json:"same"`
	Reels []string `json:"reels"`
	// G2 tells how surely they meet more than by chance, less than 0 if they
	// meet less; LogRatio by how many doublings.
	G2       float64 `json:"g2"`
	LogRatio float64 `json:"log_ratio"`
	// At is where they meet first.
	At story.Code `json:"at"`
}

// Map lays out where the named themes of quotes meet and how they travel.
//
// Two quotes are in the same stretch of talk if they are of one reel and at
// most so many quotes or so much time apart as the options say, from the out
// of one to the in of the other; time counts only where both have times.
// Quotes may come in any order, also those without themes: they tell what is
// chance. The mark "strong" is no theme; names that differ in case alone are
// one theme. Without themes the map is empty. Errors are those of the stream
// and of the context.
func Map(ctx context.Context, quotes iter.Seq2[story.Quote, error], opt MapOptions) (ThemeMap, error) {
	m, err := readTagged(ctx, quotes)
	if err != nil {
		return ThemeMap{}, err
	}
	out := ThemeMap{
		Reels: m.reelNames(), Themes: []MappedTheme{}, Meet: []Meeting{}, OneVoice: []string{}, NoStrong: []string{},
		Quotes: len(m.quotes),
	}
	carried := m.carried()
	for _, q := range m.quotes {
		if len(q.themes) == 0 {
			out.Untagged++
		}
	}
	order := m.biggestFirst(carried)
	for _, th := range order {
		row := m.row(th, carried[th])
		out.Themes = append(out.Themes, row)
		if len(row.Speakers) == 1 && !m.unnamed(carried[th]) {
			out.OneVoice = append(out.OneVoice, row.Name)
		}
		if row.Strong == 0 {
			out.NoStrong = append(out.NoStrong, row.Name)
		}
	}
	for i, b := range order {
		near := m.near(carried[b], opt)
		for _, a := range order[i+1:] {
			if meet, ok := m.meet(a, carried[a], b, near); ok {
				out.Meet = append(out.Meet, meet)
			}
		}
	}
	slices.SortStableFunc(out.Meet, func(a, b Meeting) int {
		return cmp.Or(cmp.Compare(b.G2, a.G2), cmp.Compare(b.Stretches, a.Stretches))
	})
	return out, ctx.Err()
}
