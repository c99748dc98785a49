package desk

import (
	"context"
	"os"
	"time"

	"rushlight/pkg/sound"
	"rushlight/pkg/story"
)

// sameSound refuses a recording whose file holds other sound by now than what
// was heard: its quotes would be cut out of something else. A file with the
// size and date that it had is not read.
func sameSound(ctx context.Context, rec story.Recording) error {
	info, err := os.Stat(rec.Path)
	if err != nil || untouched(info, rec.Bytes, rec.Modified) {
		return err
	}
	hash, _, err := sound.EssenceMedia(ctx, rec.Path)
	if err != nil {
		return err
	}
	if hash != rec.Essence {
		return refuse("put the recording back that was heard, or take this one in with 'rushlight ingest'",
			"%s: %s holds another recording by now", rec.Reel, rec.Path)
	}
	return nil
}

// untouched tells whether a file has the size and date that it had.
func untouched(info os.FileInfo, bytes int64, modified time.Time) bool {
	return info.Size() == bytes && info.ModTime().Equal(modified)
}
