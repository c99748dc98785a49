package listen

import (
	"context"
	"errors"

	"rushlight/pkg/story"
)

// Hear listens to src to its end.
func Hear(ctx context.Context, src Source, opt Options) (story.Heard, error) {
	return story.Heard{}, errors.New("listening is not built yet")
}
