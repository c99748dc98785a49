package index

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// TestPublishedVocabularies holds the stems of 14 languages against the
// vocabularies that the authors of Snowball publish with the stem of each word:
// snowballstem/snowball-data @ 1d45f469 (June 2018, the rules that bleve's
// stemmers are made of), voc.txt and output.txt. Left out are stop words, which
// have no stem here, and words cut before they are stemmed: irregular English
// forms, and those with an apostrophe. most is how many of the others may be
// another: French rules know more of ï and ë since then, Finnish ones had a bug
// with figures.
func TestPublishedVocabularies(t *testing.T) {
	root := os.Getenv("RUSHLIGHT_CORPORA")
	if root == "" {
		root = "../../shared/corpora"
	}
	for _, c := range []struct {
		language, name string
		most           int
	}{
		{"da", "danish", 0},
		{"de", "german", 0},
		{"en", "english", 0},
		{"es", "spanish", 0},
		{"fi", "finnish", 8},
		{"fr", "french", 79},
		{"hu", "hungarian", 0},
		{"it", "italian", 0},
		{"nl", "dutch", 0},
		{"no", "norwegian", 0},
		{"ro", "romanian", 0},
		{"ru", "russian", 0},
		{"sv", "swedish", 0},
		{"tr", "turkish", 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := filepath.Join(root, "snowball", c.name)
			if _, err := os.Stat(dir); err != nil {
				t.Skipf("outside data snowball/%s not found: set RUSHLIGHT_CORPORA", c.name)
			}
			words, stems := linesOf(t, filepath.Join(dir, "voc.txt")), linesOf(t, filepath.Join(dir, "output.txt"))
			if len(words) != len(stems) || len(words) < 20_000 {
				t.Fatalf("%d words, %d stems", len(words), len(stems))
			}
			var s stemmers
			m, err := s.of(c.language)
			if err != nil {
				t.Fatal(err)
			}
			held, others := 0, 0
			for i, w := range words {
				got := m.stem(w)
				if got == "" || strings.ContainsAny(w, "'’") || c.language == "en" && irregularEnglish(w) != "" {
					continue
				}
				held++
				if want := Fold(stems[i]); got != want {
					if others++; others <= 3 {
						t.Logf("%q: got %q, published %q", w, got, want)
					}
				}
			}
			t.Logf("FIGURE | Search | stems of %s beside the published vocabulary | %d of %d alike | all but %d", c.name, held-others, held, c.most)
			if others > c.most {
				t.Errorf("%d stems are not the published ones, want at most %d", others, c.most)
			}
		})
	}
}

func linesOf(t *testing.T, path string) []string {
	t.Helper()
	b, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return strings.Split(strings.TrimRight(string(b), "\n"), "\n")
}
