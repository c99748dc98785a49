package bank

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/story"
)

// The tables about voices that go through the journal. The measures don't.
var (
	tableApart      = &table{name: "apart", key: []string{"one", "other"}}
	tableUnmeasured = &table{name: "unmeasured", key: []string{"name"}}
	tableCompared   = &table{name: "compared", key: []string{"reel", "turns"}}
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
// was there. It is no part of the journal's entry: undo doesn't touch it. What
// was there is overwritten on the disk. ErrNotFound if there is no such reel.
func (tx *Tx) PutMeasures(reel string, list []story.VoiceMeasure) error {
	key, err := tx.reel(reel)
	if err != nil {
		return err
	}
	if err := tx.measuring("DELETE FROM measure WHERE reel = ?", key); err != nil {
		return err
	}
	for _, m := range list {
		body := m.Body
		if body == nil {
			body = []byte{}
		}
		if err := tx.measuring("INSERT OR REPLACE INTO measure (reel, turns, body) VALUES (?,?,?)", key, m.Turns, body); err != nil {
			return err
		}
	}
	return nil
}

// ForgetMeasures empties measures for good: what they were is overwritten in
// the database, and no undo brings it back. Call ScrubMeasures after the
// change.
func (tx *Tx) ForgetMeasures(list []story.VoiceMeasure) error {
	for _, m := range list {
		if err := tx.measuring("UPDATE measure SET body = x'' WHERE reel = ? AND turns = ?", fold(m.Reel), m.Turns); err != nil {
			return err
		}
	}
	return nil
}

// ScrubMeasures overwrites what was forgotten in the file of changes beside
// the database too. ErrBusy if another program has the bank open, so that the
// file could not be emptied: then it is to be called again.
func (b *Bank) ScrubMeasures(ctx context.Context) error {
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

// measuring writes beside the journal; what it deletes is overwritten with
// zeros (https://www.sqlite.org/pragma.html#pragma_secure_delete).
func (tx *Tx) measuring(query string, args ...any) error {
	if !tx.beside {
		if _, err := tx.conn.ExecContext(tx.ctx, "PRAGMA secure_delete = ON"); err != nil {
			return fault(err)
		}
	}
	tx.beside = true
	if _, err := tx.conn.ExecContext(tx.ctx, query, args...); err != nil {
		return fmt.Errorf("store measures: %w", fault(err))
	}
	return nil
}

// SetCompared says which voices of a reel, by the digests of their turns, were
// compared with those of other reels: these and no others. ErrNotFound if
// there is no such reel.
func (tx *Tx) SetCompared(reel string, turns []string) error {
	key, err := tx.reel(reel)
	if err != nil {
		return err
	}
	had, err := tx.texts("SELECT turns FROM compared WHERE reel = ?", key)
	if err != nil {
		return err
	}
	for _, t := range had {
		if !slices.Contains(turns, t) {
			if _, err := tx.del(tableCompared, rowKey(key, t)); err != nil {
				return err
			}
		}
	}
	for _, t := range turns {
		if _, err := tx.put(tableCompared, rowKey(key, t)); err != nil {
			return err
		}
	}
	return nil
}

// Compared tells which voices were compared with those of other reels, by reel
// and the digest of their turns.
func (b *Bank) Compared(ctx context.Context) (func(reel, turns string) bool, error) {
	rows := map[string]bool{}
	err := view{b.db}.each(ctx, "SELECT reel, turns FROM compared", nil, func(scan func(...any) error) error {
		var reel, turns string
		err := scan(&reel, &turns)
		rows[rowKey(reel, turns)] = true
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read voices: %w", err)
	}
	return func(reel, turns string) bool { return rows[rowKey(fold(reel), turns)] }, nil
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

// RenameVoice carries what is known of a name over to its new one: from whom
// it is kept apart, and that its voice isn't measured. If the two were apart,
// they aren't any more. The old name still isn't measured, should it come again.
func (tx *Tx) RenameVoice(from, to string) error {
	from, to = fold(strings.TrimSpace(from)), fold(strings.TrimSpace(to))
	if from == to {
		return nil
	}
	pairs, err := tx.view.apart(tx.ctx, "WHERE ?1 IN (one, other)", from)
	if err != nil {
		return err
	}
	for _, p := range pairs {
		if _, err := tx.del(tableApart, rowKey(p[0], p[1])); err != nil {
			return err
		}
		other := p[0]
		if other == from {
			other = p[1]
		}
		if other == to {
			continue
		}
		if err := tx.KeepApart(to, other); err != nil {
			return err
		}
	}
	silent, err := tx.has(tableUnmeasured, from)
	if err == nil && silent {
		err = tx.Unmeasure(to)
	}
	return err
}

func inOrder(one, other string) (string, string) {
	a, b := fold(strings.TrimSpace(one)), fold(strings.TrimSpace(other))
	return min(a, b), max(a, b)
}

// Apart tells which two names are not one voice.
func (b *Bank) Apart(ctx context.Context) (func(one, other string) bool, error) {
	list, err := view{b.db}.apart(ctx, "")
	if err != nil {
		return nil, fmt.Errorf("read voices: %w", err)
	}
	return func(one, other string) bool {
		a, b := inOrder(one, other)
		return slices.Contains(list, [2]string{a, b})
	}, nil
}

// apart lists pairs of names, folded and in order.
func (v view) apart(ctx context.Context, where string, args ...any) ([][2]string, error) {
	var list [][2]string
	err := v.each(ctx, "SELECT one, other FROM apart "+where+" ORDER BY one, other", args, func(scan func(...any) error) error {
		var p [2]string
		err := scan(&p[0], &p[1])
		list = append(list, p)
		return err
	})
	return list, err
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

// Unmeasured tells of which names the voice is not measured.
func (b *Bank) Unmeasured(ctx context.Context) (func(name string) bool, error) {
	names := map[string]bool{}
	err := view{b.db}.each(ctx, "SELECT name FROM unmeasured", nil, func(scan func(...any) error) error {
		var name string
		err := scan(&name)
		names[name] = true
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read voices: %w", err)
	}
	return func(name string) bool { return names[fold(strings.TrimSpace(name))] }, nil
}
