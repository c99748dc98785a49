package bank

import (
	"context"
	"database/sql"
	"fmt"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// querier is what a pool of connections and a transaction have in common.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
	QueryRowContext(ctx context.Context, query string, args ...any) *sql.Row
	PrepareContext(ctx context.Context, query string) (*sql.Stmt, error)
}

// view reads the bank through one querier.
type view struct{ q querier }

// each runs a query and hands its rows on.
func (v view) each(ctx context.Context, query string, args []any, f func(scan func(...any) error) error) error {
	rows, err := v.q.QueryContext(ctx, query, args...)
	if err != nil {
		return fault(err)
	}
	defer func() { _ = rows.Close() }()
	for rows.Next() {
		if err := f(rows.Scan); err != nil {
			return fault(err)
		}
	}
	return fault(rows.Err())
}

// shotOrder is story.CompareShots for recordings called r.
const shotOrder = "r.day COLLATE " + byNumbers + ", r.start, r.key COLLATE " + byNumbers + ", r.key"

// Recordings lists all recordings in the order of shooting
// (story.CompareShots).
func (b *Bank) Recordings(ctx context.Context) ([]story.Recording, error) {
	return view{b.db}.recordings(ctx, "", nil)
}

// Recording finds a reel by name, in any case. ErrNotFound.
func (b *Bank) Recording(ctx context.Context, reel string) (story.Recording, error) {
	return view{b.db}.recording(ctx, reel)
}

// ByEssence finds a recording by the hash of its sound. Here and below, the
// first in the order of Recordings; ErrNotFound, also for an empty argument.
func (b *Bank) ByEssence(ctx context.Context, essence string) (story.Recording, error) {
	return view{b.db}.by(ctx, "essence", "sound", essence)
}

// ByPath finds a recording by where its sound was last seen.
func (b *Bank) ByPath(ctx context.Context, path string) (story.Recording, error) {
	return view{b.db}.by(ctx, "path", "recording", path)
}

// ByTranscriptPath finds a recording by where its transcript was last seen.
func (b *Bank) ByTranscriptPath(ctx context.Context, path string) (story.Recording, error) {
	return view{b.db}.by(ctx, "tr_path", "transcript", path)
}

// ByTranscriptDigest finds a recording by the hash of its transcript.
func (b *Bank) ByTranscriptDigest(ctx context.Context, digest string) (story.Recording, error) {
	return view{b.db}.by(ctx, "tr_digest", "transcript", digest)
}

func (v view) recording(ctx context.Context, reel string) (story.Recording, error) {
	list, err := v.recordings(ctx, "WHERE key = ?", fold(reel))
	if err == nil && len(list) == 0 {
		err = notFound("reel", reel)
	}
	if err != nil {
		return story.Recording{}, err
	}
	return list[0], nil
}

func (v view) by(ctx context.Context, column, what, value string) (story.Recording, error) {
	if value == "" {
		return story.Recording{}, notFound(what, value)
	}
	list, err := v.recordings(ctx, "WHERE "+column+" = ?", value)
	if err == nil && len(list) == 0 {
		err = notFound(what, value)
	}
	if err != nil {
		return story.Recording{}, err
	}
	return list[0], nil
}

// recordings reads those that a condition with at most one argument picks.
func (v view) recordings(ctx context.Context, where string, arg any) ([]story.Recording, error) {
	var args []any
	if arg != nil {
		args = append(args, arg)
	}
	rows, err := v.q.QueryContext(ctx, "SELECT "+strings.Join(tableRecording.cols, ",")+
		" FROM recording AS r "+where+" ORDER BY "+shotOrder, args...)
	if err != nil {
		return nil, fmt.Errorf("read recordings: %w", fault(err))
	}
	defer func() { _ = rows.Close() }()
	var list []story.Recording
	for rows.Next() {
		r, err := scanRecording(rows)
		if err != nil {
			return nil, fmt.Errorf("read recordings: %w", fault(err))
		}
		list = append(list, r)
	}
	if err := rows.Err(); err != nil {
		return nil, fmt.Errorf("read recordings: %w", fault(err))
	}
	return list, nil
}

