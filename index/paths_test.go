package index

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"rushlight/pkg/story"
)

// TestFolderNames builds and updates an index in folders whose names would be
// patterns to a shell, and looks for what a killed writer left there.
func TestFolderNames(t *testing.T) {
	ctx := context.Background()
	for _, name := range []string{"The Far Bank [2026]", "far [bank", "far*bank?", "far bank #1 100%", "naïve 鐘"} {
		dir := filepath.Join(t.TempDir(), name, "index")
		left := filepath.Join(dir, workPrefix+"1")
		if err := os.MkdirAll(left, 0o777); err != nil {
			t.Fatal(err)
		}
		quotes := farBank(t)
		if err := Build(ctx, dir, "bank", 1, all(quotes), nil); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if _, err := os.Stat(left); err == nil {
			t.Errorf("%s: what a killed writer left is still there", name)
		}
		if err := Update(ctx, dir, "bank", 2, []story.Quote{{Code: "AAAAAA", Reel: "R", Text: "lantern"}}, nil); err != nil {
			t.Errorf("%s: update: %v", name, err)
		}
		if got, err := opened(t, dir).All(ctx, "lantern OR bell"); err != nil || len(got) != 4 {
			t.Errorf("%s: got %v, %v, want four quotes", name, got, err)
		}
	}
}
