package listen

import "rushlight/pkg/story"

// Relabel tells turns again with a transcript's own speaker labels.
func Relabel(h story.Heard, labels []story.Turn) []story.Turn {
	return labels
}
