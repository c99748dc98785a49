package bank

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"rushlight/pkg/story"
)

// The tables about voices that go through the journal. The measures don't.
var (
	tableApart      = &table{name: "apart", key: []string{"one", "other"}}
	tableUnmeasured = &table{name: "unmeasured", key: []string{"name"}}
)

// Measures lists what voices are known by, in the order of Recordings.
func (b *Bank) Measures(ctx context.Context) ([]story.VoiceMeasure, error) {
	var list []story.VoiceMeasure
	err := view{b.db}.each(ctx, `SELECT r.reel, m.turns, m.body FROM measure AS m JOIN recording AS r ON r.key = m.reel
		ORDER BY `+shotOrder+`, m.turns`, nil, func(scan func(...any) error) error {
		var m story.VoiceMeasure
		err := scan(&m.Reel, &m.Turns, &m.Body)
		list = append(list, m)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read voices: %w", fault(err))
	}
	return list, nil
}

// PutMeasures stores what the voices of a reel are known by, in place of what
// was there. It is no entry in the journal: undo doesn't touch it. What was
// there is overwritten on the disk. ErrNotFound if there is no such reel; else
// as Change.
func (b *Bank) PutMeasures(ctx context.Context, reel string, list []story.VoiceMeasure) error {
	return b.measuring(ctx, func(conn *sql.Tx) error {
		var key string
		err := conn.QueryRowContext(ctx, "SELECT key FROM recording WHERE key = ?", fold(reel)).Scan(&key)
		if isNone(err) {
			return notFound("reel", reel)
		}
		if err != nil {
			return err
		}
		if _, err := conn.ExecContext(ctx, "DELETE FROM measure WHERE reel = ?", key); err != nil {
			return err
		}
		for _, m := range list {
			body := m.Body
			if body == nil {
				body = []byte{}
			}
			if _, err := conn.ExecContext(ctx, "INSERT OR REPLACE INTO measure (reel, turns, body) VALUES (?,?,?)", key, m.Turns, body); err != nil {
				return err
			}
		}
		return nil
	})
}

// ForgetMeasures empties measures for good: what they were is overwritten on
// the disk, in the database and in the file of changes beside it, and no undo
// brings it back. ErrBusy if another program has the bank open, so that the
// file of changes could not be emptied: then it is to be called again.
func (b *Bank) ForgetMeasures(ctx context.Context, list []story.VoiceMeasure) error {
	err := b.measuring(ctx, func(conn *sql.Tx) error {
		for _, m := range list {
			if _, err := conn.ExecContext(ctx, "UPDATE measure SET body = x'' WHERE reel = ? AND turns = ?", fold(m.Reel), m.Turns); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return err
	}
	// Until the changes are in the database and their file is empty, that file
	// holds old pages.
	var busy, pages, done int
	if err := b.db.QueryRowContext(ctx, "PRAGMA wal_checkpoint(TRUNCATE)").Scan(&busy, &pages, &done); err != nil {
		return fmt.Errorf("forget voices in %s: %w", b.dir, fault(err))
	}
	if busy != 0 {
		return fmt.Errorf("forget voices in %s: %w: another program has it open", b.dir, ErrBusy)
	}
	return nil
}

// measuring runs f as one transaction outside the journal; what it deletes is
// overwritten with zeros (https://www.sqlite.org/pragma.html#pragma_secure_delete).
func (b *Bank) measuring(ctx context.Context, f func(*sql.Tx) error) error {
	if b.opt.ReadOnly {
		return fmt.Errorf("change %s: %w: it was opened for reading", b.dir, ErrReadOnly)
	}
	tx, err := b.db.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("change %s: %w", b.dir, fault(err))
	}
	defer func() { _ = tx.Rollback() }()
	if err := b.sameForm(ctx, tx); err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, "PRAGMA secure_delete = ON"); err != nil {
		return fmt.Errorf("change %s: %w", b.dir, fault(err))
	}
	if err := f(tx); err != nil {
		return fmt.Errorf("change %s: %w", b.dir, fault(err))
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("change %s: %w", b.dir, fault(err))
	}
	return nil
}

// KeepApart says that two names are not one voice. Names are compared without
// case.
func (tx *Tx) KeepApart(one, other string) error {
	a, b := inOrder(one, other)
	if a == b {
		return fmt.Errorf("keep %q apart %w: want two names", one, story.ErrInvalid)
	}
	_, err := tx.put(tableApart, rowKey(a, b))
	return err
}

// LetTogether takes KeepApart back; pairs that weren't apart stay so.
func (tx *Tx) LetTogether(one, other string) error {
	a, b := inOrder(one, other)
	_, err := tx.del(tableApart, rowKey(a, b))
	return err
}

// RenameApart carries what is known of a name over to its new one.
func (tx *Tx) RenameApart(from, to string) error {
	var pairs [][2]string
	err := tx.each("SELECT one, other FROM apart WHERE ?1 IN (one, other)", fold(from), func(scan func(...any) error) error {
		var p [2]string
		err := scan(&p[0], &p[1])
		pairs = append(pairs, p)
		return err
	})
	if err != nil {
		return err
	}
	for _, p := range pairs {
		if _, err := tx.del(tableApart, rowKey(p[0], p[1])); err != nil {
			return err
		}
		other := p[0]
		if other == fold(from) {
			other = p[1]
		}
		if other == fold(to) {
			continue
		}
		if err := tx.KeepApart(to, other); err != nil {
			return err
		}
	}
	return nil
}

func inOrder(one, other string) (string, string) {
	a, b := fold(strings.TrimSpace(one)), fold(strings.TrimSpace(other))
	return min(a, b), max(a, b)
}

// Apart lists the pairs of names that are not one voice, folded.
func (b *Bank) Apart(ctx context.Context) ([][2]string, error) {
	var list [][2]string
	err := view{b.db}.each(ctx, "SELECT one, other FROM apart ORDER BY one, other", nil, func(scan func(...any) error) error {
		var p [2]string
		err := scan(&p[0], &p[1])
		list = append(list, p)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read voices: %w", fault(err))
	}
	return list, nil
}

// Unmeasure says that the voice of this name is not measured from now on.
func (tx *Tx) Unmeasure(name string) error {
	_, err := tx.put(tableUnmeasured, fold(strings.TrimSpace(name)))
	return err
}

// MeasureAgain takes Unmeasure back. ErrNotFound for a name that is measured.
func (tx *Tx) MeasureAgain(name string) error {
	was, err := tx.del(tableUnmeasured, fold(strings.TrimSpace(name)))
	if err == nil && !was {
		err = notFound("a voice that isn't measured, of", name)
	}
	return err
}

// Unmeasured lists the names whose voices are not measured, folded.
func (b *Bank) Unmeasured(ctx context.Context) ([]string, error) {
	var list []string
	err := view{b.db}.each(ctx, "SELECT name FROM unmeasured ORDER BY name", nil, func(scan func(...any) error) error {
		list = append(list, "")
		return scan(&list[len(list)-1])
	})
	if err != nil {
		return nil, fmt.Errorf("read voices: %w", fault(err))
	}
	return list, nil
}
