package bank

import (
	"context"
	"database/sql"
	"fmt"
	"io"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"time"

	// The driver registers itself as "sqlite".
	"modernc.org/sqlite"

	"rushlight/pkg/story"
)

// openMode is how the database file is opened.
type openMode int

const (
	// modeWrite reads and writes; modeQuery may make SQLite's side files
	// but not change anything; modeRead opens the file itself for reading
	// only; modeImmutable reads the file as it lies, without any lock; a
	// copy is opened as modeCopy.
	modeWrite openMode = iota
	modeQuery
	modeRead
	modeImmutable
	modeCopy
)

// applicationID marks an SQLite file as a story bank: "RSHL".
const applicationID = 0x5253484c

// source is the name under which the driver opens a file. All settings of a
// connection are in it, so that every connection of the pool has them.
// Synchronous stays at SQLite's default, FULL: a commit is on the disk.
func source(path string, mode openMode, busy time.Duration) string {
	v := url.Values{}
	v.Add("_pragma", "busy_timeout("+strconv.FormatInt(max(busy.Milliseconds(), 0), 10)+")")
	v.Set("mode", "rw")
	switch mode {
	case modeWrite, modeCopy:
		v.Add("_pragma", "foreign_keys(1)")
		// As Change does, migrations take the right to write at once.
		v.Set("_txlock", "immediate")
	case modeQuery:
		v.Add("_pragma", "query_only(1)")
	case modeRead, modeImmutable:
		v.Set("mode", "ro")
	}
	if mode == modeImmutable {
		v.Set("immutable", "1")
	}
	return fileURI(path) + "?" + v.Encode()
}

// fileURI names a file so that no sign in its path means anything else.
func fileURI(path string) string {
	slash := filepath.ToSlash(path)
	if slash != "" && slash[0] != '/' {
		slash = "/" + slash
	}
	return (&url.URL{Scheme: "file", OmitHost: true, Path: slash}).String()
}

// byNumbers is the name of story.CompareNames in SQL. It stands in queries only,
// never in the form of a bank, so that any program can read one.
const byNumbers = "by_numbers"

func init() { sqlite.MustRegisterCollationUtf8(byNumbers, story.CompareNames) }

// connect opens the database and reads its form, which proves that it is a
// bank.
func (b *Bank) connect(ctx context.Context, path string, mode openMode) (version int, err error) {
	b.db, err = sql.Open("sqlite", source(path, mode, b.opt.BusyTimeout))
	if err != nil {
		return 0, err
	}
	return readForm(ctx, b.db)
}

// readForm reads the form of a bank, negative while it is being changed.
func readForm(ctx context.Context, q querier) (version int, err error) {
	var id int
	if err := q.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return 0, err
	}
	if err := q.QueryRowContext(ctx, "PRAGMA application_id").Scan(&id); err != nil {
		return 0, err
	}
	if id != applicationID || version == 0 {
		return 0, fmt.Errorf("%w: %s is no story bank", ErrDamaged, File)
	}
	return version, nil
}

// checkForm is ErrNewer for a form that this program doesn't know.
func checkForm(version, known int) error {
	if max(version, -version) > known {
		return fmt.Errorf("%w: form %d, this program reads up to form %d", ErrNewer, max(version, -version), known)
	}
	return nil
}

// connectCopy opens a private copy of a bank that lies where nothing can be
// written, together with the changes beside it.
func (b *Bank) connectCopy(ctx context.Context, path string) (int, error) {
	copied, err := b.privateFile()
	if err != nil {
		return 0, err
	}
	for _, suffix := range []string{"", "-wal"} {
		if err := copyFile(copied+suffix, path+suffix); err != nil {
			return 0, err
		}
	}
	return b.connect(ctx, copied, modeCopy)
}

// privateFile names a file in a folder that goes when the bank is closed.
func (b *Bank) privateFile() (string, error) {
	if b.private == "" {
		dir, err := os.MkdirTemp("", "rushlight-bank-")
		if err != nil {
			return "", fmt.Errorf("copy the bank: %w", err)
		}
		b.private = dir
	}
	return filepath.Join(b.private, File), nil
}

func copyFile(to, from string) error {
	in, err := os.Open(from)
	if err != nil {
		return fmt.Errorf("copy the bank: %w", err)
	}
	defer func() { _ = in.Close() }()
	out, err := os.Create(to)
	if err != nil {
		return fmt.Errorf("copy the bank: %w", err)
	}
	_, err = io.Copy(out, in)
	if closeErr := out.Close(); err == nil {
		err = closeErr
	}
	if err != nil {
		return fmt.Errorf("copy the bank: %w", err)
	}
	return nil
}
