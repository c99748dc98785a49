package bank

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// later is a made-up program of the future: its banks have one more column
// and table. The tables and columns of today stay, so that this code can read
// what the migration kept.
func later() []form {
	return append(forms(), form{"0005-later.sql", `
		ALTER TABLE quote ADD COLUMN mood TEXT NOT NULL DEFAULT '';
		CREATE TABLE release (speaker TEXT PRIMARY KEY) STRICT;
		UPDATE quote SET mood = 'dry' WHERE speaker = 'Ines';`})
}

func TestFormsAreEmbedded(t *testing.T) {
	names, err := os.ReadDir("migrations")
	if err != nil {
		t.Fatal(err)
	}
	list := forms()
	if len(list) != len(names) {
		t.Fatalf("got %d forms, want the %d files of migrations/", len(list), len(names))
	}
	for i, n := range names {
		b, err := os.ReadFile(filepath.Join("migrations", n.Name()))
		if err != nil || list[i].name != n.Name() || list[i].sql != string(b) || list[i].sql == "" {
			t.Errorf("form %d: got %s, want the text of %s, %v", i+1, list[i].name, n.Name(), err)
		}
	}
}

func TestMigrate(t *testing.T) {
	dir := filledBank(t)
	old := openReadOnly(t, dir)
	rows, id := dump(t, old), old.ID()
	closed(t, old)
	before := files(t, dir)

	// Reading with the later program changes nothing.
	opt := testOptions()
	opt.ReadOnly = true
	b, err := open(t.Context(), dir, opt, later())
	if err != nil {
		t.Fatal(err)
	}
	readEverything(t, b)
	if got := dump(t, b); got != rows {
		t.Errorf("got %s, want %s", got, rows)
	}
	private := b.private
	closed(t, b)
	if _, err := os.Stat(private); err == nil {
		t.Errorf("%s is left", private)
	}
	if after := files(t, dir); len(after) != 1 || !bytes.Equal(after[File], before[File]) {
		t.Errorf("got the bank changed by reading")
	}

	// Writing brings it to the new form.
	b, err = open(t.Context(), dir, testOptions(), later())
	if err != nil {
		t.Fatal(err)
	}
	if got := dump(t, b); got != rows || b.ID() != id {
		t.Errorf("got ID %s, rows %s, want %s, %s", b.ID(), got, id, rows)
	}
	var mood, mode string
	if err := b.db.QueryRow("SELECT max(mood) FROM quote").Scan(&mood); mood != "dry" || err != nil {
		t.Errorf("got %q, %v, want what the migration set", mood, err)
	}
	if err := b.db.QueryRow("PRAGMA journal_mode").Scan(&mode); mode != "wal" || err != nil {
		t.Errorf("got journal mode %q, %v, want wal", mode, err)
	}
	do(t, b, "film", func(tx *Tx) error { return tx.SetFilm(Film{Title: "later"}) })
	closed(t, b)
	if after := files(t, dir); len(after) != 1 {
		t.Errorf("got %d files, want only %s", len(after), File)
	}

	// The older program refuses it.
	before = files(t, dir)
	for _, readOnly := range []bool{false, true} {
		opt.ReadOnly = readOnly
		if _, err := Open(t.Context(), dir, opt); !errors.Is(err, ErrNewer) || !strings.Contains(err.Error(), fmt.Sprint("form ", len(later()))) {
			t.Errorf("got %v, want ErrNewer with the form", err)
		}
	}
	if after := files(t, dir); !bytes.Equal(after[File], before[File]) {
		t.Errorf("got the bank changed by a program that refused it")
	}
}

