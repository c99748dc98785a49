package desk

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/bank"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// hook does something when the nth stretch of work begins.
type hook struct {
	nth int
	do  func()
}

func (h *hook) Begin(string, int64) {
	if h.nth--; h.nth == 0 {
		h.do()
	}
}
func (h *hook) Reached(int64) {}
func (h *hook) End()          {}

// voicesBank takes recordings of the samples in, without their words: nobody
// has a name.
func voicesBank(t *testing.T, reels ...string) *Desk {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "bank")
	if _, err := New(t.Context(), dir, Options{}, NewOptions{}); err != nil {
		t.Fatal(err)
	}
	d := sit(t, dir)
	var paths []string
	for _, r := range reels {
		paths = append(paths, filepath.Join("..", "..", "samples", "day"+r[1:2], r+".wav"))
	}
	take(t, d, IngestOptions{Paths: paths})
	return d
}

// voicesNow tells each reel's voices and whether it was compared.
func voicesNow(t *testing.T, d *Desk) string {
	t.Helper()
	reels, err := d.voiceReels(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, r := range reels {
		s := r.rec.Reel + ": " + strings.Join(r.speakers, ", ")
		if !r.compared {
			s += " (not compared)"
		}
		out = append(out, s)
	}
	return strings.Join(out, "; ")
}

// Who stops a comparison after some reels and begins again has what it gives
// in one go: no number of one reel is taken for the same number of another.
func TestHearVoicesInterrupted(t *testing.T) {
	reels := []string{"D1-INT1", "D1-WILF", "D2-WALK"}
	whole := voicesBank(t, reels...)
	if _, err := whole.HearVoices(t.Context(), HearVoicesOptions{}); err != nil {
		t.Fatal(err)
	}
	d := voicesBank(t, reels...)
	ctx, stop := context.WithCancel(t.Context())
	d.opt.Progress = &hook{3, stop}
	if _, err := d.HearVoices(ctx, HearVoicesOptions{}); !errors.Is(err, context.Canceled) {
		t.Fatalf("got %v, want to be stopped", err)
	}
	d.opt.Progress = nil
	if got := voicesNow(t, d); strings.Count(got, "(not compared)") != 3 {
		t.Errorf("stopped half way: got %s, want none compared", got)
	}
	h, err := d.HearVoices(t.Context(), HearVoicesOptions{})
	if err != nil || !slices.Equal(h.Reels, []string{"D2-WALK"}) {
		t.Errorf("heard %v, %v, want the one that is left", h.Reels, err)
	}
	if got, want := voicesNow(t, d), voicesNow(t, whole); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

// Undo takes back that numbers count in the whole bank, and the next
// comparison gives them again.
func TestHearVoicesUndone(t *testing.T) {
	d := voicesBank(t, "D1-INT1", "D2-WALK")
	before := voicesNow(t, d)
	if _, err := d.HearVoices(t.Context(), HearVoicesOptions{}); err != nil {
		t.Fatal(err)
	}
	heard := voicesNow(t, d)
	if _, err := d.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got := voicesNow(t, d); got != before || got == heard {
		t.Errorf("after undo got %s, want %s", got, before)
	}
	h, err := d.HearVoices(t.Context(), HearVoicesOptions{})
	if got := voicesNow(t, d); err != nil || len(h.Reels) != 0 || got != heard {
		t.Errorf("again: measured %v, %v, got %s, want %s", h.Reels, err, got, heard)
	}
}

// Measuring takes minutes: what somebody else does meanwhile stays done.
func TestHearVoicesMeanwhile(t *testing.T) {
	d := voicesBank(t, "D1-INT1", "D2-WALK")
	if _, err := d.HearVoices(t.Context(), HearVoicesOptions{}); err != nil {
		t.Fatal(err)
	}
	if _, _, _, err := d.NameVoice(t.Context(), "1", "Inès"); err != nil {
		t.Fatal(err)
	}
	other := sit(t, d.Dir())
	d.opt.Progress = &hook{1, func() {
		if _, _, _, err := other.NameVoice(t.Context(), "Inès", "Inès Corrigan"); err != nil {
			t.Error(err)
		}
		if _, _, err := other.ForgetVoice(t.Context(), "inès corrigan"); err != nil {
			t.Error(err)
		}
	}}
	if _, err := d.HearVoices(t.Context(), HearVoicesOptions{Reels: []string{"D1-INT1", "D2-WALK"}}); err != nil {
		t.Fatal(err)
	}
	reels, err := d.voiceReels(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if r := reels[0]; !r.speaks("Inès Corrigan") || len(r.measures[r.digests["Inès Corrigan"]]) != 0 {
		t.Errorf("got %v: want Inès Corrigan, and her measure forgotten", r.speakers)
	}
	// Nor is she measured under a later name, until she says so.
	d.opt.Progress = nil
	if _, err := d.SpeakerName(t.Context(), "", "INÈS CORRIGAN", "I. Corrigan"); err != nil {
		t.Fatal(err)
	}
	for _, again := range []string{"", "I. Corrigan"} {
		if _, err := d.HearVoices(t.Context(), HearVoicesOptions{Reels: []string{"D1-INT1"}, Again: again}); err != nil {
			t.Fatal(err)
		}
		if reels, err = d.voiceReels(t.Context()); err != nil {
			t.Fatal(err)
		}
		if r := reels[0]; len(r.measures[r.digests["I. Corrigan"]]) > 0 != (again != "") {
			t.Errorf("again %q: got a measure of %d bytes", again, len(r.measures[r.digests["I. Corrigan"]]))
		}
	}
}

// turnsBank is a bank with one reel in which these people speak.
func turnsBank(t *testing.T, who ...string) *Desk {
	t.Helper()
	d := smallBank(t)
	_, err := d.bank.Change(t.Context(), "test", "", func(tx *bank.Tx) error {
		h := story.Heard{Duration: timecode.Minute}
		for i, s := range who {
			at := timecode.Ticks(i) * timecode.Second
			h.Turns = append(h.Turns, story.Turn{Speaker: s, Span: timecode.Span{In: at, Out: at + timecode.Second/2}})
		}
		return errors.Join(tx.PutRecording(story.Recording{Reel: "WALK"}), tx.PutHeard("WALK", h))
	})
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Merging is one change, and none if any of the voices isn't there.
func TestMergeVoicesWholeOrNotAtAll(t *testing.T) {
	d := turnsBank(t, "Ines", "Joss", "Wilf")
	before, err := d.bank.State(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if _, n, err := d.MergeVoices(t.Context(), "Ines", []string{"Joss", "Wilfx"}); err == nil || n != 0 {
		t.Errorf("got %d, %v with a name that nobody has", n, err)
	}
	if after, err := d.bank.State(t.Context()); after != before || err != nil {
		t.Errorf("got state %d, %v, want %d: nothing is done", after, err, before)
	}
	if _, n, err := d.MergeVoices(t.Context(), "ines", []string{"Joss", "Wilf"}); n != 2 || err != nil {
		t.Errorf("got %d, %v, want 2 turns", n, err)
	}
	if after, err := d.bank.State(t.Context()); after != before+1 || err != nil {
		t.Errorf("got state %d, %v, want one change after %d", after, err, before)
	}
}

// A name that somebody gave while another waits to name the voice is seen.
func TestNameVoiceMeanwhile(t *testing.T) {
	d := turnsBank(t, "Ines", "Joss")
	other := sit(t, d.Dir())
	var named error
	meanwhile(t, d, func(tx *bank.Tx) error { _, _, err := tx.SetSpeaker("WALK", "Joss", "Petra"); return err }, func() error {
		_, _, _, named = other.NameVoice(context.Background(), "Joss", "Wilf")
		return nil
	})
	if !errors.Is(named, bank.ErrNotFound) {
		t.Errorf("got %v, want to be told that there is no Joss any more", named)
	}
}
