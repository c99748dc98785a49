package bank

import (
	"context"
	"fmt"

	"rushlight/pkg/story"
)

// syncSQL reads syncs with the reels as they are written; a condition and
// order follow it.
const syncSQL = `SELECT p.reel, r.reel, s.shift, s.drift_ppb, s.confidence, s.told_by, s.timecode, s.apart
	FROM sync AS s JOIN recording AS p ON p.key = s.picture JOIN recording AS r ON r.key = s.sound `

// bestSync orders the syncs of one sound reel: the surest first, of equals
// what was heard before what only timecode says.
const bestSync = "s.confidence DESC, s.told_by = 'timecode', s.picture"

// Syncs lists which picture reels belong to which sound reels: in the order of
// Recordings by sound reel, for each the surest first.
func (b *Bank) Syncs(ctx context.Context) ([]story.Sync, error) {
	return view{b.db}.syncs(ctx, "ORDER BY "+shotOrder+", "+bestSync)
}

// SyncsOf gives the syncs of a sound reel, the surest first; none if no picture
// reel was lined up with it.
func (b *Bank) SyncsOf(ctx context.Context, soundReel string) ([]story.Sync, error) {
	return view{b.db}.syncs(ctx, "WHERE s.sound = ? ORDER BY "+bestSync, fold(soundReel))
}

func (v view) syncs(ctx context.Context, tail string, args ...any) ([]story.Sync, error) {
	var list []story.Sync
	err := v.each(ctx, syncSQL+tail, args, func(scan func(...any) error) error {
		var s story.Sync
		err := scan(&s.Picture, &s.Sound, &s.Offset, &s.DriftPPB, &s.Confidence, &s.By, &s.HasTimecode, &s.Disagreement)
		list = append(list, s)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("read syncs: %w", err)
	}
	return list, nil
}

// PutSync stores how a picture reel lies on a sound reel, in place of what was
// known of these two. A picture reel may belong to several sound reels (the
// recorder was stopped), and a sound reel have several pictures (two cameras).
// ErrNotFound if one of the reels isn't there; story.ErrInvalid.
func (tx *Tx) PutSync(s story.Sync) error {
	if err := s.Valid(); err != nil {
		return err
	}
	picture, err := tx.reel(s.Picture)
	if err != nil {
		return err
	}
	sound, err := tx.reel(s.Sound)
	if err != nil {
		return err
	}
	if picture == sound {
		return fmt.Errorf("sync of %s with %s %w: they are one reel", s.Picture, s.Sound, story.ErrInvalid)
	}
	if !s.HasTimecode {
		s.Disagreement = 0
	}
	_, err = tx.put(tableSync, rowKey(picture, sound),
		int64(s.Offset), s.DriftPPB, s.Confidence, s.By, s.HasTimecode, int64(s.Disagreement))
	return err
}

// RemoveSync forgets how a picture reel lies on a sound reel; nothing happens if
// that wasn't known. ErrNotFound if one of the reels isn't there.
func (tx *Tx) RemoveSync(picture, sound string) error {
	p, err := tx.reel(picture)
	if err != nil {
		return err
	}
	s, err := tx.reel(sound)
	if err != nil {
		return err
	}
	_, err = tx.del(tableSync, rowKey(p, s))
	return err
}

func (tx *Tx) removeSyncs(where, key string) error {
	var rows []string
	err := tx.each("SELECT picture, sound FROM sync WHERE "+where, key, func(scan func(...any) error) error {
		var picture, sound string
		err := scan(&picture, &sound)
		rows = append(rows, rowKey(picture, sound))
		return err
	})
	if err != nil {
		return err
	}
	for _, row := range rows {
		if _, err := tx.del(tableSync, row); err != nil {
			return err
		}
	}
	return nil
}
