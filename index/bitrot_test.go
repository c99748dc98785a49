package index

import (
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"rushlight/pkg/story"
)

// Whatever is wrong in the columns of an index, a search ends with an answer or
// an error, never with a fault that ends the program: bits of the file are
// turned over at random.
func TestBitRot(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "index")
	quotes := farBank(t)
	if err := Build(t.Context(), dir, "bank", 1, all(quotes), nil); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(dir, "g-*", "columns"))
	if err != nil || len(files) != 1 {
		t.Fatalf("got %v, %v, want one columns file", files, err)
	}
	whole, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	r := rand.New(rand.NewPCG(1, 2))
	refused := 0
	for range 300 {
		rotten := append([]byte(nil), whole...)
		for range 1 + r.IntN(3) {
			rotten[60+r.IntN(len(rotten)-60)] ^= 1 << r.IntN(8)
		}
		if err := os.WriteFile(files[0], rotten, 0o600); err != nil {
			t.Fatal(err)
		}
		if searchAll(t, dir, quotes[0].Code) != nil {
			refused++
		}
	}
	if refused == 0 {
		t.Error("no damage was noticed in 300 files")
	}
	t.Logf("%d of 300 refused, the others answered", refused)
}

// searchAll asks an index in all ways.
func searchAll(t *testing.T, dir string, code story.Code) error {
	ctx := context.Background()
	i, err := Open(dir)
	if err != nil {
		return err
	}
	defer i.Close()
	for _, q := range []Query{
		{Text: "bell", Counts: true},
		{Text: "bell OR ferry OR winch", Counts: true},
		{Text: "bell ferry", Loose: true, Counts: true, Fold: true},
		{Text: "speaker:ines", Limit: -1},
		{Text: "theme:bell rating:>=2", Wide: true},
	} {
		if _, e := i.Search(ctx, q); e != nil {
			err = e
		}
	}
	if _, e := i.First(ctx, Query{Text: "bell"}, nil); e != nil {
		err = e
	}
	if _, e := i.All(ctx, "bell OR ferry"); e != nil {
		err = e
	}
	if _, e := i.Like(ctx, code, LikeOptions{}); e != nil {
		err = e
	}
	if _, e := i.Takes(ctx, code); e != nil {
		err = e
	}
	return err
}
