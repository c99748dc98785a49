package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// rooms is the table of who may import whom; DEVELOPERS.md shows the same.
func rooms() map[string][]string {
	all := []string{
		"pkg/timecode", "pkg/story", "pkg/sound", "pkg/listen", "pkg/timedtext", "pkg/quotes", "pkg/bank",
		"index", "pkg/themes", "pkg/review", "pkg/selects", "pkg/interchange", "pkg/subtitles",
	}
	return map[string][]string{
		"pkg/timecode":    {},
		"pkg/story":       {"pkg/timecode"},
		"pkg/sound":       {"pkg/timecode"},
		"pkg/listen":      {"pkg/sound", "pkg/story", "pkg/timecode"},
		"pkg/timedtext":   {"pkg/timecode"},
		"pkg/quotes":      {"pkg/timedtext", "pkg/story", "pkg/timecode"},
		"pkg/bank":        {"pkg/story", "pkg/timecode"},
		"index":           {"pkg/story", "pkg/timecode"},
		"pkg/themes":      {"pkg/story", "pkg/timecode"},
		"pkg/review":      {"pkg/story", "pkg/timecode"},
		"pkg/selects":     {"pkg/story", "pkg/timecode"},
		"pkg/interchange": {"pkg/story", "pkg/timecode"},
		"pkg/subtitles":   {"pkg/timedtext", "pkg/story", "pkg/timecode"},
		"pkg/desk":        all,
		"cmd/rushlight":   {"pkg/desk", "pkg/story", "pkg/timecode"},
	}
}

// only says which room alone may use a library.
func only() map[string]string {
	return map[string]string{
		"modernc.org/sqlite":                        "pkg/bank",
		"database/sql":                              "pkg/bank",
		"github.com/blevesearch/bleve":              "index",
		"github.com/blevesearch/bleve_index_api":    "index",
		"github.com/blevesearch/zapx":               "index",
		"github.com/blevesearch/vellum":             "index",
		"github.com/blevesearch/scorch_segment_api": "index",
		"github.com/RoaringBitmap":                  "index",
		"github.com/asticode/go-astisub":            "pkg/timedtext",
		"github.com/go-audio":                       "pkg/sound",
		"github.com/spf13/cobra":                    "cmd/rushlight",
	}
}

// TestImports holds the architecture: every room imports only what its row
// of the table allows. Tests may import more.
func TestImports(t *testing.T) {
	root := filepath.Join("..", "..")
	table := rooms()
	seen := map[string]bool{}
	err := filepath.WalkDir(root, func(file string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() && strings.HasPrefix(e.Name(), ".") && e.Name() != ".." {
			return filepath.SkipDir
		}
		if e.IsDir() || !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, filepath.Dir(file))
		if err != nil {
			return err
		}
		room := filepath.ToSlash(rel)
		if strings.HasPrefix(room, "samples") {
			return nil
		}
		may, known := table[room]
		if !known {
			t.Errorf("%s: the room %s is not in the table", file, room)
			return nil
		}
		seen[room] = true
		f, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, i := range f.Imports {
			p, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			if own, ok := strings.CutPrefix(p, "rushlight/"); ok && !slices.Contains(may, own) {
				t.Errorf("%s: %s may not import %s", file, room, own)
			}
			for lib, owner := range only() {
				if (p == lib || strings.HasPrefix(p, lib+"/")) && room != owner {
					t.Errorf("%s: only %s may import %s", file, owner, path.Base(lib))
				}
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for room := range table {
		if !seen[room] {
			t.Errorf("no code in %s", room)
		}
	}
}
