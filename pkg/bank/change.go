package bank

import (
	"cmp"
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"rushlight/pkg/story"
)

// Tx is one change under way. It is valid inside the function given to
// Change, for one goroutine at a time. It reads what it wrote.
type Tx struct {
	ctx   context.Context
	conn  *sql.Conn
	view  view
	stmts map[string]*sql.Stmt
	// rows are those written so far; ahead holds images of others, read
	// together just before they are asked for.
	rows  map[rowID]rowChange
	ahead map[rowID][]byte
	// entry is the number of the journal's entry, 0 until there is one, and
	// pending are rows that are yet to be written into it.
	entry   int64
	pending []pendingRow
	// beside tells that something was written that isn't in the journal.
	beside  bool
	summary string
	who     string
	now     func() time.Time
	at      time.Time
	done    bool
}

// pendingRow is a row that has changed, as it was before.
type pendingRow struct {
	rowID
	before []byte
}

// moment is when the change happens: the same in all its rows and in its
// entry.
func (tx *Tx) moment() time.Time {
	if tx.at.IsZero() {
		tx.at = tx.now().UTC().Round(0)
	}
	return tx.at
}

// SetSummary replaces the summary given to Change, once counts are known.
func (tx *Tx) SetSummary(s string) { tx.summary = s }

// Change runs f as one transaction and writes one entry into the journal: all
// of it happens, or nothing. If f changes nothing there is no entry and its
// Number is 0. If f returns an error, nothing is changed and the error is
// returned as it is. kind is the command that makes the change, summary says
// it in one line. ErrBusy if another program kept writing for BusyTimeout,
// ErrReadOnly, ErrFull. f must not call Change.
func (b *Bank) Change(ctx context.Context, kind, summary string, f func(*Tx) error) (story.Entry, error) {
	return b.change(ctx, kind, summary, func(tx *Tx) (int64, error) { return 0, f(tx) })
}

// change is Change with a function that also says which entry it undoes.
func (b *Bank) change(ctx context.Context, kind, summary string, f func(*Tx) (int64, error)) (story.Entry, error) {
	if b.opt.ReadOnly {
		return story.Entry{}, fmt.Errorf("change %s: %w: it was opened for reading", b.dir, ErrReadOnly)
	}
	conn, err := b.db.Conn(ctx)
	if err != nil {
		return story.Entry{}, fmt.Errorf("change %s: %w", b.dir, fault(err))
	}
	defer func() { _ = conn.Close() }()
	// A change takes the right to write when it begins, so that it waits there
	// and never fails half way.
	if _, err := conn.ExecContext(ctx, "BEGIN IMMEDIATE"); err != nil {
		return story.Entry{}, fmt.Errorf("change %s: %w", b.dir, fault(err))
	}
	tx := &Tx{
		ctx: ctx, conn: conn, view: view{conn}, summary: summary, who: b.who, now: b.now,
		stmts: map[string]*sql.Stmt{}, rows: map[rowID]rowChange{}, ahead: map[rowID][]byte{},
	}
	// It also ends a transaction whose f panics.
	defer tx.end()
	if err := b.sameForm(ctx, conn); err != nil {
		return story.Entry{}, err
	}
	undoes, err := f(tx)
	if err != nil {
		if ctx.Err() != nil {
			// Whatever it failed with came of that.
			err = ctx.Err()
		}
		return story.Entry{}, err
	}
	e, err := tx.commit(story.Entry{Who: b.who, Kind: kind, Undoes: undoes})
	if err != nil {
		return story.Entry{}, fmt.Errorf("change %s: %w", b.dir, fault(err))
	}
	return e, nil
}

// commit writes the journal's entry and ends the transaction for good. A
// change that changed nothing has no entry.
func (tx *Tx) commit(e story.Entry) (story.Entry, error) {
	rows, err := tx.finish()
	if err != nil {
		return e, err
	}
	switch {
	case rows > 0:
		e.Number, e.When, e.Summary, e.Rows = tx.entry, tx.moment(), tx.summary, rows
		err = tx.enter(e)
	case !tx.beside:
		return story.Entry{}, nil
	case tx.entry > 0:
		// All rows are again as they were.
		_, err = tx.conn.ExecContext(tx.ctx, "DELETE FROM journal WHERE entry = ?", tx.entry)
	}
	if err == nil {
		err = tx.ctx.Err()
	}
	if err != nil {
		return e, err
	}
	// From here on it isn't stopped any more.
	if _, err := tx.conn.ExecContext(context.WithoutCancel(tx.ctx), "COMMIT"); err != nil {
		return e, err
	}
	tx.done = true
	if rows == 0 {
		e = story.Entry{}
	}
	return e, nil
}

