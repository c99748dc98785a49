package subtitles

import (
	"os"
	"testing"
)

// The golden drafts were read by eye before they were kept: where a line or
// cue breaks, and what is said of each that breaks a limit.
func TestGoldenDrafts(t *testing.T) {
	for _, language := range []string{"en", "de", "fr", "ja", "ar"} {
		t.Run(language, func(t *testing.T) {
			doc, found := mustDraft(t, readTalk(t, "testdata/talk."+language+".txt"), DefaultLimits(language))
			got := show(doc, found)
			path := "testdata/talk." + language + ".golden"
			if *update {
				if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			want, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("%s differs:\n got:\n%s\nwant:\n%s", path, got, want)
			}
		})
	}
}
