package interchange

import (
	"os"
	"path/filepath"
	"testing"

	"rushlight/pkg/story"
)

// testdata/reference/written.otio is a document of this package, with every
// schema that it writes. rewritten.otio is what the reference library made of
// it: read and written again by its C++ core, version 0.19 at commit bc5fe2d7,
// built from source, without an error. Both read as the same cut, so nothing
// was lost or taken amiss on the way. Both files are frozen; new ones need the
// library.
func TestReferenceLibraryRewrite(t *testing.T) {
	read := func(name string) story.Cut {
		f, err := os.Open(filepath.Join("testdata", "reference", name))
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		c, notes, err := ReadOTIO(f, name)
		if err != nil || len(notes) > 0 {
			t.Fatalf("%v, notes %q", err, notes)
		}
		return c
	}
	want, got := read("written.otio"), read("rewritten.otio")
	if len(want.Events) != 4 {
		t.Fatalf("got %d events, want 4", len(want.Events))
	}
	sameCut(t, got, want)
}
