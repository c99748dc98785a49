package bank

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"modernc.org/sqlite"
)

//go:embed migrations/*.sql
var migrationFiles embed.FS

// form is one step of the bank's form: the SQL that makes form n of n−1.
type form struct{ name, sql string }

// forms lists all steps; the number of the last is the form this program
// reads and writes. Steps are only ever added.
func forms() []form {
	names := []string{"0001-bank.sql", "0002-themes-and-sync.sql", "0003-voices.sql", "0004-compared.sql"}
	list := make([]form, len(names))
	for i, n := range names {
		// An embedded file is always there.
		text, _ := migrationFiles.ReadFile("migrations/" + n)
		list[i] = form{n, string(text)}
	}
	return list
}

// apply brings a database from one form to the last, each step whole or not
// at all.
func apply(ctx context.Context, db *sql.DB, forms []form, from int) error {
	for n := from; n < len(forms); n++ {
		tx, err := db.BeginTx(ctx, nil)
		if err != nil {
			return fmt.Errorf("%s: %w", forms[n].name, err)
		}
		_, err = tx.ExecContext(ctx, forms[n].sql)
		if err == nil {
			_, err = tx.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", n+1))
		}
		if err == nil {
			err = tx.Commit()
		}
		if err != nil {
			_ = tx.Rollback()
			return fmt.Errorf("%s: %w", forms[n].name, err)
		}
	}
	return nil
}

// takeAlone locks a bank for one connection. Leaving WAL mode needs the bank
// for itself and brings all changes into the one file; with the locking mode
// the exclusive lock outlives its transaction and stays until the connection
// is closed (a backup can't be taken inside a transaction that writes).
const takeAlone = "PRAGMA journal_mode = DELETE; PRAGMA locking_mode = EXCLUSIVE; BEGIN EXCLUSIVE; COMMIT"

// migrate brings the bank at path to the last form: a copy of it is brought
// there and checked, then takes its place; the old one is kept as
// bank-vN.db until the new one is in place. Nobody else may have the bank open
// meanwhile (ErrBusy), and a program that waits to write into the old file
// finds it marked and lets it be. After a failure at any point the next Open
// begins anew.
func migrate(ctx context.Context, path string, busy time.Duration, forms []form) (err error) {
	old, err := sql.Open("sqlite", source(path, modeWrite, busy))
	if err != nil {
		return err
	}
	defer func() { _ = old.Close() }()
	conn, err := old.Conn(ctx)
	if err != nil {
		return err
	}
	defer func() { _ = conn.Close() }()
	if _, err := conn.ExecContext(ctx, takeAlone); err != nil {
		return err
	}
	var version int
	defer func() {
		if err != nil {
			// What a failure leaves is the bank as it was.
			later := context.WithoutCancel(ctx)
			if version != 0 {
				_, _ = conn.ExecContext(later, fmt.Sprintf("PRAGMA user_version = %d", version))
			}
			_, _ = conn.ExecContext(later, "PRAGMA journal_mode = WAL")
		}
	}()
	found, err := readForm(ctx, conn)
	if err != nil {
		return err
	}
	if err := checkForm(found, len(forms)); err != nil {
		return err
	}
	version = max(found, -found)
	if version == len(forms) {
		// Another program was quicker, or a newer one stopped half way.
		_, err := conn.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d; PRAGMA journal_mode = WAL", version))
		return err
	}
	return migrateLocked(ctx, conn, path, version, forms, func() error {
		return errors.Join(conn.Close(), old.Close())
	})
}

