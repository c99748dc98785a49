package bank

import (
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Create makes an empty bank in dir, and the folder if need be, and opens it
// for writing. It is made under another name and takes its own when it is
// whole; on failure nothing is left. ErrExists if dir holds a bank.
func Create(ctx context.Context, dir string, opt Options) (*Bank, error) {
	return create(ctx, dir, opt, forms())
}

func create(ctx context.Context, dir string, opt Options, forms []form) (_ *Bank, err error) {
	if opt.ReadOnly {
		return nil, fmt.Errorf("make a bank in %s: %w: it is to be opened for reading", dir, ErrReadOnly)
	}
	path := filepath.Join(dir, File)
	if _, err := os.Lstat(path); err == nil {
		return nil, fmt.Errorf("%w in %s", ErrExists, dir)
	}
	made, err := makeFolders(dir)
	defer func() {
		// Folders that hold something by now stay.
		for i := len(made) - 1; err != nil && i >= 0; i-- {
			_ = os.Remove(made[i])
		}
	}()
	if err != nil {
		return nil, fmt.Errorf("make a bank: %w", denied(err))
	}
	mark := newMark()
	temp := filepath.Join(dir, "bank-new-"+mark[:8]+".db")
	// The rights of the file are those the umask gives: a bank may be shared.
	f, err := os.OpenFile(temp, os.O_CREATE|os.O_EXCL|os.O_RDWR, 0o666)
	if err != nil {
		return nil, fmt.Errorf("make a bank: %w", denied(err))
	}
	defer func() { removeDatabase(temp) }()
	if err := f.Close(); err != nil {
		return nil, fmt.Errorf("make a bank: %w", denied(err))
	}
	if err := fill(ctx, temp, mark, forms); err != nil {
		return nil, fmt.Errorf("make a bank in %s: %w", dir, fault(err))
	}
	if err := takePlace(temp, path); err != nil {
		return nil, err
	}
	return open(ctx, dir, opt, forms)
}

// fill makes an empty bank in an empty file.
func fill(ctx context.Context, path, mark string, forms []form) error {
	db, err := sql.Open("sqlite", source(path, modeWrite, 0))
	if err != nil {
		return err
	}
	defer func() { _ = db.Close() }()
	// The mode is kept in the file. 4 KiB pages are SQLite's default.
	if _, err := db.ExecContext(ctx, fmt.Sprintf("PRAGMA journal_mode = WAL; PRAGMA application_id = %d", applicationID)); err != nil {
		return err
	}
	if err := apply(ctx, db, forms, 0); err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, "INSERT INTO meta (key, value) VALUES ('id', ?)", mark); err != nil {
		return err
	}
	return db.Close()
}

// newMark makes a bank's own mark: 16 random bytes in hex.
func newMark() string {
	mark := make([]byte, 16)
	// It never fails, says crypto/rand.
	_, _ = rand.Read(mark)
	return hex.EncodeToString(mark)
}

// takePlace gives a finished bank its name, unless there is one by now.
func takePlace(from, to string) error {
	err := os.Link(from, to)
	switch {
	case err == nil:
		return nil
	case errors.Is(err, fs.ErrExist):
		return fmt.Errorf("%w in %s", ErrExists, filepath.Dir(to))
	}
	// A file system without hard links, as on memory cards.
	if _, err := os.Lstat(to); err == nil {
		return fmt.Errorf("%w in %s", ErrExists, filepath.Dir(to))
	}
	if err := os.Rename(from, to); err != nil {
		return fmt.Errorf("make a bank: %w", denied(err))
	}
	return nil
}

// makeFolders makes dir and those above it, and lists those it made.
func makeFolders(dir string) (made []string, err error) {
	info, err := os.Stat(dir)
	switch {
	case err == nil && !info.IsDir():
		return nil, fmt.Errorf("%s is a file, want a folder", dir)
	case err == nil:
		return nil, nil
	case !errors.Is(err, fs.ErrNotExist):
		return nil, err
	}
	if up := filepath.Dir(dir); up != dir {
		if made, err = makeFolders(up); err != nil {
			return made, err
		}
	}
	switch err := os.Mkdir(dir, 0o777); {
	case errors.Is(err, fs.ErrExist):
		// Somebody was quicker.
		return made, nil
	case err != nil:
		return made, err
	}
	return append(made, dir), nil
}

// denied marks an error of the file system as one of the bank's.
func denied(err error) error {
	if errors.Is(err, fs.ErrPermission) || isReadOnlyVolume(err) {
		return fmt.Errorf("%w (%w)", ErrReadOnly, err)
	}
	if isFull(err) {
		return fmt.Errorf("%w (%w)", ErrFull, err)
	}
	return err
}

// removeDatabase removes a database that is not wanted, with its side files.
func removeDatabase(path string) {
	for _, suffix := range []string{"", "-wal", "-shm", "-journal"} {
		_ = os.Remove(path + suffix)
	}
}
