package desk

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"rushlight/pkg/bank"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Several people at one bank: what one of them was told is done stays done.

const twoSayings = "1\n00:00:01,000 --> 00:00:03,000\nINES: The bell rang twice that morning.\n\n" +
	"2\n00:00:04,000 --> 00:00:06,000\nINES: Nobody crossed the river after that.\n\n"

// twoDesks are two people at one new bank.
func twoDesks(t *testing.T) (one, other *Desk) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "bank")
	if _, err := New(t.Context(), dir, Options{}, NewOptions{}); err != nil {
		t.Fatal(err)
	}
	return sit(t, dir), sit(t, dir)
}

// write makes a file and gives its path.
func write(t *testing.T, path, text string) string {
	t.Helper()
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	return path
}

// noise makes a recording of some seconds.
func noise(t *testing.T, path string, seconds int) string {
	t.Helper()
	f, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	w, err := sound.NewWriter(f, sound.WriterOptions{SampleRate: 8000, Bits: 16, Channels: 1})
	if err != nil {
		t.Fatal(err)
	}
	b := make([]float64, 8000*seconds)
	for i := range b {
		b[i] = 0.1 * float64((i*7919+i/8000*31)%1000-500) / 500
	}
	if err := w.Write([][]float64{b}); err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return path
}

// take takes files in; none may be refused.
func take(t *testing.T, d *Desk, opt IngestOptions) IngestReport {
	t.Helper()
	rep, err := d.Ingest(t.Context(), opt)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range rep.Files {
		if f.State == Refused {
			t.Fatalf("%s", f)
		}
	}
	return rep
}

// codesOf lists the quotes of a reel.
func codesOf(t *testing.T, d *Desk, reel string) []story.Code {
	t.Helper()
	var codes []story.Code
	for q, err := range d.bank.Quotes(t.Context(), bank.Filter{Reel: reel}) {
		if err != nil {
			t.Fatal(err)
		}
		codes = append(codes, q.Code)
	}
	return codes
}

// together runs jobs while somebody else is writing, so that all of them have
// read the bank before any can write, and gives their errors.
func together(t *testing.T, writer *bank.Bank, write func(*bank.Tx) error, jobs ...func() error) []error {
	t.Helper()
	began, wrote := make(chan bool), make(chan error)
	go func() {
		_, err := writer.Change(context.Background(), "test", "somebody else", func(tx *bank.Tx) error {
			close(began)
			time.Sleep(500 * time.Millisecond)
			return write(tx)
		})
		wrote <- err
	}()
	<-began
	errs := make([]error, len(jobs))
	done := make(chan bool)
	for i, job := range jobs {
		go func() { errs[i] = job(); done <- true }()
	}
	for range jobs {
		<-done
	}
	if err := <-wrote; err != nil {
		t.Fatal(err)
	}
	return errs
}

func nothing(*bank.Tx) error { return nil }

func TestTagSetWhileWordsComeInAgain(t *testing.T) {
	d, other := twoDesks(t)
	src := write(t, filepath.Join(t.TempDir(), "a.srt"), twoSayings)
	take(t, d, IngestOptions{Paths: []string{src}})
	code := codesOf(t, d, "a")[0]
	write(t, src, strings.Replace(twoSayings, "twice", "three times", 1))
	errs := together(t, other.bank, func(tx *bank.Tx) error {
		if _, err := tx.Rate(code, 5); err != nil {
			return err
		}
		_, err := tx.Tag(code, []string{"bell"}, nil)
		return err
	}, func() error {
		_, err := d.Ingest(t.Context(), IngestOptions{Paths: []string{src}})
		return err
	})
	q, err := d.bank.Quote(t.Context(), code)
	if err != nil || errs[0] != nil {
		t.Fatal(err, errs)
	}
	if q.Rating != 5 || !slices.Equal(q.Themes, []string{"bell"}) || !strings.Contains(q.Text, "three times") {
		t.Errorf("got rating %d, themes %v, %q; want 5, bell and the corrected words", q.Rating, q.Themes, q.Text)
	}
}

