package bank

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"testing"

	"rushlight/pkg/story"
)

// Each tag says who set it, when (here in seconds by the clock of the tests,
// which ticks once for each entry) and how, as long as it stays.
func TestTags(t *testing.T) {
	b := newBank(t)
	shoot(t, b) // 1 s
	q := all(t, b, Filter{Reel: "D2-INT2"})
	code := q[0].Code
	as := func(who string, f func(tx *Tx) error) story.Entry {
		t.Helper()
		b.who = who
		return do(t, b, "tag", f)
	}
	want := func(step, want string) {
		t.Helper()
		if got := tags(t, b, code); got != want {
			t.Errorf("%s: got %s, want %s", step, got, want)
		}
	}
	want("at first", "")
	e := as("Joss", func(tx *Tx) error {
		_, e1 := tx.Tag(code, []string{"bridge"}, nil)
		_, e2 := tx.TagBy(code, []string{"bell", "bridge"}, story.ByRule)
		return errors.Join(e1, e2)
	})
	want("set", "bell Joss 2 rule, bridge Joss 2 hand")
	if list, err := b.Tags(t.Context(), code); err != nil || !list[0].When.Equal(e.When) {
		t.Errorf("got %v, %v, want the moment of the entry, %v", list, err, e.When)
	}
	as("Petra", func(tx *Tx) error {
		did, err := tx.Tag(code, []string{"Bridge"}, nil)
		if did {
			t.Error("got a change for a tag that is on by hand")
		}
		return err
	})
	want("set again", "bell Joss 2 rule, bridge Joss 2 hand")
	// The clock isn't looked at for nothing: no entry, no second.
	as("Petra", func(tx *Tx) error { _, err := tx.Tag(code, []string{"bell"}, nil); return err })
	want("a hand confirms a rule", "bell Petra 3 hand, bridge Joss 2 hand")
	as("Ines", func(tx *Tx) error { // 4: a corrected transcript
		again := all(t, b, Filter{Reel: "D2-INT2"})
		again[0].Text, again[0].Themes = "Nobody rings that bridge.", []string{"BELL", "silence"}
		return tx.PutQuotes("D2-INT2", again)
	})
	want("what stays keeps it", "bell Petra 3 hand, silence Ines 4 hand")
	as("Joss", func(tx *Tx) error { // 5
		_, e1 := tx.RenameTheme("bell", "the bell")
		_, e2 := tx.RenameTheme("silence", "the bell")
		return errors.Join(e1, e2)
	})
	want("renames keep it, of two the one that is kept", "the bell Petra 3 hand")
	for range 4 {
		if _, err := b.Undo(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	want("all taken back", "")
	if _, err := b.Tags(t.Context(), "NOSUCH"); !errors.Is(err, ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
	for name, c := range map[string]struct {
		code story.Code
		by   story.TaggedBy
		want error
	}{"how": {code, "guess", story.ErrInvalid}, "quote": {"NOSUCH", story.ByRule, ErrNotFound}} {
		_, err := b.Change(t.Context(), "tag", "", func(tx *Tx) error {
			_, err := tx.TagBy(c.code, []string{"bell"}, c.by)
			return err
		})
		if !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", name, err, c.want)
		}
	}
}

// A rule's tag is a change of the quote like any other.
func TestTagByIsSeen(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	q := all(t, b, Filter{})
	do(t, b, "tag", func(tx *Tx) error { _, err := tx.TagBy(q[2].Code, []string{"bell"}, story.ByRule); return err })
	changed, gone, full, err := b.ChangedSince(t.Context(), 1)
	if texts(changed) != q[2].Text || len(gone) != 0 || full || err != nil {
		t.Errorf("got %s changed, %v gone, full %v, %v, want %s", texts(changed), gone, full, err, q[2].Text)
	}
}

func TestRefuse(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	q := all(t, b, Filter{})
	codes := func(which ...int) (list []story.Code) {
		for _, i := range which {
			list = append(list, q[i].Code)
		}
		return list
	}
	refused := func(step string, want ...int) {
		t.Helper()
		got, err := b.Refused(t.Context(), "BELL")
		if !slices.Equal(got, codes(want...)) || err != nil {
			t.Errorf("%s: got %v, %v, want %v", step, got, err, codes(want...))
		}
	}
	counted := func(want int, f func(tx *Tx) (int, error)) {
		t.Helper()
		do(t, b, "refuse", func(tx *Tx) error {
			n, err := f(tx)
			if n != want {
				t.Errorf("got %d, want %d", n, want)
			}
			return err
		})
	}
	byRule := func(i int) bool {
		t.Helper()
		var did bool
		do(t, b, "tag", func(tx *Tx) (err error) {
			did, err = tx.TagBy(q[i].Code, []string{"bell"}, story.ByRule)
			return err
		})
		return did
	}
	addThemes(t, b, "bell")
	refused("at first")
	counted(3, func(tx *Tx) (int, error) { return tx.Refuse("Bell", codes(4, 0, 2, 0)) })
	refused("three", 0, 2, 4)
	if byRule(2) || !byRule(3) {
		t.Error("got a rule that sets what was refused, or doesn't set what wasn't")
	}
	do(t, b, "tag", func(tx *Tx) error { _, err := tx.Tag(q[2].Code, []string{"bell"}, nil); return err })
	refused("a hand lifts it", 0, 4)
	do(t, b, "tag", func(tx *Tx) error { _, err := tx.Tag(q[3].Code, nil, []string{"bell"}); return err })
	refused("taking off what a rule set", 0, 3, 4)
	do(t, b, "tag", func(tx *Tx) error { _, err := tx.Tag(q[2].Code, nil, []string{"bell"}); return err })
	refused("taking off what a hand set", 0, 3, 4)
	do(t, b, "tag", func(tx *Tx) error { _, err := tx.Tag(q[3].Code, []string{"bell"}, nil); return err })
	do(t, b, "tag", func(tx *Tx) error { _, err := tx.Tag(q[3].Code, nil, []string{"bell"}); return err })
	if !byRule(3) {
		t.Error("got a rule that doesn't set what may be suggested again")
	}
	counted(1, func(tx *Tx) (int, error) { return tx.Refuse("bell", codes(3)) })
	if got := tags(t, b, q[3].Code); got != "" {
		t.Errorf("got %s after a refusal, want what the rule set to be gone", got)
	}
	refused("a suggestion that was set", 0, 3, 4)
	refusalsFollow(t, b, q, codes, refused)
}

// Refusals go with their quotes and themes.
func refusalsFollow(t *testing.T, b *Bank, q []story.Quote, codes func(...int) []story.Code, refused func(string, ...int)) {
	t.Helper()
	before := dump(t, b)
	do(t, b, "ingest", func(tx *Tx) error { // the fourth quote stays, the last goes
		return tx.PutQuotes("D2-INT2", q[3:4])
	})
	refused("a corrected transcript", 0, 3)
	do(t, b, "remove", func(tx *Tx) error { return tx.RemoveRecording("D1-INT1") })
	refused("a reel gone", 3)
	do(t, b, "rename", func(tx *Tx) error {
		_, e1 := tx.RenameTheme("bell", "ringing")
		_, e2 := tx.AddTheme("bell")
		return errors.Join(e1, e2)
	})
	refused("renamed away")
	do(t, b, "rename", func(tx *Tx) error { _, err := tx.RenameTheme("ringing", "bell"); return err })
	refused("merged", 3)
	do(t, b, "remove", func(tx *Tx) error { _, err := tx.RemoveTheme("bell"); return err })
	if _, err := b.Refused(t.Context(), "bell"); !errors.Is(err, ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
	for range 5 {
		if _, err := b.Undo(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	if got := dump(t, b); got != before {
		t.Errorf("got %s after undo, want %s", got, before)
	}
	do(t, b, "tag", func(tx *Tx) error { _, err := tx.Tag(q[1].Code, []string{"bell"}, nil); return err })
	for name, c := range map[string]struct {
		theme string
		codes []story.Code
		want  error
	}{
		"theme":   {"nobody", codes(0), ErrNotFound},
		"quote":   {"bell", []story.Code{"NOSUCH"}, ErrNotFound},
		"by hand": {"bell", codes(1), story.ErrInvalid},
	} {
		_, err := b.Change(t.Context(), "refuse", "", func(tx *Tx) error { _, err := tx.Refuse(c.theme, c.codes); return err })
		if !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", name, err, c.want)
		}
	}
}

// A bank of form 1 with tags: what its journal tells of who set them is said
// of them, and taking back what was done in form 1 brings back what it told.
// testdata/v1-tags.db was written by the program of that form, with its clock
// at second n for entry n: 2 Joss tags bell and strong; 3 Petra bridge; 4 Petra
// takes bell off; 5 that is undone; 6, 7 bridge on another quote, on and off; 8
// selects; 9 Petra winch and a rating; 10 Joss ingests again, the quote with
// winch goes.
func TestTagsOfForm1(t *testing.T) {
	const kept = "testdata/v1-tags.db"
	dir := t.TempDir()
	if err := copyFile(filepath.Join(dir, File), kept); err != nil {
		t.Fatal(err)
	}
	before := files(t, dir)
	reader := openReadOnly(t, dir)
	if got := tags(t, reader, "VVQTGH"); got != "bridge Petra 3 hand" {
		t.Errorf("got %s when it is only read", got)
	}
	closed(t, reader)
	if after := files(t, dir); len(after) != 1 || !bytes.Equal(after[File], before[File]) {
		t.Error("got the bank changed by reading")
	}
	b := openKept(t, kept, forms())
	if err := check(t.Context(), b.db); err != nil {
		t.Error(err)
	}
	carried := func() string {
		var out string
		for _, q := range all(t, b, Filter{}) {
			if got := tags(t, b, q.Code); got != "" {
				out += fmt.Sprintf("%s (%d) %s\n", q.Text, q.Rating, got)
			}
		}
		return out
	}
	const bridge = "Nobody rings a bridge. (0) bridge Petra 3 hand\n"
	const bell = "I still hear the bell. (0) bell Joss 2 hand, strong Joss 2 hand\n"
	const winch = "It was for them. (4) winch Petra 9 hand\n"
	for _, c := range []struct {
		undoes int64
		want   string
	}{
		{0, bridge + "I still hear that bell. (0) bell Joss 2 hand, strong Joss 2 hand\n"},
		{10, bridge + bell + winch},
		{9, bridge + bell},
		{8, bridge + bell},
		{7, "The bridge opens in May. (0) bridge Petra 6 hand\n" + bridge + bell},
		{6, bridge + bell},
		{3, bell},
		{2, ""},
		{1, ""},
	} {
		if c.undoes > 0 {
			if e, err := b.Undo(t.Context()); e.Undoes != c.undoes || err != nil {
				t.Fatalf("got %+v, %v, want it to undo %d", e, err, c.undoes)
			}
		}
		if got := carried(); got != c.want {
			t.Errorf("after undoing %d: got\n%swant\n%s", c.undoes, got, c.want)
		}
	}
	if got := dump(t, b); got != "" {
		t.Errorf("got %s after all was undone, want nothing", got)
	}
	closed(t, b)
}