// migrateLocked works on a bank that conn holds locked; release lets it go.
func migrateLocked(ctx context.Context, conn *sql.Conn, path string, version int, forms []form, release func() error) error {
	dir := filepath.Dir(path)
	kept := filepath.Join(dir, fmt.Sprintf("bank-v%d.db", version))
	next := filepath.Join(dir, fmt.Sprintf("bank-new-v%d.db", len(forms)))
	removeDatabase(next)
	defer removeDatabase(next)
	if err := backup(conn, next); err != nil {
		return err
	}
	if err := modernise(ctx, next, version, forms, check); err != nil {
		return err
	}
	// A program that waits for the lock finds this mark when it gets it.
	if _, err := conn.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", -version)); err != nil {
		return err
	}
	removeDatabase(kept)
	if err := os.Link(path, kept); err != nil {
		// A file system without hard links.
		if err := backup(conn, kept); err != nil {
			return err
		}
	}
	if info, err := os.Stat(path); err == nil {
		// The new one may be used by whom the old one may.
		_ = os.Chmod(next, info.Mode().Perm())
	}
	if err := os.Rename(next, path); err != nil {
		// Some systems don't rename over an open file.
		if err := errors.Join(release(), os.Rename(next, path)); err != nil {
			return fmt.Errorf("put the new bank in its place: %w", denied(err))
		}
	}
	// It works without this; the old file is only litter now.
	_ = os.Remove(kept)
	return nil
}

// backup copies the database of a connection, as it sees it, into a new file.
func backup(conn *sql.Conn, to string) error {
	return conn.Raw(func(driverConn any) error {
		source, ok := driverConn.(interface {
			NewBackup(string) (*sqlite.Backup, error)
		})
		if !ok {
			return errors.New("the SQLite driver can't copy")
		}
		b, err := source.NewBackup(fileURI(to))
		if err != nil {
			return err
		}
		for more := true; more && err == nil; {
			more, err = b.Step(-1)
		}
		if finishErr := b.Finish(); err == nil {
			err = finishErr
		}
		return err
	})
}

// modernise brings a copy to the last form and asks check about it.
func modernise(ctx context.Context, path string, version int, forms []form, check func(context.Context, querier) error) error {
	db, err := sql.Open("sqlite", source(path, modeWrite, 0))
	if err != nil {
		return err
	}
	defer func() { _ = db.Close() }()
	if _, err := db.ExecContext(ctx, fmt.Sprintf("PRAGMA user_version = %d", version)); err != nil {
		return err
	}
	if err := apply(ctx, db, forms, version); err != nil {
		return err
	}
	if err := check(ctx, db); err != nil {
		return err
	}
	if _, err := db.ExecContext(ctx, "PRAGMA journal_mode = WAL"); err != nil {
		return err
	}
	return db.Close()
}

// unchecked is for a copy that is only read and thrown away: on a bank of a
// million quotes the check takes seconds.
func unchecked(context.Context, querier) error { return nil }

// check asks SQLite whether a bank is whole.
func check(ctx context.Context, q querier) error {
	for _, pragma := range []string{"integrity_check", "foreign_key_check"} {
		rows, err := q.QueryContext(ctx, "PRAGMA "+pragma)
		if err != nil {
			return err
		}
		cols, err := rows.Columns()
		if err != nil {
			_ = rows.Close()
			return err
		}
		var said []string
		for rows.Next() {
			vals, into := make([]sql.NullString, len(cols)), make([]any, len(cols))
			for i := range vals {
				into[i] = &vals[i]
			}
			if err := rows.Scan(into...); err != nil {
				_ = rows.Close()
				return err
			}
			line := ""
			for _, v := range vals {
				line += " " + v.String
			}
			said = append(said, strings.TrimSpace(line))
		}
		if err := errors.Join(rows.Err(), rows.Close()); err != nil {
			return err
		}
		if len(said) > 0 && said[0] != "ok" {
			return fmt.Errorf("%w: %s says %s", ErrDamaged, pragma, said[0])
		}
	}
	return nil
}

// readOlder replaces the open bank by a private copy in the last form.
func (b *Bank) readOlder(ctx context.Context, forms []form) error {
	conn, err := b.db.Conn(ctx)
	if err != nil {
		return err
	}
	version, err := readForm(ctx, conn)
	if err != nil {
		_ = conn.Close()
		return err
	}
	path, err := b.privateFile()
	if err != nil {
		_ = conn.Close()
		return err
	}
	path = filepath.Join(filepath.Dir(path), "older.db")
	if err := errors.Join(backup(conn, path), conn.Close(), b.db.Close()); err != nil {
		return err
	}
	if err := modernise(ctx, path, max(version, -version), forms, unchecked); err != nil {
		return err
	}
	_, err = b.connect(ctx, path, modeCopy)
	return err
}
