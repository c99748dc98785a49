package bank

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"rushlight/pkg/story"
)

// workTogether is a person at a program of their own: for a while they tag,
// rate, rename themes, add to selects and undo, and say of each change that
// was reported as done which entry it is.
func workTogether(dir, who string) error {
	ctx := context.Background()
	b, err := Open(ctx, dir, Options{Who: who, BusyTimeout: 20 * time.Second})
	if err != nil {
		return err
	}
	defer func() { _ = b.Close() }()
	var codes []story.Code
	for q, err := range b.Quotes(ctx, Filter{}) {
		if err != nil {
			return err
		}
		codes = append(codes, q.Code)
	}
	r := rand.New(rand.NewPCG(uint64(len(who)), 2))
	themes := []string{"bell", "bridge", "ferry", "rope", "winch"}
	end := time.Now().Add(1500 * time.Millisecond)
	for i, made := 0, 0; made < 20 || time.Now().Before(end); i++ {
		var e story.Entry
		// Not at first, so that undo never comes to the shoot itself.
		if i > 15 && r.IntN(5) == 0 {
			e, err = b.Undo(ctx)
		} else {
			e, err = b.Change(ctx, "work", "", func(tx *Tx) error {
				return workOnce(tx, r, codes[r.IntN(len(codes))], themes)
			})
		}
		// The other may have renamed the theme, or taken back everything.
		if err != nil && !errors.Is(err, ErrNotFound) && !errors.Is(err, ErrNothingToUndo) {
			return err
		}
		if err == nil && e.Number != 0 {
			made++
			fmt.Println(e.Number, e.Kind, e.Undoes, e.Rows)
		}
	}
	return nil
}

func workOnce(tx *Tx, r *rand.Rand, code story.Code, themes []string) (err error) {
	theme := func() string { return themes[r.IntN(len(themes))] }
	switch r.IntN(4) {
	case 0:
		_, err = tx.Tag(code, []string{theme()}, []string{theme()})
	case 1:
		_, err = tx.Rate(code, r.IntN(6))
	case 2:
		_, err = tx.RenameTheme(theme(), theme())
	default:
		s, err := tx.Selects("first cut")
		if errors.Is(err, ErrNotFound) {
			s.Name = "first cut"
		} else if err != nil {
			return err
		}
		s.Items = append(s.Items, story.Item{Code: code})
		return tx.PutSelects(s)
	}
	return err
}

// Two programs work in one bank at once: whatever either was told is done is
// in the journal as it was told, the journal tells the bank row by row, and
// SQLite finds the bank whole.
func TestTwoPrograms(t *testing.T) {
	// Everything from the first entry on goes through the journal.
	b := newBank(t)
	shoot(t, b)
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	type told struct{ who, kind string }
	done := map[int64]told{}
	cmds, outs := map[string]*exec.Cmd{}, map[string]*strings.Builder{}
	for _, who := range []string{"Joss", "Petra"} {
		cmd := exec.Command(self)
		cmd.Env = append(os.Environ(), "RUSHLIGHT_TEST_PERSON="+who, "RUSHLIGHT_TEST_BANK="+b.Dir())
		outs[who] = &strings.Builder{}
		cmd.Stdout, cmd.Stderr = outs[who], outs[who]
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		cmds[who] = cmd
	}
	for who, cmd := range cmds {
		if err := cmd.Wait(); err != nil {
			t.Fatalf("%s: %v: %s", who, err, outs[who])
		}
	}
	list, err := b.History(t.Context(), 0)
	if err != nil {
		t.Fatal(err)
	}
	at := map[int64]story.Entry{}
	for i, e := range list {
		if want := int64(len(list) - i); e.Number != want {
			t.Fatalf("got entry %d, want %d: numbers without a hole", e.Number, want)
		}
		at[e.Number] = e
	}
	for who, out := range outs {
		n := 0
		for lines := bufio.NewScanner(strings.NewReader(out.String())); lines.Scan(); n++ {
			var e story.Entry
			if _, err := fmt.Sscan(lines.Text(), &e.Number, &e.Kind, &e.Undoes, &e.Rows); err != nil {
				t.Fatalf("%s said %q: %v", who, lines.Text(), err)
			}
			if had, twice := done[e.Number]; twice {
				t.Errorf("entry %d is said to be %s's and %s's", e.Number, had.who, who)
			}
			done[e.Number] = told{who, e.Kind}
			if got := at[e.Number]; got.Who != who || got.Kind != e.Kind || got.Undoes != e.Undoes || got.Rows != e.Rows {
				t.Errorf("%s was told %+v, the journal has %+v", who, e, got)
			}
		}
		if n < 20 {
			t.Errorf("%s made %d changes only", who, n)
		}
	}
	if len(done) != len(list)-1 {
		t.Errorf("got %d changes told, and %d in the journal after the first", len(done), len(list)-1)
	}
	replays(t, t, b, 0)
	// newBank asks SQLite whether the bank is whole.
}

// A change that is stopped is taken back before Change returns, whatever the
// statement that it was stopped in: a program that closes the bank and ends
// right after leaves nothing beside it.
func TestStoppedChange(t *testing.T) {
	for round := range 5 {
		dir := filledBank(t)
		b, err := Open(t.Context(), dir, testOptions())
		if err != nil {
			t.Fatal(err)
		}
		before := dump(t, b)
		ctx, stop := context.WithCancel(t.Context())
		quotes := sayings("D2-INT2", strings.Fields(strings.Repeat("bell ", 20_000))...)
		_, err = b.Change(ctx, "ingest", "", func(tx *Tx) error {
			time.AfterFunc(time.Duration(20+30*round)*time.Millisecond, stop)
			return tx.PutQuotes("D2-INT2", quotes)
		})
		if !errors.Is(err, context.Canceled) {
			t.Errorf("got %v, want to be stopped", err)
		}
		closed(t, b)
		if left := files(t, dir); len(left) != 1 {
			t.Errorf("got %d files, want only %s", len(left), File)
		}
		b = openReadOnly(t, dir)
		if dump(t, b) != before {
			t.Error("got other rows after a change that was stopped")
		}
		closed(t, b)
	}
}
