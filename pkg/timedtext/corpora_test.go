package timedtext

import (
	"os"
	"path/filepath"
	"testing"
)

// corpora finds the outside test data, or skips.
func corpora(t testing.TB, parts ...string) string {
	t.Helper()
	dir := os.Getenv("RUSHLIGHT_CORPORA")
	if dir == "" {
		root, err := os.Getwd()
		if err != nil {
			t.Fatal(err)
		}
		for {
			if _, err := os.Stat(filepath.Join(root, "go.mod")); err == nil {
				break
			}
			up := filepath.Dir(root)
			if up == root {
				t.Fatal("no go.mod above the test")
			}
			root = up
		}
		dir = filepath.Join(root, "..", "shared", "corpora")
	}
	path := filepath.Join(append([]string{dir}, parts...)...)
	if _, err := os.Stat(path); err != nil {
		t.Skipf("%s not found: set RUSHLIGHT_CORPORA", filepath.Join(parts...))
	}
	return path
}

// readFile reads a file by the options that its name suggests.
func readFile(t testing.TB, path string, opt ReadOptions) (*Document, error) {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	if opt.Name == "" {
		opt.Name = filepath.Base(path)
	}
	return Read(f, opt)
}

func glob(t testing.TB, dir, pattern string) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, pattern))
	if err != nil || len(files) == 0 {
		t.Fatalf("no %s in %s: %v", pattern, dir, err)
	}
	return files
}