// end lets go of what the transaction holds and takes it back if it isn't
// done, before Change returns: a program may end right after.
func (tx *Tx) end() {
	for _, s := range tx.stmts {
		_ = s.Close()
	}
	if tx.done {
		return
	}
	if _, err := tx.conn.ExecContext(context.WithoutCancel(tx.ctx), "ROLLBACK"); err != nil {
		// SQLite may have done it itself; the connection isn't used again.
		_ = tx.conn.Raw(func(any) error { return driver.ErrBadConn })
	}
}

// sameForm refuses to write if a newer program has brought the bank to a new
// form, or is about to, since it was opened here.
func (b *Bank) sameForm(ctx context.Context, q querier) error {
	var version int
	if err := q.QueryRowContext(ctx, "PRAGMA user_version").Scan(&version); err != nil {
		return fmt.Errorf("change %s: %w", b.dir, fault(err))
	}
	switch {
	case version < 0:
		return fmt.Errorf("change %s: %w: it is being brought to a newer form", b.dir, ErrBusy)
	case version != b.form:
		return fmt.Errorf("change %s: %w: form %d, this program writes form %d", b.dir, ErrNewer, version, b.form)
	}
	return nil
}

// changeBatch is how many rows of the journal go into one statement, and
// pendingMost how many wait for that: they are sorted then, for the journal is
// written in order of its key.
const changeBatch, pendingMost = 64, 1024

// note writes down how a row was before its first change.
func (tx *Tx) note(id rowID, before []byte) error {
	tx.pending = append(tx.pending, pendingRow{id, before})
	if len(tx.pending) < pendingMost {
		return nil
	}
	return tx.flush()
}

// flush writes the pending rows into the journal.
func (tx *Tx) flush() error {
	if len(tx.pending) == 0 {
		return nil
	}
	if tx.entry == 0 {
		// What else it says is known at the end.
		err := tx.conn.QueryRowContext(tx.ctx, `INSERT INTO journal (entry, at, who, kind, summary, undoes, changes)
			SELECT coalesce(max(entry), 0) + 1, '', '', '', '', 0, 0 FROM journal RETURNING entry`).Scan(&tx.entry)
		if err != nil {
			return fault(err)
		}
	}
	slices.SortFunc(tx.pending, func(a, b pendingRow) int {
		return cmp.Or(strings.Compare(a.table.name, b.table.name), strings.Compare(a.key, b.key))
	})
	for part := range slices.Chunk(tx.pending, changeBatch) {
		args := make([]any, 0, 4*len(part))
		for _, r := range part {
			var before any
			if r.before != nil {
				before = r.before
			}
			args = append(args, tx.entry, r.table.name, r.key, before)
		}
		stmt, err := tx.prepare("INSERT INTO change (entry, tbl, key, before) VALUES (?,?,?,?)" +
			strings.Repeat(",(?,?,?,?)", len(part)-1))
		if err != nil {
			return err
		}
		if _, err := stmt.ExecContext(tx.ctx, args...); err != nil {
			return fault(err)
		}
	}
	clear(tx.pending)
	tx.pending = tx.pending[:0]
	return nil
}

// finish writes what is pending, takes rows out of the journal that are again
// as they were, and counts those that aren't.
func (tx *Tx) finish() (rows int, err error) {
	if err := tx.flush(); err != nil {
		return 0, err
	}
	for id, r := range tx.rows {
		if r.before != r.now {
			rows++
			continue
		}
		stmt, err := tx.prepare("DELETE FROM change WHERE entry = ? AND tbl = ? AND key = ?")
		if err != nil {
			return 0, err
		}
		if _, err := stmt.ExecContext(tx.ctx, tx.entry, id.table.name, id.key); err != nil {
			return 0, err
		}
	}
	return rows, nil
}

// enter writes the entry itself.
func (tx *Tx) enter(e story.Entry) error {
	_, err := tx.conn.ExecContext(tx.ctx, "UPDATE journal SET at = ?, who = ?, kind = ?, summary = ?, undoes = ?, changes = ? WHERE entry = ?",
		moment(e.When), e.Who, e.Kind, e.Summary, e.Undoes, e.Rows, e.Number)
	return err
}

// moment is how a time of day is stored; the zero time is "".
func moment(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format(time.RFC3339Nano)
}

func readMoment(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return t, fmt.Errorf("%w: %q is not a moment", ErrDamaged, s)
	}
	return t, nil
}

// notFound is a "not found" with the name that was looked for.
func notFound(what, name string) error {
	return fmt.Errorf("%s %q is %w", what, name, ErrNotFound)
}

func isNone(err error) bool { return errors.Is(err, sql.ErrNoRows) }
