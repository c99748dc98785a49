package index

import (
	"context"
	"errors"
	"fmt"
	"iter"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"pgregory.net/rapid"
	"rushlight/pkg/story"
)

func TestNoIndexYet(t *testing.T) {
	for name, dir := range map[string]string{
		"no folder":     filepath.Join(t.TempDir(), "none"),
		"empty folder":  t.TempDir(),
		"other version": t.TempDir(),
	} {
		if name == "other version" {
			gen := filepath.Join(dir, "g-00000001")
			if err := os.Mkdir(gen, 0o755); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(gen, seenName), []byte(`{"format":999,"bank":"b","state":1}`), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := Open(dir); !errors.Is(err, ErrNone) {
			t.Errorf("%s: Open: got %v, want ErrNone", name, err)
		}
		if _, _, err := Seen(dir); !errors.Is(err, ErrNone) {
			t.Errorf("%s: Seen: got %v, want ErrNone", name, err)
		}
		if err := Update(context.Background(), dir, "b", 1, nil, nil); !errors.Is(err, ErrNone) {
			t.Errorf("%s: Update: got %v, want ErrNone", name, err)
		}
	}
}

func TestEmptyBank(t *testing.T) {
	i := built(t, nil)
	for _, query := range []string{"bell", `"to be"`, "-bell", "b*", "bell~", "speaker:ines"} {
		res, err := i.Search(context.Background(), Query{Text: query, Counts: true})
		if err != nil || res.Total != 0 {
			t.Errorf("%s: got %d hits, %v; want none", query, res.Total, err)
		}
	}
}

func TestSeenAndUpdate(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	quotes := farBank(t)
	if err := Build(ctx, dir, "bank", 5, all(quotes), nil); err != nil {
		t.Fatal(err)
	}
	seen := func(want int64) {
		t.Helper()
		if bank, state, err := Seen(dir); bank != "bank" || state != want || err != nil {
			t.Errorf("Seen: got %q, %d, %v; want bank, %d", bank, state, err, want)
		}
	}
	seen(5)
	reader := opened(t, dir)
	changed := quotes[0]
	changed.Text = "The lantern hangs on the post."
	if err := Update(ctx, dir, "bank", 6, []story.Quote{changed}, []story.Code{quotes[1].Code}); err != nil {
		t.Fatal(err)
	}
	seen(6)
	// The open reader stays as it was; a new one sees all of the change.
	if codes, err := reader.All(ctx, "bridge"); err != nil || len(codes) != 3 {
		t.Errorf("old reader: got %v, %v; want three quotes", codes, err)
	}
	fresh := opened(t, dir)
	for query, want := range map[string]int{"bridge": 1, "lantern": 1, "angry": 0} {
		if codes, err := fresh.All(ctx, query); err != nil || len(codes) != want {
			t.Errorf("new reader, %s: got %v, %v; want %d", query, codes, err, want)
		}
	}
	// What another process already did is not done again, nor undone.
	if err := Update(ctx, dir, "bank", 6, nil, []story.Code{quotes[0].Code}); err != nil {
		t.Fatal(err)
	}
	if codes, err := opened(t, dir).All(ctx, "lantern"); err != nil || len(codes) != 1 {
		t.Errorf("after a late update: got %v, %v", codes, err)
	}
	if err := Update(ctx, dir, "another", 9, nil, nil); !errors.Is(err, ErrNone) {
		t.Errorf("another bank: got %v, want ErrNone", err)
	}
}

// TestOldGenerationsGo: one generation is left when nobody reads; one that is
// read stays until its reader is done.
func TestOldGenerationsGo(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	quotes := farBank(t)
	if err := Build(ctx, dir, "bank", 1, all(quotes), nil); err != nil {
		t.Fatal(err)
	}
	i := opened(t, dir)
	count := func(want int) {
		t.Helper()
		gens, err := generations(dir)
		if err != nil || len(gens) != want {
			t.Errorf("generations: got %v, %v; want %d", gens, err, want)
		}
	}
	for state := int64(2); state < 5; state++ {
		if err := Update(ctx, dir, "bank", state, quotes[:1], nil); err != nil {
			t.Fatal(err)
		}
	}
	count(2)
	if codes, err := i.All(ctx, "bell"); err != nil || len(codes) == 0 {
		t.Errorf("the reader of an old generation: %v, %v", codes, err)
	}
	if err := i.Close(); err != nil {
		t.Fatal(err)
	}
	if err := Update(ctx, dir, "bank", 9, quotes[:1], nil); err != nil {
		t.Fatal(err)
	}
	count(1)
}

func TestBuildThatFailsChangesNothing(t *testing.T) {
	dir := t.TempDir()
	quotes := farBank(t)
	if err := Build(context.Background(), dir, "bank", 1, all(quotes), nil); err != nil {
		t.Fatal(err)
	}
	broken := errors.New("the bank is gone")
	ctx, cancel := context.WithCancel(context.Background())
	for name, seq := range map[string]iter.Seq2[story.Quote, error]{
		"error": func(yield func(story.Quote, error) bool) {
			_ = yield(quotes[0], nil) && yield(story.Quote{}, broken)
		},
		"cancelled": func(yield func(story.Quote, error) bool) {
			cancel()
			yield(quotes[0], nil)
		},
		"no code": func(yield func(story.Quote, error) bool) {
			yield(story.Quote{Reel: "R", Text: "bell"}, nil)
		},
	} {
		if err := Build(ctx, dir, "bank", 2, seq, nil); err == nil {
			t.Errorf("%s: built", name)
		}
	}
	if _, state, err := Seen(dir); state != 1 || err != nil {
		t.Errorf("got state %d, %v; want 1", state, err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, workPrefix+"*")); len(left) != 0 {
		t.Errorf("left behind: %v", left)
	}
	if codes, err := opened(t, dir).All(context.Background(), "bell"); err != nil || len(codes) != 3 {
		t.Errorf("got %v, %v; want the three quotes of before", codes, err)
	}
}

// TestKilledBuild kills a process in the middle of a build: the generation of
// before answers, and the next writer clears up.
func TestKilledBuild(t *testing.T) {
	if dir := os.Getenv("RUSHLIGHT_TEST_BUILD"); dir != "" {
		endless := func(yield func(story.Quote, error) bool) {
			for n := 0; ; n++ {
				if n == 2500 {
					fmt.Println("building")
				}
				if !yield(story.Quote{Code: story.Code(fmt.Sprint(n)), Reel: "R", Text: "bell after bell"}, nil) {
					return
				}
			}
		}
		_ = Build(context.Background(), dir, "bank", 2, endless, nil)
		return
	}
	dir := t.TempDir()
	quotes := farBank(t)
	if err := Build(context.Background(), dir, "bank", 1, all(quotes), nil); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0], "-test.run", "^TestKilledBuild$")
	cmd.Env = append(os.Environ(), "RUSHLIGHT_TEST_BUILD="+dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	buf := make([]byte, 64)
	n, _ := out.Read(buf)
	if !strings.Contains(string(buf[:n]), "building") {
		t.Fatalf("the builder said %q", buf[:n])
	}
	// Another writer waits for the one that is at work.
	ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	if err := Update(ctx, dir, "bank", 3, nil, nil); !errors.Is(err, context.DeadlineExceeded) {
		t.Errorf("a second writer: got %v, want it to wait", err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait()
	if left, _ := filepath.Glob(filepath.Join(dir, workPrefix+"*")); len(left) == 0 {
		t.Error("the killed build left nothing: it was not in the middle")
	}
	i := opened(t, dir)
	if codes, err := i.All(context.Background(), "bell"); err != nil || len(codes) != 3 {
		t.Errorf("got %v, %v; want the three quotes of before", codes, err)
	}
	if err := Update(context.Background(), dir, "bank", 3, quotes[:1], nil); err != nil {
		t.Errorf("the next writer: %v", err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, workPrefix+"*")); len(left) != 0 {
		t.Errorf("not cleared up: %v", left)
	}
}

// TestReadersDuringUpdates: readers open and search while a writer changes
// all quotes again and again. Each sees exactly one state: every quote says
// the same number.
func TestReadersDuringUpdates(t *testing.T) {
	ctx := context.Background()
	dir := t.TempDir()
	const size = 40
	state := func(n int) []story.Quote {
		quotes := make([]story.Quote, size)
		for i := range quotes {
			quotes[i] = story.Quote{Code: story.Code(fmt.Sprintf("Q%d", i)), Reel: "R", Order: i, Language: "en", Text: fmt.Sprintf("state%d of the bell", n)}
		}
		return quotes
	}
	if err := Build(ctx, dir, "bank", 1, all(state(1)), nil); err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	done := make(chan struct{})
	for range 2 {
		wg.Go(func() {
			for {
				select {
				case <-done:
					return
				default:
				}
				i, err := Open(dir)
				if err != nil {
					t.Errorf("open: %v", err)
					return
				}
				codes, err := i.All(ctx, fmt.Sprintf("state%d", i.State))
				bells, err2 := i.All(ctx, "bell")
				if err != nil || err2 != nil || len(codes) != size || len(bells) != size {
					t.Errorf("state %d: got %d and %d quotes, %v, %v; want %d", i.State, len(codes), len(bells), err, err2, size)
				}
				if err := i.Close(); err != nil {
					t.Errorf("close: %v", err)
				}
			}
		})
	}
	for n := 2; n <= 12; n++ {
		if err := Update(ctx, dir, "bank", int64(n), state(n), nil); err != nil {
			t.Errorf("update %d: %v", n, err)
			break
		}
	}
	close(done)
	wg.Wait()
}

// TestUpdateEqualsBuild: whatever is changed in whatever steps, the index
// answers like one built from the final state, scores and order included.
func TestUpdateEqualsBuild(t *testing.T) {
	words := strings.Fields("bell bells ring rings rang ringing bridge the to be nobody far bank post")
	queries := []string{"bell", "ring OR bridge", `"the bell"`, `"to be"`, "-bell", "speaker:s1 ring", "theme:t1", "be*", "rating:>=2", "bridg~", "ring bell", "reel:R1 -theme:t2"}
	quote := rapid.Custom(func(t *rapid.T) story.Quote {
		n := rapid.IntRange(0, 11).Draw(t, "n")
		return story.Quote{
			Code: story.Code(fmt.Sprintf("Q%d", n)), Reel: fmt.Sprintf("R%d", n%3), Order: n, Language: "en",
			Speaker: rapid.SampledFrom([]string{"", "s1", "s2"}).Draw(t, "speaker"),
			Themes:  rapid.SliceOfN(rapid.SampledFrom([]string{"t1", "t2"}), 0, 2).Draw(t, "themes"),
			Rating:  rapid.IntRange(0, 5).Draw(t, "rating"),
			Text:    strings.Join(rapid.SliceOfN(rapid.SampledFrom(words), 0, 8).Draw(t, "words"), " "),
		}
	})
	ctx := context.Background()
	root := t.TempDir()
	runs := 0
	rapid.Check(t, func(t *rapid.T) {
		runs++
		if testing.Short() && runs > 10 || runs > 30 {
			return
		}
		dir := filepath.Join(root, fmt.Sprint(runs))
		bank := map[story.Code]story.Quote{}
		list := func() []story.Quote {
			var quotes []story.Quote
			for _, q := range bank {
				quotes = append(quotes, q)
			}
			slices.SortFunc(quotes, func(a, b story.Quote) int { return strings.Compare(string(a.Code), string(b.Code)) })
			return quotes
		}
		for _, q := range rapid.SliceOfN(quote, 0, 10).Draw(t, "first") {
			bank[q.Code] = q
		}
		if err := Build(ctx, dir, "bank", 1, all(list()), nil); err != nil {
			t.Fatal(err)
		}
		for step := range rapid.IntRange(1, 3).Draw(t, "steps") {
			changed := map[story.Code]story.Quote{}
			for _, q := range rapid.SliceOfN(quote, 0, 4).Draw(t, "changed") {
				changed[q.Code] = q
			}
			var gone []story.Code
			for _, q := range rapid.SliceOfN(quote, 0, 3).Draw(t, "gone") {
				if _, ok := changed[q.Code]; !ok {
					gone = append(gone, q.Code)
					delete(bank, q.Code)
				}
			}
			var put []story.Quote
			for c, q := range changed {
				bank[c] = q
				put = append(put, q)
			}
			if err := Update(ctx, dir, "bank", int64(step+2), put, gone); err != nil {
				t.Fatal(err)
			}
		}
		if err := Build(ctx, dir+"b", "bank", 1, all(list()), nil); err != nil {
			t.Fatal(err)
		}
		compare(t, dir, dir+"b", queries)
	})
}

func compare(t *rapid.T, updated, built string, queries []string) {
	a, err := Open(updated)
	if err != nil {
		t.Fatal(err)
	}
	defer a.Close()
	b, err := Open(built)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	for _, text := range queries {
		q := Query{Text: text, Limit: -1, Counts: true}
		x, err := a.Search(context.Background(), q)
		if err != nil {
			t.Fatal(err)
		}
		y, err := b.Search(context.Background(), q)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := fmt.Sprintf("%+v", x), fmt.Sprintf("%+v", y); got != want {
			t.Fatalf("%s:\nupdated %s\nbuilt   %s", text, got, want)
		}
	}
}

// TestSameCodeTwice checks that a full build refuses a code that comes again,
// and that an update takes the last of them.
func TestSameCodeTwice(t *testing.T) {
	dir := t.TempDir()
	first, last := story.Quote{Code: "AAAAAA", Reel: "R", Text: "bell"}, story.Quote{Code: "AAAAAA", Reel: "R", Text: "winch"}
	err := Build(context.Background(), dir, "bank", 1, all([]story.Quote{first, last}), nil)
	if err == nil || !strings.Contains(err.Error(), "AAAAAA comes twice") {
		t.Errorf("got %v, want an error about AAAAAA", err)
	}
	if _, _, err := Seen(dir); !errors.Is(err, ErrNone) {
		t.Errorf("got %v, want ErrNone", err)
	}
	if err := Build(context.Background(), dir, "bank", 1, all([]story.Quote{first}), nil); err != nil {
		t.Fatal(err)
	}
	if err := Update(context.Background(), dir, "bank", 2, []story.Quote{first, last}, nil); err != nil {
		t.Fatal(err)
	}
	i := opened(t, dir)
	for word, want := range map[string]int{"bell": 0, "winch": 1} {
		if got, err := i.All(context.Background(), word); err != nil || len(got) != want {
			t.Errorf("%s: got %v %v, want %d", word, got, err, want)
		}
	}
}
