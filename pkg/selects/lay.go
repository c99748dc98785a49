package selects

import (
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// LayOptions says how selects become a cut.
type LayOptions struct {
	Base    timecode.Base
	Start   timecode.Ticks
	Handles timecode.Ticks
	Gap     timecode.Ticks
}

// Lay lays selects end to end.
func Lay(s story.Selects, recs map[string]story.Recording, opt LayOptions) (story.Cut, []string, error) {
	return story.Cut{}, nil, errNotBuilt
}
