package bank

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
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
		if err := putMeasures(t, b, "d2-int2", list); err != nil {
			t.Fatal(err)
		}
	}
	if err := putMeasures(t, b, "NONE", list); !errors.Is(err, ErrNotFound) {
		t.Errorf("no reel: got %v, want ErrNotFound", err)
	}
	got, err := b.Measures(t.Context())
	if err != nil || len(got) != 2 || !bytes.Equal(got[0].Body, secret) || got[0].Reel != "D2-INT2" {
		t.Fatalf("got %+v, %v", got, err)
	}
	if !inFiles(t, dir, secret[:40]) {
		t.Fatal("the measure is in no file: the check below would tell nothing")
	}
	if err := forget(t, b, list[:1]); err != nil {
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
	if err := putMeasures(t, b, "D1-INT1", list); err != nil {
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
	if err := forget(t, b, list); !errors.Is(err, ErrBusy) {
		t.Errorf("got %v, want ErrBusy while somebody reads", err)
	}
	if err := tx.Rollback(); err != nil {
		t.Fatal(err)
	}
	closed(t, other)
	if err := forget(t, b, list); err != nil || inFiles(t, dir, list[0].Body) {
		t.Errorf("got %v, or the measure is still there", err)
	}
}

// putMeasures stores measures, which is no entry of the journal.
func putMeasures(t *testing.T, b *Bank, reel string, list []story.VoiceMeasure) error {
	t.Helper()
	e, err := b.Change(t.Context(), "voices", "", func(tx *Tx) error { return tx.PutMeasures(reel, list) })
	if e.Number != 0 {
		t.Errorf("got entry %d for measures", e.Number)
	}
	return err
}

func forget(t *testing.T, b *Bank, list []story.VoiceMeasure) error {
	t.Helper()
	_, err := b.Change(t.Context(), "voices", "", func(tx *Tx) error { return tx.ForgetMeasures(list) })
	return errors.Join(err, b.ScrubMeasures(t.Context()))
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
	do(t, b, "voices", func(tx *Tx) error { return tx.RenameVoice("Voice 2", "Petra") })
	wantApart(t, b, [2]string{"ines", "petra"}, [2]string{"joss", "wilf"})
	do(t, b, "voices", func(tx *Tx) error {
		return errors.Join(tx.RenameVoice("Petra", "Ines"), tx.RenameVoice("Joss", "WILF"), tx.RenameVoice("a", "b"))
	})
	wantApart(t, b)
	if _, err := b.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	wantApart(t, b, [2]string{"ines", "petra"}, [2]string{"joss", "wilf"})
	wantUnmeasured(t, b, "wilf")
	do(t, b, "voices", func(tx *Tx) error { return tx.RenameVoice("wilf", "Wilf Tranter") })
	wantUnmeasured(t, b, "Wilf", "Wilf Tranter")
	do(t, b, "voices", func(tx *Tx) error {
		return errors.Join(tx.MeasureAgain("WILF"), tx.MeasureAgain("Wilf Tranter"))
	})
	wantUnmeasured(t, b)
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
	if got, err := (view{b.db}).apart(t.Context(), ""); err != nil || !slices.Equal(got, want) {
		t.Errorf("got %v, %v, want %v", got, err, want)
	}
}

// wantUnmeasured holds a bank to these names, and no others of the test, being
// those that aren't measured.
func wantUnmeasured(t *testing.T, b *Bank, want ...string) {
	t.Helper()
	silent, err := b.Unmeasured(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"Wilf", " wilf", "Wilf Tranter", "Ines", ""} {
		is := slices.ContainsFunc(want, func(w string) bool { return strings.EqualFold(w, strings.TrimSpace(name)) })
		if silent(name) != is {
			t.Errorf("%q is measured: %v, want %v", name, is, !is)
		}
	}
}

// Names are compared without case in every script: a voice that is kept apart
// or isn't measured is so however its name is written.
func TestVoiceNamesInAnyCase(t *testing.T) {
	b := newBank(t)
	do(t, b, "voices", func(tx *Tx) error { return errors.Join(tx.KeepApart("Inès", "Åse"), tx.Unmeasure("ÉMILE")) })
	apart, err := b.Apart(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	silent, err := b.Unmeasured(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range []string{"Inès", "INÈS", "inès", "Ine\u0300s"} {
		if !apart(n, "åse") || !apart("ÅSE", n) || apart(n, "Joss") {
			t.Errorf("%q isn't kept apart", n)
		}
	}
	for _, n := range []string{"Émile", "émile", "ÉMILE"} {
		if !silent(n) {
			t.Errorf("%q is measured", n)
		}
	}
}

// What was compared is a part of the journal, measures are not.
func TestCompared(t *testing.T) {
	b := newBank(t)
	do(t, b, "ingest", func(tx *Tx) error { return tx.PutRecording(story.Recording{Reel: "D1-INT1"}) })
	is := func(when string, want bool, turns string) {
		t.Helper()
		compared, err := b.Compared(t.Context())
		if err != nil || compared("d1-int1", turns) != want {
			t.Errorf("%s: %s compared %v, %v, want %v", when, turns, compared("d1-int1", turns), err, want)
		}
	}
	do(t, b, "voices", func(tx *Tx) error { return tx.SetCompared("D1-INT1", []string{"aa", "bb"}) })
	is("at first", true, "aa")
	do(t, b, "voices", func(tx *Tx) error { return tx.SetCompared("D1-INT1", []string{"bb", "cc"}) })
	is("other turns", false, "aa")
	is("other turns", true, "cc")
	if _, err := b.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	is("after undo", true, "aa")
	is("after undo", false, "cc")
	do(t, b, "remove", func(tx *Tx) error { return tx.RemoveRecording("D1-INT1") })
	is("without the reel", false, "aa")
	_, err := b.Change(t.Context(), "voices", "", func(tx *Tx) error { return tx.SetCompared("NONE", nil) })
	if !errors.Is(err, ErrNotFound) {
		t.Errorf("no reel: got %v, want ErrNotFound", err)
	}
}
