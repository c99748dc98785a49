package bank

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func TestSyncs(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	do(t, b, "ingest", func(tx *Tx) error {
		return errors.Join(tx.PutRecording(recording("CAM-A", "D2")), tx.PutRecording(recording("CAM-B", "D2")), tx.PutRecording(recording("CAM-C", "D2")))
	})
	a := story.Sync{
		Picture: "CAM-A", Sound: "D2-INT2", Offset: -7*timecode.Second - 1, DriftPPB: -41_234, Confidence: 870,
		By: story.SyncBySound, HasTimecode: true, Disagreement: -40 * timecode.Millisecond,
	}
	other := story.Sync{Picture: "CAM-B", Sound: "D2-INT2", Offset: 3, Confidence: 900, By: story.SyncByTimecode, HasTimecode: true}
	sure := story.Sync{Picture: "CAM-C", Sound: "D2-INT2", Offset: 5, Confidence: 900, By: story.SyncBySound}
	first := story.Sync{Picture: "CAM-A", Sound: "D1-INT1", Offset: 9, Confidence: 500, By: story.SyncBySound}
	spelled := a
	spelled.Picture, spelled.Sound = "cam-a", "d2-int2"
	bare := sure
	bare.Disagreement = 99
	before := dump(t, b)
	do(t, b, "sync", func(tx *Tx) error {
		return errors.Join(tx.PutSync(first), tx.PutSync(other), tx.PutSync(spelled), tx.PutSync(bare))
	})
	if list, err := b.Syncs(t.Context()); !slices.Equal(list, []story.Sync{first, sure, other, a}) || err != nil {
		t.Errorf("got %+v, %v", list, err)
	}
	if list, err := b.SyncsOf(t.Context(), "d2-int2"); !slices.Equal(list, []story.Sync{sure, other, a}) || err != nil {
		t.Errorf("got %+v, %v, want the surest first", list, err)
	}
	a.Confidence = 1000
	e := do(t, b, "sync", func(tx *Tx) error { return tx.PutSync(a) })
	if list, err := b.SyncsOf(t.Context(), "D2-INT2"); !slices.Equal(list, []story.Sync{a, sure, other}) || e.Rows != 1 || err != nil {
		t.Errorf("got %+v, %v, %d rows, want it replaced: %+v", list, err, e.Rows, a)
	}
	for _, reel := range []string{"CAM-A", "D9"} {
		if list, err := b.SyncsOf(t.Context(), reel); len(list) > 0 || err != nil {
			t.Errorf("%s: got %+v, %v, want none", reel, list, err)
		}
	}
	do(t, b, "sync", func(tx *Tx) error { return tx.RemoveSync("cam-c", "D2-INT2") })
	do(t, b, "remove", func(tx *Tx) error { return tx.RemoveRecording("D1-INT1") })
	if list, err := b.Syncs(t.Context()); !slices.Equal(list, []story.Sync{a, other}) || err != nil {
		t.Errorf("got %+v, %v, want those of the reels that are left", list, err)
	}
	do(t, b, "remove", func(tx *Tx) error { return tx.RemoveRecording("CAM-A") })
	if list, err := b.SyncsOf(t.Context(), "D2-INT2"); !slices.Equal(list, []story.Sync{other}) || err != nil {
		t.Errorf("got %+v, %v, want %+v", list, err, other)
	}
	for range 5 {
		if _, err := b.Undo(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	if got := dump(t, b); got != before {
		t.Errorf("got %s after undo, want %s", got, before)
	}
}

func TestSyncRefused(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	good := story.Sync{Picture: "D1-INT1", Sound: "D2-INT2", Confidence: 1, By: story.SyncBySound}
	for name, c := range map[string]struct {
		change func(s *story.Sync)
		want   error
	}{
		"picture":    {func(s *story.Sync) { s.Picture = "D9" }, ErrNotFound},
		"sound":      {func(s *story.Sync) { s.Sound = "D9" }, ErrNotFound},
		"one reel":   {func(s *story.Sync) { s.Sound = "d1-int1" }, story.ErrInvalid},
		"confidence": {func(s *story.Sync) { s.Confidence = 1001 }, story.ErrInvalid},
		"drift":      {func(s *story.Sync) { s.DriftPPB = 10_000_001 }, story.ErrInvalid},
		"by":         {func(s *story.Sync) { s.By = "" }, story.ErrInvalid},
	} {
		s := good
		c.change(&s)
		if _, err := b.Change(t.Context(), "sync", "", func(tx *Tx) error { return tx.PutSync(s) }); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", name, err, c.want)
		}
	}
	// Two reels that only Unicode composes otherwise are one.
	do(t, b, "ingest", func(tx *Tx) error { return tx.PutRecording(recording("Café", "")) })
	s := good
	s.Picture, s.Sound = "Café", "Cafe\u0301"
	if _, err := b.Change(t.Context(), "sync", "", func(tx *Tx) error { return tx.PutSync(s) }); !errors.Is(err, story.ErrInvalid) {
		t.Errorf("got %v, want ErrInvalid", err)
	}
	_, err := b.Change(t.Context(), "sync", "", func(tx *Tx) error { return tx.RemoveSync("D9", "D2-INT2") })
	if !errors.Is(err, ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
	if list, err := b.Syncs(t.Context()); fmt.Sprint(list) != "[]" || err != nil {
		t.Errorf("got %v, %v, want none", list, err)
	}
}