func TestSelectsAddedByTwo(t *testing.T) {
	d, other := twoDesks(t)
	take(t, d, IngestOptions{Paths: []string{write(t, filepath.Join(t.TempDir(), "a.srt"), twoSayings)}})
	codes := codesOf(t, d, "a")
	third, err := bank.Open(t.Context(), d.Dir(), bank.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer third.Close()
	make2 := func(d *Desk, target string) func() error {
		return func() error { _, err := d.NewSelects(t.Context(), "cut", target); return err }
	}
	errs := together(t, third, nothing, make2(d, "1:00"), make2(other, "2:00"))
	if (errs[0] == nil) == (errs[1] == nil) {
		t.Errorf("two people made one list: %v, want one of them refused", errs)
	}
	add := func(d *Desk, code story.Code) func() error {
		return func() error { _, err := d.AddSelects(t.Context(), "cut", []story.Code{code}, 0); return err }
	}
	errs = together(t, third, nothing, add(d, codes[0]), add(other, codes[1]))
	s, err := d.Selects(t.Context(), "cut")
	if err != nil || errs[0] != nil || errs[1] != nil || len(s.Items) != 2 {
		t.Errorf("two people added a quote each: %d items, %v, %v; want 2", len(s.Items), errs, err)
	}
	outline := func(d *Desk) func() error {
		return func() error {
			_, err := d.Outline(t.Context(), OutlineOptions{Name: "first", Target: "0:10"})
			return err
		}
	}
	if _, err := d.Tag(t.Context(), codes, TagOptions{Add: []string{"bell"}}); err != nil {
		t.Fatal(err)
	}
	errs = together(t, third, nothing, outline(d), outline(other))
	if (errs[0] == nil) == (errs[1] == nil) {
		t.Errorf("two people made one outline: %v, want one of them refused", errs)
	}
}

func TestReelNamedByTwo(t *testing.T) {
	d, other := twoDesks(t)
	third, err := bank.Open(t.Context(), d.Dir(), bank.Options{})
	if err != nil {
		t.Fatal(err)
	}
	defer third.Close()
	job := func(d *Desk, seconds int) func() error {
		path := noise(t, filepath.Join(t.TempDir(), "take.wav"), seconds)
		return func() error { _, err := d.Ingest(t.Context(), IngestOptions{Paths: []string{path}}); return err }
	}
	errs := together(t, third, nothing, job(d, 2), job(other, 3))
	recs, err := d.bank.Recordings(t.Context())
	if err != nil || errs[0] != nil || errs[1] != nil || len(recs) != 2 {
		t.Errorf("two recordings of one name: %d in the bank, %v, %v; want both", len(recs), errs, err)
	}
}

// atEnd runs f when hearing ends.
type atEnd struct{ f func() }

func (h *atEnd) Begin(string, int64) {}
func (h *atEnd) Reached(int64)       {}
func (h *atEnd) End() {
	if f := h.f; f != nil {
		h.f = nil
		f()
	}
}

func TestWordsThatComeInWhileSoundIsHeard(t *testing.T) {
	for name, again := range map[string]bool{"replaced": false, "heard again": true} {
		t.Run(name, func(t *testing.T) {
			d, other := twoDesks(t)
			wav := noise(t, filepath.Join(t.TempDir(), "take.wav"), 10)
			take(t, d, IngestOptions{Paths: []string{wav}})
			src := write(t, filepath.Join(t.TempDir(), "words.srt"), twoSayings)
			d.opt.Progress = &atEnd{func() { take(t, other, IngestOptions{Paths: []string{src}, For: "take"}) }}
			if !again {
				noise(t, wav, 11)
			}
			take(t, d, IngestOptions{Paths: []string{wav}, Again: again})
			rec, err := d.bank.Recording(t.Context(), "take")
			if err != nil || rec.Transcript.Path != src || len(codesOf(t, d, "take")) != 2 {
				t.Errorf("transcript %q, %d quotes, %v; want %q, 2", rec.Transcript.Path, len(codesOf(t, d, "take")), err, src)
			}
		})
	}
}

// Somebody who never stops writing can't keep a transcript out, nor lose
// anything by it.
func TestSettleAmongManyChanges(t *testing.T) {
	d, other := twoDesks(t)
	take(t, d, IngestOptions{Paths: []string{write(t, filepath.Join(t.TempDir(), "a.srt"), twoSayings)}})
	code := codesOf(t, d, "a")[0]
	prepared := 0
	_, err := d.settle(t.Context(), "test", func() (func(*bank.Tx) error, error) {
		prepared++
		if prepared <= settleTries {
			if _, err := other.Tag(t.Context(), []story.Code{code}, TagOptions{Add: []string{fmt.Sprint("theme ", prepared)}}); err != nil {
				return nil, err
			}
		}
		q, err := d.bank.Quote(t.Context(), code)
		return func(tx *bank.Tx) error {
			q.Rating = 4
			return tx.PutQuotes("a", []story.Quote{q})
		}, err
	})
	q, err2 := d.bank.Quote(t.Context(), code)
	if err != nil || err2 != nil || q.Rating != 4 || len(q.Themes) != settleTries {
		t.Errorf("after %d tries: %v, %v, rating %d, themes %v; want 4 and %d themes", prepared, err, err2, q.Rating, q.Themes, settleTries)
	}
}

// Words that go to another reel leave the one they were on, with their tags,
// and what can't go along is told.
func TestWordsThatMove(t *testing.T) {
	d, _ := twoDesks(t)
	ctx, dir := t.Context(), t.TempDir()
	noise(t, filepath.Join(dir, "A.wav"), 10)
	noise(t, filepath.Join(dir, "B.wav"), 12)
	src := write(t, filepath.Join(dir, "A.srt"), twoSayings)
	take(t, d, IngestOptions{Paths: []string{dir}})
	codes := codesOf(t, d, "A")
	if _, err := d.Tag(ctx, codes, TagOptions{Add: []string{"bell"}}); err != nil {
		t.Fatal(err)
	}
	rep := take(t, d, IngestOptions{Paths: []string{src}, For: "B"})
	if got := codesOf(t, d, "B"); !slices.Equal(got, codes) || len(codesOf(t, d, "A")) != 0 || len(rep.Lost) != 0 {
		t.Errorf("after --for B: %v in B, %v in A, lost %v; want %v, none, none", got, codesOf(t, d, "A"), rep.Lost, codes)
	}
	if !strings.Contains(strings.Join(rep.Files[0].Notes, "\n"), "A had these words") {
		t.Errorf("notes %q don't say that A has none now", rep.Files[0].Notes)
	}
	// The next ingest of the file goes where it was read for last; the first
	// saying isn't in it any more.
	write(t, src, "1\n00:00:04,000 --> 00:00:06,000\nINES: Nobody crossed the river after that.\n\n")
	rep = take(t, d, IngestOptions{Paths: []string{src}})
	if rep.Files[0].Reel != "B" || len(rep.Lost) != 1 || rep.Lost[0].Code != codes[0] {
		t.Errorf("corrected: reel %s, lost %v; want B and %s", rep.Files[0].Reel, rep.Lost, codes[0])
	}
}

func TestWordsOfTheirOwnThatMove(t *testing.T) {
	d, _ := twoDesks(t)
	ctx := t.Context()
	wav := noise(t, filepath.Join(t.TempDir(), "take.wav"), 10)
	src := write(t, filepath.Join(t.TempDir(), "words.srt"), twoSayings)
	take(t, d, IngestOptions{Paths: []string{src, wav}})
	codes := codesOf(t, d, "words")
	if _, err := d.Tag(ctx, codes, TagOptions{Add: []string{"bell"}}); err != nil {
		t.Fatal(err)
	}
	if _, err := d.NewSelects(ctx, "cut", ""); err != nil {
		t.Fatal(err)
	}
	if _, err := d.AddSelects(ctx, "cut", codes[1:], 0); err != nil {
		t.Fatal(err)
	}
	if _, err := d.TrimSelects(ctx, "cut", "1", "+0.5", "", false); err != nil {
		t.Fatal(err)
	}
	was, err := d.Selects(ctx, "cut")
	if err != nil {
		t.Fatal(err)
	}
	// The second saying is three seconds later in the recording.
	write(t, src, "1\n00:00:07,000 --> 00:00:09,000\nINES: Nobody crossed the river after that.\n\n")
	rep := take(t, d, IngestOptions{Paths: []string{src}, For: "take"})
	if len(rep.Lost) != 1 || rep.Lost[0].Code != codes[0] {
		t.Errorf("lost %v, want %s told", rep.Lost, codes[0])
	}
	now, err := d.Selects(ctx, "cut")
	if err != nil {
		t.Fatal(err)
	}
	it, before := now.Items[0], was.Items[0]
	if it.Code != codes[1] || it.Reel != "take" || it.In-before.In < 29*timecode.Second/10 || it.In-before.In > 31*timecode.Second/10 {
		t.Errorf("item %s on %s at %s, want %s on take, 3 s after %s", it.Code, it.Reel, it.In, codes[1], before.In)
	}
}

// A file that was only touched changes nothing, not even the rate given when
// it was taken in.
func TestTouchedFile(t *testing.T) {
	d, _ := twoDesks(t)
	wav := noise(t, filepath.Join(t.TempDir(), "take.wav"), 2)
	take(t, d, IngestOptions{Paths: []string{wav}, Rate: "29.97df"})
	before, err := d.bank.Recording(t.Context(), "take")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Chtimes(wav, time.Now(), time.Now().Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	rep := take(t, d, IngestOptions{Paths: []string{wav}})
	after, err := d.bank.Recording(t.Context(), "take")
	if err != nil || rep.Files[0].State != Unchanged || after.Clock != before.Clock || !before.Clock.Base.Drop {
		t.Errorf("touched: %s, clock %v became %v, %v", rep.Files[0], before.Clock, after.Clock, err)
	}
}

// Reels whose names are alike for longer than a name may be.
func TestLongNames(t *testing.T) {
	d, _ := twoDesks(t)
	dir := t.TempDir()
	for i := range 4 {
		noise(t, filepath.Join(dir, strings.Repeat("the-ferry-and-the-bell-", 3)+fmt.Sprintf("take-%d.wav", i+1)), 1+i)
	}
	take(t, d, IngestOptions{Paths: []string{dir}})
	recs, err := d.bank.Recordings(t.Context())
	if err != nil || len(recs) != 4 {
		t.Errorf("%d reels, %v; want 4", len(recs), err)
	}
}
