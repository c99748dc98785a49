package bank

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/user"
	"path/filepath"
	"time"

	"rushlight/pkg/timecode"
)

// File is the name of the database inside a bank's folder.
const File = "bank.db"

// Options say how a bank is opened.
type Options struct {
	// Who is written into the journal; "" is the user's name.
	Who string
	// Now is the clock of the journal; nil is time.Now.
	Now func() time.Time
	// BusyTimeout is how long a writer waits for another one; 0 is 5 s, less
	// than 0 not at all.
	BusyTimeout time.Duration
	// ReadOnly opens for reading: bank.db stays byte for byte as it is, and
	// Change and Undo give ErrReadOnly.
	ReadOnly bool
}

// Film is what the whole bank is about.
type Film struct {
	Title, Note string
	// Base is the time base of the edit.
	Base timecode.Base
}

// Bank is an open story bank, for any number of goroutines. Close it.
type Bank struct {
	db   *sql.DB
	dir  string
	id   string
	who  string
	now  func() time.Time
	opt  Options
	form int
	// private is a folder with a copy that only this Bank reads, "" if none.
	private string
	ready   ready
}

// Dir is the bank's folder, as a full path.
func (b *Bank) Dir() string { return b.dir }

// ID is the bank's own mark, random and fixed when it was made.
func (b *Bank) ID() string { return b.id }

// Close ends the work with the bank.
func (b *Bank) Close() error {
	err := errors.Join(b.ready.close(), b.db.Close())
	if b.private != "" {
		err = errors.Join(err, os.RemoveAll(b.private))
	}
	if err != nil {
		return fmt.Errorf("close the bank in %s: %w", b.dir, fault(err))
	}
	return nil
}

// Locate finds the nearest folder that holds a bank: start itself ("" is the
// working folder) or one above it. ErrNoBank.
func Locate(start string) (dir string, err error) {
	dir, err = filepath.Abs(start)
	if err != nil {
		return "", fmt.Errorf("look for a bank from %s: %w", start, err)
	}
	for at := dir; ; at = filepath.Dir(at) {
		if info, err := os.Stat(filepath.Join(at, File)); err == nil && info.Mode().IsRegular() {
			return at, nil
		}
		if at == filepath.Dir(at) {
			return "", fmt.Errorf("%w in %s or any folder above it", ErrNoBank, dir)
		}
	}
}

// Open opens the bank in dir. An older bank is brought to the form of this
// program first: a copy is, and takes the bank's place when it is whole; for
// reading it is a copy that is thrown away after. ErrNoBank, ErrNewer,
// ErrDamaged, ErrBusy; ErrReadOnly for writing where only reading is allowed.
func Open(ctx context.Context, dir string, opt Options) (*Bank, error) {
	return open(ctx, dir, opt, forms())
}

func open(ctx context.Context, dir string, opt Options, forms []form) (*Bank, error) {
	b, err := prepare(dir, opt, len(forms))
	if err != nil {
		return nil, fmt.Errorf("open bank: %w", err)
	}
	path := filepath.Join(b.dir, File)
	switch info, err := os.Stat(path); {
	case errors.Is(err, fs.ErrNotExist), err == nil && !info.Mode().IsRegular():
		return nil, fmt.Errorf("%w in %s", ErrNoBank, b.dir)
	case err != nil:
		return nil, fmt.Errorf("open bank: %w (%w)", ErrReadOnly, err)
	}
	// The side files lie beside the file itself, not beside a link to it.
	if path, err = filepath.EvalSymlinks(path); err != nil {
		return nil, fmt.Errorf("open bank: %w (%w)", ErrReadOnly, err)
	}
	if opt.ReadOnly {
		err = b.openToRead(ctx, path, forms)
	} else {
		err = b.openToWrite(ctx, path, forms)
	}
	if err != nil {
		b.abandon()
		return nil, fmt.Errorf("open bank in %s: %w", b.dir, fault(err))
	}
	return b, nil
}

// prepare fills in what the options leave open.
func prepare(dir string, opt Options, form int) (*Bank, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	b := &Bank{dir: abs, who: opt.Who, now: opt.Now, opt: opt, form: form}
	if b.now == nil {
		b.now = time.Now
	}
	if b.who == "" && !opt.ReadOnly {
		b.who = "somebody"
		if u, err := user.Current(); err == nil && u.Username != "" {
			b.who = u.Username
		}
	}
	if b.opt.BusyTimeout == 0 {
		b.opt.BusyTimeout = 5 * time.Second
	}
	return b, nil
}

// abandon lets go of what a failed Open took.
func (b *Bank) abandon() {
	if b.db != nil {
		_ = b.db.Close()
	}
	if b.private != "" {
		_ = os.RemoveAll(b.private)
	}
}

func (b *Bank) openToWrite(ctx context.Context, path string, forms []form) error {
	version, err := b.connect(ctx, path, modeWrite)
	if err != nil {
		return err
	}
	if version != b.form {
		if err := b.db.Close(); err != nil {
			return err
		}
		if err := checkForm(version, b.form); err != nil {
			return err
		}
		if err := migrate(ctx, path, b.opt.BusyTimeout, forms); err != nil {
			return fmt.Errorf("bring the bank to form %d: %w", b.form, err)
		}
		if _, err = b.connect(ctx, path, modeWrite); err != nil {
			return err
		}
	}
	return b.readID(ctx)
}

// openToRead opens without ever changing bank.db:
//   - if another program left changes beside it (bank.db-wal), they are read
//     with it, and stay there;
//   - if not, SQLite makes its two side files and removes them again;
//   - where it can't make them (no right to, or no room), the file is read as
//     it lies; or, with changes beside it, a copy is.
func (b *Bank) openToRead(ctx context.Context, path string, forms []form) error {
	mode, last := modeQuery, modeImmutable
	if info, err := os.Stat(path + "-wal"); err == nil && info.Size() > 0 {
		mode, last = modeRead, modeCopy
	}
	version, err := b.connect(ctx, path, mode)
	if e := fault(err); errors.Is(e, ErrReadOnly) || errors.Is(e, ErrFull) {
		_ = b.db.Close()
		if last == modeCopy {
			version, err = b.connectCopy(ctx, path)
		} else {
			version, err = b.connect(ctx, path, last)
		}
	}
	if err != nil {
		return err
	}
	if version != b.form {
		if err := checkForm(version, b.form); err != nil {
			return err
		}
		if err := b.readOlder(ctx, forms); err != nil {
			return fmt.Errorf("read the bank in form %d: %w", b.form, err)
		}
	}
	return b.readID(ctx)
}

func (b *Bank) readID(ctx context.Context) error {
	err := b.db.QueryRowContext(ctx, "SELECT value FROM meta WHERE key = 'id'").Scan(&b.id)
	if isNone(err) {
		return fmt.Errorf("%w: it has no mark of its own", ErrDamaged)
	}
	return err
}

// read runs f on the bank as it is at one moment.
func (b *Bank) read(ctx context.Context, f func(view) error) error {
	tx, err := b.db.BeginTx(ctx, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return fmt.Errorf("read the bank: %w", fault(err))
	}
	defer func() { _ = tx.Rollback() }()
	return f(view{readyTx{tx, b.ready}})
}
