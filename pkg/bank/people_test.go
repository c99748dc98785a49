package bank

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"rushlight/pkg/story"
)

var update = flag.Bool("update", false, "write testdata anew")

// TestMain lets the test binary be a second program: a writer that makes
// change after change until it is killed, or a certain number.
func TestMain(m *testing.M) {
	if dir := os.Getenv("RUSHLIGHT_TEST_WRITER"); dir != "" {
		if err := writeOn(dir); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	if who := os.Getenv("RUSHLIGHT_TEST_PERSON"); who != "" {
		if err := workTogether(os.Getenv("RUSHLIGHT_TEST_BANK"), who); err != nil {
			fmt.Println(err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// writeOn rates quotes and says after each change which entry it was.
func writeOn(dir string) error {
	b, err := Open(context.Background(), dir, Options{Who: "Petra"})
	if err != nil {
		return err
	}
	defer func() { _ = b.Close() }()
	n := 0
	if _, err := fmt.Sscan(os.Getenv("RUSHLIGHT_TEST_CHANGES"), &n); err != nil {
		return err
	}
	for i := range n {
		e, err := b.Change(context.Background(), "test", "", func(tx *Tx) error {
			quotes := sayings("D2-INT2", strings.Fields(strings.Repeat("word ", 40+i%9))...)
			quotes[i%40].Note = fmt.Sprint("change ", i, " of ", os.Getpid())
			return tx.PutQuotes("D2-INT2", quotes)
		})
		if err != nil {
			return err
		}
		fmt.Println(e.Number)
	}
	return nil
}

func writerProgram(t *testing.T, dir string, changes int) *exec.Cmd {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), "RUSHLIGHT_TEST_WRITER="+dir, fmt.Sprint("RUSHLIGHT_TEST_CHANGES=", changes))
	return cmd
}

// Readers never wait for a writer and see one state; a second writer waits
// its time, then ErrBusy.
func TestReaderAndWriter(t *testing.T) {
	dir := filledBank(t)
	a, err := Open(t.Context(), dir, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	defer closed(t, a)
	other, err := Open(t.Context(), dir, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	defer closed(t, other)
	reader := openReadOnly(t, dir)
	defer closed(t, reader)
	do(t, a, "remove", func(tx *Tx) error {
		if err := tx.RemoveRecording("D1-INT1"); err != nil {
			return err
		}
		if got := len(all(t, reader, Filter{})); got != 5 {
			t.Errorf("got %d quotes while a writer works, want the 5 of before", got)
		}
		start := time.Now()
		_, err := other.Change(t.Context(), "film", "", func(tx *Tx) error { return tx.SetFilm(Film{Title: "x"}) })
		if d := time.Since(start); !errors.Is(err, ErrBusy) || d < 150*time.Millisecond {
			t.Errorf("got %v after %v, want ErrBusy after 200 ms", err, d)
		}
		ctx, stop := context.WithTimeout(t.Context(), 20*time.Millisecond)
		defer stop()
		if _, err := other.Change(ctx, "film", "", func(tx *Tx) error { return nil }); !errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("got %v, want the end of the context", err)
		}
		return nil
	})
	if got := len(all(t, reader, Filter{})); got != 3 {
		t.Errorf("got %d quotes after the change, want 3", got)
	}
	// A stream goes on with the state it began with.
	n := 0
	for _, err := range reader.Quotes(t.Context(), Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		if n == 0 {
			do(t, a, "remove", func(tx *Tx) error { return tx.RemoveRecording("D2-INT2") })
		}
		n++
	}
	if n != 3 {
		t.Errorf("got %d quotes of a stream, want 3", n)
	}
}

// A reader that comes while a writer's changes lie in bank.db-wal reads them,
// sees the next ones, and leaves when it likes.
func TestReaderComesLater(t *testing.T) {
	dir := filledBank(t)
	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(dir, link); err != nil {
		t.Skip("no symbolic links here: ", err)
	}
	a, err := Open(t.Context(), dir, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	code := all(t, a, Filter{})[0].Code
	rate := func(n int) {
		t.Helper()
		do(t, a, "rate", func(tx *Tx) error { _, err := tx.Rate(code, n); return err })
	}
	rate(1)
	reader := openReadOnly(t, link)
	for n := range 5 {
		rate(n)
		if q, err := reader.Quote(t.Context(), code); q.Rating != n || err != nil {
			t.Errorf("got rating %d, %v, want %d", q.Rating, err, n)
		}
	}
	closed(t, reader)
	rate(5)
	closed(t, a)
	reader = openReadOnly(t, link)
	if q, err := reader.Quote(t.Context(), code); q.Rating != 5 || err != nil {
		t.Errorf("got rating %d, %v, want 5", q.Rating, err)
	}
	closed(t, reader)
	if m := files(t, dir); len(m) != 1 {
		t.Errorf("got %d files, want only %s", len(m), File)
	}
}

// Two programs and four goroutines write into one bank: nothing is lost.
func TestManyWriters(t *testing.T) {
	dir := filledBank(t)
	b, err := Open(t.Context(), dir, Options{Who: "Joss", BusyTimeout: time.Minute})
	if err != nil {
		t.Fatal(err)
	}
	defer closed(t, b)
	codes := all(t, b, Filter{Reel: "D1-INT1"})
	cmd := writerProgram(t, dir, 25)
	var out bytes.Buffer
	cmd.Stdout = &out
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	var group sync.WaitGroup
	for g := range 4 {
		group.Go(func() {
			for i := range 10 {
				_, err := b.Change(t.Context(), "tag", "", func(tx *Tx) error {
					_, err := tx.Tag(codes[g%2].Code, []string{fmt.Sprintf("theme %d-%d", g, i)}, nil)
					return err
				})
				if err != nil {
					t.Error(err)
				}
			}
		})
	}
	group.Wait()
	if err := cmd.Wait(); err != nil {
		t.Fatalf("the other program: %v: %s", err, out.String())
	}
	if list, err := b.Themes(t.Context()); len(list) != 40 || err != nil {
		t.Errorf("got %d themes, %v, want 40", len(list), err)
	}
	list, err := b.History(t.Context(), 0)
	if err != nil || len(list) != 2+40+25 {
		t.Errorf("got %d entries, %v, want 67", len(list), err)
	}
	for i, e := range list {
		if want := int64(len(list) - i); e.Number != want {
			t.Errorf("got entry %d, want %d: numbers without a hole", e.Number, want)
		}
	}
	if err := check(t.Context(), b.db); err != nil {
		t.Error(err)
	}
}

// A writer is killed (SIGKILL) in the middle, several times: the bank opens,
// is whole, and has every change that was said to be done.
func TestKilledWriter(t *testing.T) {
	dir := filledBank(t)
	last := int64(1)
	for round := range 5 {
		cmd := writerProgram(t, dir, 1_000_000)
		out, err := cmd.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := cmd.Start(); err != nil {
			t.Fatal(err)
		}
		for range 3 {
			if _, err := fmt.Fscan(out, &last); err != nil {
				t.Fatal(err)
			}
		}
		time.Sleep(time.Duration(7*round) * time.Millisecond)
		if err := cmd.Process.Kill(); err != nil {
			t.Fatal(err)
		}
		for {
			if _, err := fmt.Fscan(out, &last); err != nil {
				break
			}
		}
		_ = cmd.Wait()
		b, err := Open(t.Context(), dir, testOptions())
		if err != nil {
			t.Fatal(err)
		}
		if err := check(t.Context(), b.db); err != nil {
			t.Error(err)
		}
		state, err := b.State(t.Context())
		if err != nil || state < last {
			t.Errorf("got state %d, %v, want %d or more", state, err, last)
		}
		list, err := b.History(t.Context(), 1)
		if err != nil || list[0].Number != state {
			t.Errorf("got %v, %v, want entry %d", list, err, state)
		}
		closed(t, b)
	}
}

// A disk without room: SQLite's page limit stands for it, which gives the
// same error (SQLITE_FULL). Nothing of the change is in the bank.
func TestFull(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	before := dump(t, b)
	b.db.SetMaxOpenConns(1)
	var pages int
	if err := b.db.QueryRow("PRAGMA page_count").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	if err := b.db.QueryRow(fmt.Sprintf("PRAGMA max_page_count = %d", pages+2)).Scan(&pages); err != nil {
		t.Fatal(err)
	}
	quotes := sayings("D2-INT2", strings.Fields(strings.Repeat("bell ", 3000))...)
	_, err := b.Change(t.Context(), "ingest", "", func(tx *Tx) error { return tx.PutQuotes("D2-INT2", quotes) })
	if !errors.Is(err, ErrFull) {
		t.Errorf("got %v, want ErrFull", err)
	}
	if dump(t, b) != before {
		t.Error("got other rows after a change that failed")
	}
	if err := b.db.QueryRow("PRAGMA max_page_count = 1000000").Scan(&pages); err != nil {
		t.Fatal(err)
	}
	do(t, b, "ingest", func(tx *Tx) error { return tx.PutQuotes("D2-INT2", quotes) })
}

// SQLite's own shell reads the bank and finds it whole.
func TestShell(t *testing.T) {
	shell, err := exec.LookPath("sqlite3")
	if err != nil {
		t.Skip("sqlite3 not found: apt-get install sqlite3")
	}
	path := filepath.Join(filledBank(t), File)
	for query, want := range map[string]string{
		"PRAGMA integrity_check":   "ok",
		"PRAGMA foreign_key_check": "",
		"PRAGMA journal_mode":      "wal",
		"PRAGMA user_version":      "4",
		"SELECT text FROM quote JOIN recording ON key = quote.reel WHERE ord = 0 ORDER BY day": "Thirty-four years.\nNobody rings a bridge.",
		"SELECT entry, who, kind, changes FROM journal WHERE entry = 1":                        "1|Joss|ingest|7",
	} {
		out, err := exec.Command(shell, "-readonly", path, query).CombinedOutput()
		if got := strings.TrimSpace(string(out)); got != want || err != nil {
			t.Errorf("%s: got %q, %v, want %q", query, got, err, want)
		}
	}
}

// Names of every script come back as written and are found in any case.
func TestNames(t *testing.T) {
	b := newBank(t)
	for i, name := range []string{"Fähre-1", "渡し船", "паром.2", "e\u0301te\u0301"} {
		do(t, b, "ingest", func(tx *Tx) error {
			r := recording(name, "")
			r.Path = "/shoot/\xff" + name
			q := sayings(name, name+" \U0001f514 \x00 end")
			q[0].Themes = []string{name + "!"}
			if err := tx.PutRecording(r); err != nil {
				return err
			}
			if err := tx.PutQuotes(strings.ToUpper(name), q); err != nil {
				return err
			}
			return tx.PutSelects(story.Selects{Name: name, Items: []story.Item{{Code: q[0].Code}}})
		})
		r, err := b.Recording(t.Context(), strings.ToUpper(name))
		if err != nil || r.Reel != name || r.Path != "/shoot/\xff"+name {
			t.Errorf("got %q at %q, %v, want %q", r.Reel, r.Path, err, name)
		}
		q := all(t, b, Filter{Theme: strings.ToUpper(name) + "!"})
		if len(q) != 1 || q[0].Text != name+" \U0001f514 \x00 end" || q[0].Themes[0] != name+"!" {
			t.Errorf("got %+v, want the quote of %q", q, name)
		}
		if s, err := b.Selects(t.Context(), strings.ToUpper(name)); err != nil || s.Name != name || s.Items[0].Reel != name {
			t.Errorf("got %+v, %v, want selects %q", s, err, name)
		}
		if n, err := b.State(t.Context()); n != int64(i+1) || err != nil {
			t.Errorf("got state %d, %v", n, err)
		}
	}
}
