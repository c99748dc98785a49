package bank

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"rushlight/pkg/story"
)

// Measures are kept beside the journal, go with their reel, and once forgotten
// are nowhere in the bank's files.
func TestMeasures(t *testing.T) {
	dir := t.TempDir()
	b, err := Create(t.Context(), dir, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	do(t, b, "ingest", func(tx *Tx) error {
		return errors.Join(tx.PutRecording(story.Recording{Reel: "D1-INT1"}), tx.PutRecording(story.Recording{Reel: "D2-INT2"}))
	})
	secret := bytes.Repeat([]byte("the very voice of Ines "), 18)
	list := []story.VoiceMeasure{{Reel: "D2-INT2", Turns: "aa", Body: secret}, {Reel: "D2-INT2", Turns: "bb", Body: []byte("another")}}
	// Twice, so that what was there first is overwritten too.
	for range 2 {
		if err := b.PutMeasures(t.Context(), "d2-int2", list); err != nil {
			t.Fatal(err)
		}
	}
	if err := b.PutMeasures(t.Context(), "NONE", list); !errors.Is(err, ErrNotFound) {
		t.Errorf("no reel: got %v, want ErrNotFound", err)
	}
	got, err := b.Measures(t.Context())
	if err != nil || len(got) != 2 || !bytes.Equal(got[0].Body, secret) || got[0].Reel != "D2-INT2" {
		t.Fatalf("got %+v, %v", got, err)
	}
	if !inFiles(t, dir, secret[:40]) {
		t.Fatal("the measure is in no file: the check below would tell nothing")
	}
	if err := b.ForgetMeasures(t.Context(), list[:1]); err != nil {
		t.Fatal(err)
	}
	if inFiles(t, dir, secret[:40]) {
		t.Error("the measure is still in a file of the bank")
	}
	if got, err = b.Measures(t.Context()); err != nil || len(got) != 2 || len(got[0].Body) != 0 || string(got[1].Body) != "another" {
		t.Errorf("got %+v, %v, want one empty and one as it was", got, err)
	}
	// The reel was made by the only entry; undo doesn't bring a measure back.
	if _, err := b.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got, err = b.Measures(t.Context()); err != nil || len(got) != 0 {
		t.Errorf("got %+v, %v after the reels were undone, want none", got, err)
	}
	closed(t, b)
	if inFiles(t, dir, secret[:40]) {
		t.Error("the measure is in a file after closing")
	}
}

// A reader that holds the file of changes is told of; later it works.
func TestForgetMeasuresBusy(t *testing.T) {
	dir := t.TempDir()
	opt := testOptions()
	b, err := Create(t.Context(), dir, opt)
	if err != nil {
		t.Fatal(err)
	}
	defer closed(t, b)
	do(t, b, "ingest", func(tx *Tx) error { return tx.PutRecording(story.Recording{Reel: "D1-INT1"}) })
	list := []story.VoiceMeasure{{Reel: "D1-INT1", Turns: "aa", Body: bytes.Repeat([]byte("voice"), 50)}}
	if err := b.PutMeasures(t.Context(), "D1-INT1", list); err != nil {
		t.Fatal(err)
	}
	other := openReadOnly(t, dir)
	tx, err := other.db.Begin()
	if err != nil {
		t.Fatal(err)
	}
	var n int
	if err := tx.QueryRow("SELECT count(*) FROM measure").Scan(&n); err != nil || n != 1 {
		t.Fatalf("got %d, %v", n, err)
	}
	if err := b.ForgetMeasures(t.Context(), list); !errors.Is(err, ErrBusy) {
		t.Errorf("got %v, want ErrBusy while somebody reads", err)
	}
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	closed(t, other)
	if err := b.ForgetMeasures(t.Context(), list); err != nil || inFiles(t, dir, list[0].Body) {
		t.Errorf("got %v, or the measure is still there", err)
	}
}

// inFiles tells whether any file of the folder holds these bytes.
func inFiles(t *testing.T, dir string, what []byte) bool {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*"))
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		if data, err := os.ReadFile(name); err == nil && bytes.Contains(data, what) {
			return true
		}
	}
	return false
}

// Names kept apart follow a new name, and undo takes it back.
func TestApart(t *testing.T) {
	b, err := Create(t.Context(), t.TempDir(), testOptions())
	if err != nil {
		t.Fatal(err)
	}
	defer closed(t, b)
	do(t, b, "voices", func(tx *Tx) error {
		return errors.Join(tx.KeepApart("Voice 2", "INES"), tx.KeepApart("ines ", "voice 2"), tx.KeepApart("Joss", "Wilf"), tx.Unmeasure(" Wilf"))
	})
	wantApart(t, b, [2]string{"ines", "voice 2"}, [2]string{"joss", "wilf"})
	do(t, b, "voices", func(tx *Tx) error { return tx.RenameApart("Voice 2", "Petra") })
	wantApart(t, b, [2]string{"ines", "petra"}, [2]string{"joss", "wilf"})
	do(t, b, "voices", func(tx *Tx) error {
		return errors.Join(tx.RenameApart("Petra", "Ines"), tx.LetTogether("Wilf", "Joss"), tx.LetTogether("a", "b"))
	})
	wantApart(t, b)
	if _, err := b.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	wantApart(t, b, [2]string{"ines", "petra"}, [2]string{"joss", "wilf"})
	if got, err := b.Unmeasured(t.Context()); err != nil || !slices.Equal(got, []string{"wilf"}) {
		t.Errorf("got %v, %v, want wilf", got, err)
	}
	do(t, b, "voices", func(tx *Tx) error { return tx.MeasureAgain("WILF") })
	if got, err := b.Unmeasured(t.Context()); err != nil || len(got) != 0 {
		t.Errorf("got %v, %v, want nobody", got, err)
	}
	_, err = b.Change(t.Context(), "voices", "", func(tx *Tx) error { return tx.MeasureAgain("Wilf") })
	if !errors.Is(err, ErrNotFound) {
		t.Errorf("measured already: got %v, want ErrNotFound", err)
	}
	_, err = b.Change(t.Context(), "voices", "", func(tx *Tx) error { return tx.KeepApart("Ines", "ines") })
	if !errors.Is(err, story.ErrInvalid) {
		t.Errorf("one name: got %v, want ErrInvalid", err)
	}
}

func wantApart(t *testing.T, b *Bank, want ...[2]string) {
	t.Helper()
	if got, err := b.Apart(t.Context()); err != nil || !slices.Equal(got, want) {
		t.Errorf("got %v, %v, want %v", got, err, want)
	}
}
