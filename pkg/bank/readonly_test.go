package bank

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"rushlight/pkg/story"
)

// readEverything uses every way of reading once.
func readEverything(t *testing.T, b *Bank) {
	t.Helper()
	q := all(t, b, Filter{})
	if len(q) != 5 {
		t.Errorf("got %d quotes, want 5", len(q))
	}
	all(t, b, Filter{Theme: "bell"})
	all(t, b, Filter{Codes: []story.Code{q[0].Code}})
	_, _, e0 := b.Around(t.Context(), q[0].Code, 1)
	_, e1 := b.Recordings(t.Context())
	_, e2 := b.Themes(t.Context())
	_, e3 := b.Summary(t.Context())
	_, e4 := b.AllSelects(t.Context())
	_, e5 := b.History(t.Context(), 0)
	_, _, _, e6 := b.ChangedSince(t.Context(), 1)
	_, e7 := b.CodeTaken(t.Context())
	_, e8 := b.State(t.Context())
	_, e9 := b.Tags(t.Context(), q[0].Code)
	_, e10 := b.Syncs(t.Context())
	if err := errors.Join(e0, e1, e2, e3, e4, e5, e6, e7, e8, e9, e10); err != nil {
		t.Error(err)
	}
	if _, err := b.Heard(t.Context(), "D1-INT1"); !errors.Is(err, ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
	if list, err := b.SyncsOf(t.Context(), "D2-INT2"); len(list) > 0 || err != nil {
		t.Errorf("got %v, %v, want none", list, err)
	}
	if _, err := b.Refused(t.Context(), "no such theme"); !errors.Is(err, ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
	_, err := b.Change(t.Context(), "tag", "", func(tx *Tx) error { t.Error("the change ran"); return nil })
	if !errors.Is(err, ErrReadOnly) {
		t.Errorf("got %v, want ErrReadOnly", err)
	}
	if _, err := b.Undo(t.Context()); !errors.Is(err, ErrReadOnly) {
		t.Errorf("got %v, want ErrReadOnly", err)
	}
}

func files(t *testing.T, dir string) map[string][]byte {
	t.Helper()
	list, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	m := map[string][]byte{}
	for _, f := range list {
		if m[f.Name()], err = os.ReadFile(filepath.Join(dir, f.Name())); err != nil {
			t.Fatal(err)
		}
	}
	return m
}

func openReadOnly(t *testing.T, dir string) *Bank {
	t.Helper()
	opt := testOptions()
	opt.ReadOnly = true
	b, err := Open(t.Context(), dir, opt)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

func closed(t *testing.T, b *Bank) {
	t.Helper()
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
}

// filledBank makes a bank with the shoot, closed again.
func filledBank(t *testing.T) string {
	t.Helper()
	b, err := Create(t.Context(), t.TempDir(), testOptions())
	if err != nil {
		t.Fatal(err)
	}
	shoot(t, b)
	do(t, b, "selects", func(tx *Tx) error {
		return tx.PutSelects(story.Selects{Name: "open", Items: []story.Item{{Code: "QUOTEX"}}[:0]})
	})
	closed(t, b)
	return b.Dir()
}

func TestReadingChangesNothing(t *testing.T) {
	dir := filledBank(t)
	before := files(t, dir)
	b := openReadOnly(t, dir)
	readEverything(t, b)
	closed(t, b)
	after := files(t, dir)
	if len(after) != 1 || !bytes.Equal(before[File], after[File]) {
		t.Errorf("got %d files, %s the same %v; want only %s, byte for byte", len(after), File, bytes.Equal(before[File], after[File]), File)
	}
}

// A writer that was killed leaves its last changes in bank.db-wal: a reader
// sees them, and leaves them there.
func TestReadingBesideChanges(t *testing.T) {
	dir := filledBank(t)
	writer, err := Open(t.Context(), dir, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	code := all(t, writer, Filter{})[0].Code
	do(t, writer, "tag", func(tx *Tx) error { _, err := tx.Tag(code, []string{"bell"}, nil); return err })
	// As the killed one leaves it: a copy of both files while it is open.
	left := t.TempDir()
	for _, name := range []string{File, File + "-wal"} {
		if err := copyFile(filepath.Join(left, name), filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	closed(t, writer)
	before := files(t, left)
	for range 2 {
		b := openReadOnly(t, left)
		readEverything(t, b)
		if got := all(t, b, Filter{Theme: "bell"}); len(got) != 1 {
			t.Errorf("got %d quotes with bell, want 1", len(got))
		}
		closed(t, b)
		after := files(t, left)
		for name := range before {
			if !bytes.Equal(before[name], after[name]) {
				t.Errorf("%s is not byte for byte the same after reading", name)
			}
		}
	}
	// The next writer takes them in.
	b, err := Open(t.Context(), left, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	if got := all(t, b, Filter{Theme: "bell"}); len(got) != 1 {
		t.Errorf("got %d quotes with bell, want 1", len(got))
	}
	closed(t, b)
	if after := files(t, left); len(after) != 1 {
		t.Errorf("got %d files after the writer, want 1", len(after))
	}
}

func TestNoBank(t *testing.T) {
	dir := t.TempDir()
	for _, readOnly := range []bool{false, true} {
		opt := testOptions()
		opt.ReadOnly = readOnly
		if _, err := Open(t.Context(), dir, opt); !errors.Is(err, ErrNoBank) {
			t.Errorf("got %v, want ErrNoBank", err)
		}
		if _, err := Open(t.Context(), filepath.Join(dir, "nowhere"), opt); !errors.Is(err, ErrNoBank) {
			t.Errorf("got %v, want ErrNoBank", err)
		}
	}
	if m := files(t, dir); len(m) != 0 {
		t.Errorf("got %d files made by a failed Open, want none", len(m))
	}
	if _, err := Locate(dir); !errors.Is(err, ErrNoBank) {
		t.Errorf("got %v, want ErrNoBank", err)
	}
	bank := filledBank(t)
	deep := filepath.Join(bank, "a", "b")
	if err := os.MkdirAll(deep, 0o777); err != nil {
		t.Fatal(err)
	}
	for _, start := range []string{bank, deep} {
		if got, err := Locate(start); got != bank || err != nil {
			t.Errorf("from %s: got %s, %v, want %s", start, got, err, bank)
		}
	}
	t.Chdir(deep)
	if got, err := Locate(""); err != nil || got != bank {
		t.Errorf("got %s, %v, want %s", got, err, bank)
	}
}

func TestDamaged(t *testing.T) {
	whole, err := os.ReadFile(filepath.Join(filledBank(t), File))
	if err != nil {
		t.Fatal(err)
	}
	half := bytes.Clone(whole)
	for i := 4096; i < len(half); i++ {
		half[i] = 0xa5
	}
	for name, b := range map[string][]byte{
		"empty":     {},
		"text":      bytes.Repeat([]byte("not a bank\n"), 500),
		"cut short": whole[:4000],
		"overwrote": half,
	} {
		dir := t.TempDir()
		if err := os.WriteFile(filepath.Join(dir, File), b, 0o666); err != nil {
			t.Fatal(err)
		}
		for _, readOnly := range []bool{false, true} {
			opt := testOptions()
			opt.ReadOnly = readOnly
			if _, err := Open(t.Context(), dir, opt); !errors.Is(err, ErrDamaged) {
				t.Errorf("%s, read-only %v: got %v, want ErrDamaged", name, readOnly, err)
			}
		}
		if got, err := os.ReadFile(filepath.Join(dir, File)); err != nil || !bytes.Equal(got, b) {
			t.Errorf("%s: the file was changed", name)
		}
	}
}

// A Create that fails leaves nothing.
func TestCreateFails(t *testing.T) {
	dir := t.TempDir()
	bad := append(forms(), form{"0002-bad.sql", "CREATE TABLE film (id)"})
	if _, err := create(t.Context(), filepath.Join(dir, "a", "b"), testOptions(), bad); err == nil {
		t.Error("got no error for SQL that fails")
	}
	if m, err := os.ReadDir(dir); len(m) != 0 || err != nil {
		t.Errorf("got %v, %v left, want nothing", m, err)
	}
	if err := os.WriteFile(filepath.Join(dir, "file"), nil, 0o666); err != nil {
		t.Fatal(err)
	}
	if _, err := Create(t.Context(), filepath.Join(dir, "file"), testOptions()); err == nil {
		t.Error("got no error for a file in the way")
	}
}

// Of many who make a bank in one folder at the same time, one does.
func TestCreateAtOnce(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "film")
	errs := make(chan error)
	const n = 6
	for range n {
		go func() {
			b, err := Create(t.Context(), dir, testOptions())
			if err == nil {
				err = b.Close()
			}
			errs <- err
		}()
	}
	made := 0
	for range n {
		switch err := <-errs; {
		case err == nil:
			made++
		case !errors.Is(err, ErrExists):
			t.Errorf("got %v, want ErrExists", err)
		}
	}
	if m := files(t, dir); made != 1 || len(m) != 1 {
		t.Errorf("got %d banks made and %d files, want 1 and 1", made, len(m))
	}
}