// A migration that fails leaves the bank as it was, for the older program
// too.
func TestMigrationFails(t *testing.T) {
	dir := filledBank(t)
	old := openReadOnly(t, dir)
	rows := dump(t, old)
	closed(t, old)
	bad := append(later(), form{"0006-bad.sql", "ALTER TABLE quote ADD COLUMN mood TEXT"})
	if _, err := open(t.Context(), dir, testOptions(), bad); err == nil || !strings.Contains(err.Error(), "0006-bad.sql") {
		t.Errorf("got %v, want an error that names 0006-bad.sql", err)
	}
	broken := append(forms(), form{"0005-breaks.sql", "PRAGMA defer_foreign_keys = 1; UPDATE quote SET reel = 'nowhere'"})
	if _, err := open(t.Context(), dir, testOptions(), broken); err == nil {
		t.Error("got no error for a migration that breaks the links between rows")
	}
	b, err := Open(t.Context(), dir, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	if got := dump(t, b); got != rows {
		t.Errorf("got %s, want %s", got, rows)
	}
	do(t, b, "film", func(tx *Tx) error { return tx.SetFilm(Film{Title: "still"}) })
	closed(t, b)
	if after := files(t, dir); len(after) != 1 {
		t.Errorf("got %d files, want only %s", len(after), File)
	}
}

// While an older program has the bank open, the newer one waits and then
// gives up; one that opened before it was replaced doesn't write into it.
func TestMigrationAndOlderProgram(t *testing.T) {
	dir := filledBank(t)
	older, err := Open(t.Context(), dir, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	if n := len(all(t, older, Filter{})); n != 5 {
		t.Fatalf("got %d quotes, want 5", n)
	}
	if _, err := open(t.Context(), dir, testOptions(), later()); !errors.Is(err, ErrBusy) {
		t.Errorf("got %v, want ErrBusy", err)
	}
	do(t, older, "film", func(tx *Tx) error { return tx.SetFilm(Film{Title: "older"}) })
	// Marked as the newer program does under its lock.
	if _, err := older.db.Exec(fmt.Sprintf("PRAGMA user_version = %d", -len(forms()))); err != nil {
		t.Fatal(err)
	}
	_, err = older.Change(t.Context(), "film", "", func(tx *Tx) error { return tx.SetFilm(Film{Title: "lost"}) })
	if !errors.Is(err, ErrBusy) {
		t.Errorf("got %v, want ErrBusy", err)
	}
	closed(t, older)
	// A newer program that stopped there: both take it up again.
	reader := openReadOnly(t, dir)
	readEverything(t, reader)
	closed(t, reader)
	for _, f := range [][]form{forms(), later()} {
		b, err := open(t.Context(), dir, testOptions(), f)
		if err != nil {
			t.Fatal(err)
		}
		if film, err := b.Summary(t.Context()); film.Title != "older" || err != nil {
			t.Errorf("got film %q, %v, want older", film.Title, err)
		}
		closed(t, b)
	}
}

// Nobody gets in while a bank is brought to a new form.
func TestTakeAlone(t *testing.T) {
	dir := filledBank(t)
	b, err := Open(t.Context(), dir, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	defer closed(t, b)
	conn, err := b.db.Conn(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.ExecContext(t.Context(), takeAlone); err != nil {
		t.Fatal(err)
	}
	for _, readOnly := range []bool{false, true} {
		opt := testOptions()
		opt.ReadOnly = readOnly
		if _, err := Open(t.Context(), dir, opt); !errors.Is(err, ErrBusy) {
			t.Errorf("read-only %v: got %v, want ErrBusy", readOnly, err)
		}
	}
	if _, err := conn.ExecContext(t.Context(), "PRAGMA journal_mode = WAL; PRAGMA locking_mode = NORMAL; SELECT 1 FROM meta"); err != nil {
		t.Fatal(err)
	}
	_ = conn.Close()
}

// Undo of an entry made in an older form: the images in the journal lack the
// columns that came since, and get the value the table says.
func TestUndoAcrossForms(t *testing.T) {
	old := &table{name: "mark", key: []string{"code"}, cols: []string{"rating"}}
	image, err := old.image([]any{int64(3)})
	if err != nil {
		t.Fatal(err)
	}
	now := &table{name: "mark", key: []string{"code"}, cols: []string{"note", "rating"}, added: map[string]any{"note": ""}}
	vals, err := now.values(image)
	if err != nil || vals[0] != "" || vals[1] != int64(3) {
		t.Errorf("got %v, %v, want an empty note and 3", vals, err)
	}
}

// The banks that were written when a form was new must stay readable:
// testdata/vN.db is one of form N, with the shoot of the other tests in it. A
// kept bank is never written again, only that of a new form is added.
func TestKeptBanks(t *testing.T) {
	for n := 1; n <= len(forms()); n++ {
		kept := fmt.Sprintf("testdata/v%d.db", n)
		if _, err := os.Stat(kept); *update && errors.Is(err, os.ErrNotExist) {
			if err := copyFile(kept, filepath.Join(filledBank(t), File)); err != nil {
				t.Fatal(err)
			}
		}
		for name, list := range map[string][]form{"this program": forms(), "a later one": later()} {
			b := openKept(t, kept, list)
			if got := texts(all(t, b, Filter{Reel: "D1-INT1"})); got != "Thirty-four years. | The bridge opens in May." {
				t.Errorf("%s, %s: got %s", kept, name, got)
			}
			// The selects, then the shoot.
			for range 2 {
				if _, err := b.Undo(t.Context()); err != nil {
					t.Errorf("%s, %s: %v", kept, name, err)
				}
			}
			if got := dump(t, b); got != "" {
				t.Errorf("%s, %s: got %s after all was undone, want nothing", kept, name, got)
			}
			closed(t, b)
		}
	}
}

// openKept opens a copy of a kept bank for writing.
func openKept(t *testing.T, kept string, list []form) *Bank {
	t.Helper()
	dir := t.TempDir()
	if err := copyFile(filepath.Join(dir, File), kept); err != nil {
		t.Fatal(err)
	}
	b, err := open(t.Context(), dir, testOptions(), list)
	if err != nil {
		t.Fatalf("%s: %v", kept, err)
	}
	return b
}

// The check that guards a migration finds what is broken.
func TestCheck(t *testing.T) {
	b, err := Create(t.Context(), t.TempDir(), testOptions())
	if err != nil {
		t.Fatal(err)
	}
	shoot(t, b)
	if err := check(t.Context(), b.db); err != nil {
		t.Error(err)
	}
	conn, err := b.db.Conn(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.ExecContext(t.Context(), "PRAGMA foreign_keys = 0; UPDATE quote SET reel = 'nowhere'"); err != nil {
		t.Fatal(err)
	}
	_ = conn.Close()
	if err := check(context.Background(), b.db); !errors.Is(err, ErrDamaged) {
		t.Errorf("got %v, want ErrDamaged", err)
	}
	closed(t, b)
}

// Every connection of the pool has the settings of the DSN.
func TestEveryConnection(t *testing.T) {
	b := newBank(t)
	var conns []*sql.Conn
	for range 5 {
		c, err := b.db.Conn(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		conns = append(conns, c)
		var keys, busy int
		e1 := c.QueryRowContext(t.Context(), "PRAGMA foreign_keys").Scan(&keys)
		e2 := c.QueryRowContext(t.Context(), "PRAGMA busy_timeout").Scan(&busy)
		if keys != 1 || busy != 200 || e1 != nil || e2 != nil {
			t.Errorf("got foreign keys %d, busy timeout %d, want 1 and 200", keys, busy)
		}
	}
	for _, c := range conns {
		_ = c.Close()
	}
	_, err := b.Change(t.Context(), "test", "", func(tx *Tx) error {
		_, err := tx.put(tableTag, rowKey("NOSUCH", "bell"), "", "", "hand")
		return err
	})
	if err == nil {
		t.Error("got no error for a tag without quote and theme")
	}
}
