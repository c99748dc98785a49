package index

import (
	"context"
	"errors"

	"rushlight/pkg/story"
)

// LikeOptions are what to look for with Like.
type LikeOptions struct {
	// Limit is how many hits are wanted: 0 means 20, less than 0 all.
	Limit int
	// SameReel keeps to the reel of the quote itself.
	SameReel bool
}

var errNotYet = errors.New("not built yet")

// Like finds quotes that say something similar to this one, best first; the
// quote itself is not among them.
func (i *Index) Like(ctx context.Context, code story.Code, opt LikeOptions) ([]Hit, error) {
	return nil, errNotYet
}

// Takes finds the other tellings of one story: quotes with the same or nearly
// the same words, in any reel, most alike first. Score is the shared part, 0
// to 1.
func (i *Index) Takes(ctx context.Context, code story.Code) ([]Hit, error) {
	return nil, errNotYet
}

// FirstSaid is the first hit of one speaker.
type FirstSaid struct {
	// Speaker is "" where nobody knows who speaks.
	Speaker   string
	Code      story.Code
	Day, Reel string
	// Hits is how many hits the speaker has.
	Hits int
	// Marks are what to highlight.
	Marks []Mark
}

// First tells who said first what a query asks for: the first hit of each
// speaker, in the order of shooting: by day, reel and place in the reel.
func (i *Index) First(ctx context.Context, q Query) ([]FirstSaid, error) {
	return nil, errNotYet
}
