package themes

import (
	"context"
	"fmt"
	"iter"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// MapOptions say what counts as the same stretch of talk.
type MapOptions struct {
	// Quotes is how many quotes of a reel apart two sayings may be: 0 means
	// 3, less than 0 only the same quote.
	Quotes int
	// Within is how far apart in time they may be: 0 means 60 s.
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
	// Untagged counts quotes that carry no theme.
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
	A string `json:"a"`
	B string `json:"b"`
	// Stretches is how many quotes of the rarer theme have the other near.
	Stretches int `json:"stretches"`
	// Same is how many quotes carry both.
	Same  int      `json:"same"`
	Reels []string `json:"reels"`
	// G2 tells how surely they meet more than by chance, less than 0 if they
	// avoid each other; LogRatio by how many doublings.
	G2       float64 `json:"g2"`
	LogRatio float64 `json:"log_ratio"`
	// At is where they meet first.
	At story.Code `json:"at"`
}

// Map lays out where the named themes of quotes meet and how they travel.
// Quotes may come in any order; the mark "strong" is no theme. Without
// themes the map is empty.
func Map(ctx context.Context, quotes iter.Seq2[story.Quote, error], opt MapOptions) (ThemeMap, error) {
	return ThemeMap{}, fmt.Errorf("map themes: not built yet")
}
