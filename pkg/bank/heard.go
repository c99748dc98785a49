package bank

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Heard gives what was heard in a reel. ErrNotFound if there is no such reel
// or it was not heard yet.
func (b *Bank) Heard(ctx context.Context, reel string) (*story.Heard, error) {
	return view{b.db}.heard(ctx, reel)
}

func (v view) heard(ctx context.Context, reel string) (*story.Heard, error) {
	var h *story.Heard
	size := 0
	err := v.each(ctx, `SELECT h.version, h.duration, h.body, e.body
		FROM heard AS h JOIN envelope AS e ON e.reel = h.reel WHERE h.reel = ?`, []any{fold(reel)}, func(scan func(...any) error) error {
		var version int
		var duration timecode.Ticks
		var body, envelope sql.RawBytes // an envelope is large: it isn't copied
		err := scan(&version, &duration, &body, &envelope)
		if err != nil {
			return err
		}
		if h, err = unpackHeard(body); err != nil {
			return err
		}
		h.Version, h.Duration, size = version, duration, len(envelope)
		h.Envelope, err = unpackEnvelope(envelope)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read what was heard in %s: %w", reel, err)
	}
	if h == nil {
		return nil, notFound("what was heard in reel", reel)
	}
	makeRoom(size) // of what was unpacked nobody needs the packed form
	return h, nil
}

// Turns gives who talks when in each reel that was heard, by reel.
func (b *Bank) Turns(ctx context.Context) (map[string][]story.Turn, error) {
	turns := map[string][]story.Turn{}
	err := view{b.db}.each(ctx, "SELECT r.reel, h.body FROM heard AS h JOIN recording AS r ON r.key = h.reel", nil, func(scan func(...any) error) error {
		var reel string
		var body []byte
		if err := scan(&reel, &body); err != nil {
			return err
		}
		h, err := unpackHeard(body)
		if err != nil {
			return fmt.Errorf("reel %s: %w", reel, err)
		}
		turns[reel] = h.Turns
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("read turns: %w", err)
	}
	return turns, nil
}

// PutHeard stores what was heard in a reel, in place of what was there.
// ErrNotFound if there is no such reel.
func (tx *Tx) PutHeard(reel string, h story.Heard) error {
	key, err := tx.reel(reel)
	if err != nil {
		return err
	}
	if err := tx.putHeard(key, h); err != nil {
		return err
	}
	body := packEnvelope(h.Envelope)
	makeRoom(len(body)) // the levels themselves may go now
	_, err = tx.put(tableEnvelope, key, body)
	return err
}

// putHeard stores all but the envelope.
func (tx *Tx) putHeard(key string, h story.Heard) error {
	var speech timecode.Ticks
	for _, s := range h.Speech {
		speech += s.Length()
	}
	_, err := tx.put(tableHeard, key, h.Version, int64(h.Duration), int64(speech), packHeard(h))
	return err
}

// SetSpeaker gives the speaker called from, in any case, the name to, in the
// quotes and turns of one reel; from "" means those without a name. It tells
// how many quotes and how many turns that changed. ErrNotFound if there is no
// such reel.
func (tx *Tx) SetSpeaker(reel, from, to string) (quotes, turns int, err error) {
	key, err := tx.reel(reel)
	if err != nil {
		return 0, 0, err
	}
	to = strings.TrimSpace(to)
	spelt, err := tx.texts("SELECT DISTINCT speaker FROM quote WHERE reel = ?", key)
	if err != nil {
		return 0, 0, err
	}
	for _, name := range spelt {
		if !strings.EqualFold(name, from) || name == to {
			continue
		}
		n, err := tx.renameQuotes(key, name, to)
		if err != nil {
			return quotes, 0, err
		}
		quotes += n
	}
	turns, err = tx.renameTurns(key, from, to)
	return quotes, turns, err
}

// renameQuotes gives the quotes of a reel whose speaker is called from another
// name, some at a time.
func (tx *Tx) renameQuotes(key, from, to string) (n int, err error) {
	defer clear(tx.ahead)
	for last := int64(-1); ; {
		rows, err := tx.quoteRows("reel = ? AND speaker = ? AND ord > ? ORDER BY ord LIMIT ?", key, from, last, codeBatch)
		if err != nil || len(rows) == 0 {
			return n, err
		}
		for _, r := range rows {
			last, r.speaker = r.ord, to
			if err := tx.putQuoteRow(r); err != nil {
				return n, err
			}
		}
		n += len(rows)
		clear(tx.ahead)
	}
}

func (tx *Tx) renameTurns(key, from, to string) (n int, err error) {
	vals, err := tx.values(tableHeard, key)
	if err != nil || vals == nil {
		return 0, err
	}
	body, _ := vals[3].([]byte)
	h, err := unpackHeard(body)
	if err != nil {
		return 0, err
	}
	for i, t := range h.Turns {
		if strings.EqualFold(t.Speaker, from) && t.Speaker != to {
			h.Turns[i].Speaker = to
			n++
		}
	}
	if n == 0 {
		return 0, nil
	}
	vals[3] = packHeard(*h)
	_, err = tx.put(tableHeard, key, vals...)
	return n, err
}