func scanRecording(rows *sql.Rows) (story.Recording, error) {
	var r story.Recording
	var modified, trModified string
	var tracks, markers []byte
	c := &r.Clock
	err := rows.Scan(&r.Reel, &r.Essence, &r.Path, &r.Bytes, &modified, &r.Duration, &r.SampleRate,
		&r.Channels, &r.Encoding, &tracks, &c.Base.Rate.Num, &c.Base.Rate.Den, &c.Base.Drop, &c.Start,
		&r.Day, &r.Scene, &r.Take, &r.Tape, &r.Description, &r.Originator, &r.Note, &markers,
		&r.Unfinished, &r.Language, &r.Transcript.Path, &r.Transcript.Digest, &r.Transcript.Format,
		&r.Transcript.Encoding, &r.Transcript.Bytes, &trModified)
	if err != nil {
		return r, err
	}
	if r.Modified, err = readMoment(modified); err != nil {
		return r, err
	}
	if r.Transcript.Modified, err = readMoment(trModified); err != nil {
		return r, err
	}
	if r.TrackNames, err = unpackNames(tracks); err != nil {
		return r, err
	}
	r.Markers, err = unpackMarkers(markers)
	return r, err
}

// Recordings lists all recordings as Bank.Recordings does, as they are inside
// the change.
func (tx *Tx) Recordings() ([]story.Recording, error) { return tx.view.recordings(tx.ctx, "", nil) }

// Recording finds a reel by name, in any case. ErrNotFound.
func (tx *Tx) Recording(reel string) (story.Recording, error) { return tx.view.recording(tx.ctx, reel) }

// PutRecording stores a recording, new or under a reel name that is there (in
// any case; the spelling is that of r). It keeps the reel's quotes and what
// was heard. Times of files are kept to the nanosecond, in UTC.
func (tx *Tx) PutRecording(r story.Recording) error {
	if err := r.Valid(); err != nil {
		return err
	}
	c, t := r.Clock, r.Transcript
	_, err := tx.put(tableRecording, fold(r.Reel),
		r.Reel, r.Essence, r.Path, r.Bytes, moment(r.Modified), int64(r.Duration), r.SampleRate,
		r.Channels, r.Encoding, packNames(r.TrackNames), c.Base.Rate.Num, c.Base.Rate.Den, c.Base.Drop, int64(c.Start),
		r.Day, r.Scene, r.Take, r.Tape, r.Description, r.Originator, r.Note, packMarkers(r.Markers),
		r.Unfinished, r.Language, t.Path, t.Digest, t.Format, t.Encoding, t.Bytes, moment(t.Modified))
	return err
}

// RemoveRecording takes a reel out of the bank with what was heard, its syncs
// and its quotes, whose codes are never used again. The file itself stays untouched.
func (tx *Tx) RemoveRecording(reel string) error {
	key, err := tx.reel(reel)
	if err != nil {
		return err
	}
	if err := tx.putQuotes(key, nil); err != nil {
		return err
	}
	if err := tx.removeSyncs("picture = ?1 OR sound = ?1", key); err != nil {
		return err
	}
	if err := tx.SetCompared(reel, nil); err != nil {
		return err
	}
	for _, t := range []*table{tableHeard, tableEnvelope, tableRecording} {
		if _, err := tx.del(t, key); err != nil {
			return err
		}
	}
	return nil
}

// reel gives the key of a reel that is there.
func (tx *Tx) reel(reel string) (string, error) {
	key := fold(reel)
	ok, err := tx.has(tableRecording, key)
	if err == nil && !ok {
		err = notFound("reel", reel)
	}
	return key, err
}

// SetFilm stores what the whole bank is about.
func (tx *Tx) SetFilm(f Film) error {
	_, err := tx.put(tableFilm, "1", f.Title, f.Note, f.Base.Rate.Num, f.Base.Rate.Den, f.Base.Drop)
	return err
}

// film is what the whole bank is about; zero if it wasn't set.
func (v view) film(ctx context.Context) (Film, error) {
	var f Film
	r := &f.Base.Rate
	err := v.q.QueryRowContext(ctx, "SELECT title, note, rate_num, rate_den, drop_frame FROM film").
		Scan(&f.Title, &f.Note, &r.Num, &r.Den, &f.Base.Drop)
	if isNone(err) {
		return Film{}, nil
	}
	return f, fault(err)
}

// clockColumns are how a clock is stored.
func clockColumns(c timecode.Clock) []any {
	return []any{c.Base.Rate.Num, c.Base.Rate.Den, c.Base.Drop, int64(c.Start)}
}
