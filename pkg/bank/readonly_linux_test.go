package bank

import (
	"errors"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"golang.org/x/sys/unix"
)

// asStranger runs f as one who may not write to what the test makes: as root,
// on a thread whose file rights are another user's (setfsuid(2)).
func asStranger(t *testing.T, dir string, f func()) {
	t.Helper()
	for at := dir; len(at) > len(os.TempDir()); at = filepath.Dir(at) {
		if err := os.Chmod(at, 0o555); err != nil {
			t.Fatal(err)
		}
	}
	defer func() {
		for at := dir; len(at) > len(os.TempDir()); at = filepath.Dir(at) {
			_ = os.Chmod(at, 0o755)
		}
	}()
	if os.Getuid() == 0 {
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		if _, err := unix.SetfsuidRetUid(65534); err != nil {
			t.Skip("run as an ordinary user: setfsuid: ", err)
		}
		defer func() { _, _ = unix.SetfsuidRetUid(0) }()
	}
	if err := os.WriteFile(filepath.Join(dir, "try"), nil, 0o666); err == nil {
		t.Skip("this system lets everyone write everywhere: run as an ordinary user")
	}
	f()
}

func TestReadOnlyFolder(t *testing.T) {
	dir := filledBank(t)
	asStranger(t, dir, func() {
		b := openReadOnly(t, dir)
		readEverything(t, b)
		closed(t, b)
		if _, err := Open(t.Context(), dir, testOptions()); !errors.Is(err, ErrReadOnly) {
			t.Errorf("got %v, want ErrReadOnly", err)
		}
		if _, err := Create(t.Context(), filepath.Join(dir, "new"), testOptions()); !errors.Is(err, ErrReadOnly) {
			t.Errorf("got %v, want ErrReadOnly", err)
		}
	})
}

// The folder can't be written, and a killed writer left changes in it.
func TestReadOnlyFolderWithChanges(t *testing.T) {
	dir := filledBank(t)
	writer, err := Open(t.Context(), dir, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	code := all(t, writer, Filter{})[0].Code
	do(t, writer, "rate", func(tx *Tx) error { _, err := tx.Rate(code, 5); return err })
	left := t.TempDir()
	for _, name := range []string{File, File + "-wal"} {
		if err := copyFile(filepath.Join(left, name), filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	closed(t, writer)
	private := ""
	asStranger(t, left, func() {
		b := openReadOnly(t, left)
		readEverything(t, b)
		if got := all(t, b, Filter{MinRating: 5}); len(got) != 1 {
			t.Errorf("got %d rated quotes, want 1", len(got))
		}
		private = b.private
		closed(t, b)
	})
	if _, err := os.Stat(private); private != "" && err == nil {
		t.Errorf("%s is left", private)
	}
}

// A file that may be read in a folder that may be written.
func TestReadOnlyFile(t *testing.T) {
	dir := filledBank(t)
	asStranger(t, dir, func() {
		// The stranger makes a folder of its own out of a copy.
		mine, err := os.MkdirTemp("", "rushlight-test-")
		if err != nil {
			t.Fatal(err)
		}
		defer func() { _ = os.RemoveAll(mine) }()
		if err := copyFile(filepath.Join(mine, File), filepath.Join(dir, File)); err != nil {
			t.Fatal(err)
		}
		if err := os.Chmod(filepath.Join(mine, File), 0o444); err != nil {
			t.Fatal(err)
		}
		b := openReadOnly(t, mine)
		readEverything(t, b)
		closed(t, b)
		w, err := Open(t.Context(), mine, testOptions())
		if err == nil {
			_, err = w.Change(t.Context(), "film", "", func(tx *Tx) error { return tx.SetFilm(Film{Title: "x"}) })
			closed(t, w)
		}
		if !errors.Is(err, ErrReadOnly) {
			t.Errorf("got %v, want ErrReadOnly", err)
		}
	})
}
