package quotes

import (
	"os"
	"path/filepath"
	"testing"
)

// corpora gives a file or folder of outside data, or skips.
func corpora(t testing.TB, name string) string {
	t.Helper()
	root := os.Getenv("RUSHLIGHT_CORPORA")
	if root == "" {
		dir, err := os.Getwd()
		if err != nil {
			t.Fatal(err)
		}
		for {
			if _, err := os.Stat(filepath.Join(dir, "go.mod")); err == nil {
				break
			}
			if dir == filepath.Dir(dir) {
				t.Fatal("no go.mod above the test")
			}
			dir = filepath.Dir(dir)
		}
		root = filepath.Join(dir, "..", "shared", "corpora")
	}
	path := filepath.Join(root, name)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("%s not found: set RUSHLIGHT_CORPORA", name)
	}
	return path
}
