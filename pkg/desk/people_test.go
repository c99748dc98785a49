package desk

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"rushlight/index"
	"rushlight/pkg/bank"
	"rushlight/pkg/story"
)

const bellSRT = "1\n00:00:01,000 --> 00:00:03,000\nInes: The bell rings on the far bank.\n\n" +
	"2\n00:00:04,000 --> 00:00:06,000\nInes: Nobody rings the bell for a bridge.\n\n"

// smallBank makes a bank with the two quotes of bellSRT in the reel talk.
func smallBank(t *testing.T) *Desk {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "bank")
	if _, err := New(t.Context(), dir, Options{}, NewOptions{}); err != nil {
		t.Fatal(err)
	}
	d := sit(t, dir)
	words := filepath.Join(t.TempDir(), "talk.srt")
	if err := os.WriteFile(words, []byte(bellSRT), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := d.Ingest(t.Context(), IngestOptions{Paths: []string{words}}); err != nil {
		t.Fatal(err)
	}
	return d
}

// sit opens a bank for one more person.
func sit(t *testing.T, dir string) *Desk {
	t.Helper()
	d, err := Open(t.Context(), Options{Bank: dir, Busy: 20 * time.Second})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = d.Close() })
	return d
}

// speakersOf lists the speakers of all quotes in order.
func speakersOf(t *testing.T, d *Desk) []string {
	t.Helper()
	var list []string
	for q, err := range d.bank.Quotes(t.Context(), bank.Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, q.Speaker)
	}
	return list
}

// meanwhile holds the right to write, lets slow begin, and changes the bank
// before slow gets its turn: what slow has read by then is old.
func meanwhile(t *testing.T, d *Desk, f func(*bank.Tx) error, slow func() error) {
	t.Helper()
	done := make(chan error, 1)
	_, err := d.bank.Change(t.Context(), "test", "", func(tx *bank.Tx) error {
		go func() { done <- slow() }()
		time.Sleep(300 * time.Millisecond)
		return f(tx)
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := <-done; err != nil {
		t.Fatal(err)
	}
}

func TestSpeakerName(t *testing.T) {
	d := smallBank(t)
	if n, err := d.SpeakerName(t.Context(), "", "ines", "Ines Corrigan"); n != 2 || err != nil {
		t.Errorf("got %d, %v, want 2: names are the same in any case", n, err)
	}
	for _, blank := range []string{"", " "} {
		if _, err := d.SpeakerName(t.Context(), "", "Ines Corrigan", blank); err == nil {
			t.Errorf("took %q for a name", blank)
		}
	}
	if _, err := d.SpeakerName(t.Context(), "", "Ines", "Joss"); err == nil {
		t.Error("renamed somebody who isn't there")
	}
	if got := speakersOf(t, d); !slices.Equal(got, []string{"Ines Corrigan", "Ines Corrigan"}) {
		t.Errorf("got %q", got)
	}
}

// A reel that comes while a speaker waits for a new name has it too.
func TestSpeakerNameMeanwhile(t *testing.T) {
	d := smallBank(t)
	other := sit(t, d.Dir())
	meanwhile(t, d, func(tx *bank.Tx) error {
		if err := tx.PutRecording(story.Recording{Reel: "WALK"}); err != nil {
			return err
		}
		return tx.PutQuotes("WALK", []story.Quote{{Code: "AAA", Speaker: "Ines", Text: "Mind the rope."}})
	}, func() error {
		_, err := other.SpeakerName(context.Background(), "", "Ines", "Petra")
		return err
	})
	if got := speakersOf(t, d); !slices.Equal(got, []string{"Petra", "Petra", "Petra"}) {
		t.Errorf("got %q, want Petra in the reel that came meanwhile too", got)
	}
}

// What an index that is behind finds and the bank has no longer is left out.
func TestFoundAndGone(t *testing.T) {
	d := smallBank(t)
	ix, err := d.openIndex(t.Context(), &Found{})
	if err != nil {
		t.Fatal(err)
	}
	defer ix.Close()
	var left story.Quote
	_, err = d.bank.Change(t.Context(), "test", "", func(tx *bank.Tx) error {
		for q, err := range d.bank.Quotes(t.Context(), bank.Filter{}) {
			if err != nil {
				return err
			}
			left = q
		}
		left.Text, left.Words = "The bell.", nil
		return tx.PutQuotes("talk", []story.Quote{left})
	})
	if err != nil {
		t.Fatal(err)
	}
	res, err := ix.Search(t.Context(), index.Query{Text: "bell", Limit: -1})
	if err != nil || res.Total != 2 {
		t.Fatalf("got %d found, %v, want 2 as it was", res.Total, err)
	}
	f := Found{Total: res.Total}
	there, err := d.bank.Present(t.Context(), []story.Code{res.Hits[0].Code, res.Hits[1].Code})
	if err != nil {
		t.Fatal(err)
	}
	if err := d.show(t.Context(), &f, res.Hits, there, 1); err != nil || f.Total != 1 || len(f.Hits) != 1 || f.Hits[0].Quote.Code != left.Code {
		t.Fatalf("got %+v, %v, want the quote that is there", f, err)
	}
	for _, m := range f.Hits[0].Marks {
		if m.End > len(left.Text) {
			t.Errorf("mark %v in a text of %d bytes", m, len(left.Text))
		}
	}
	// The first saying is the one that is gone.
	first, err := ix.First(t.Context(), index.Query{Text: "bell"}, nil)
	if err != nil || len(first) != 1 {
		t.Fatalf("got %v, %v, want one saying", first, err)
	}
	if list, err := d.sayings(t.Context(), first); err != nil || len(list) != 0 {
		t.Errorf("got %v, %v, want nobody", list, err)
	}
	if _, err := d.Show(t.Context(), []story.Code{first[0].Code}, 0); err == nil || !strings.Contains(err.Error(), "no longer") {
		t.Errorf("got %v, want to be told that it is gone", err)
	}
}

// A theme that had a rule keeps it beside that of a candidate.
func TestKeepThemeWithRule(t *testing.T) {
	d := smallBank(t)
	rule := "bridge"
	if _, err := d.DescribeTheme(t.Context(), "water", story.ThemeDetail{Rule: &rule}); err != nil {
		t.Fatal(err)
	}
	var bell Candidate
	bell.Term, bell.Family = "bell", []Form{{Text: "bell"}, {Text: "the bell"}}
	had, err := d.keep(t.Context(), bell, "Water")
	if err != nil || had != rule {
		t.Errorf("got %q, %v, want the rule it had", had, err)
	}
	s, err := d.Suggest(t.Context(), "water")
	if want := `bridge OR bell OR "the bell"`; err != nil || s.Theme.Rule != want || len(s.Hits) != 2 {
		t.Errorf("got rule %s with %d quotes, %v, want %s with 2", s.Theme.Rule, len(s.Hits), err, want)
	}
}

// A theme that somebody removes while another is about to accept its
// suggestions isn't made anew.
func TestJudgeMeanwhile(t *testing.T) {
	d := smallBank(t)
	rule := "bell"
	if _, err := d.DescribeTheme(t.Context(), "bell", story.ThemeDetail{Rule: &rule}); err != nil {
		t.Fatal(err)
	}
	other := sit(t, d.Dir())
	var judged error
	meanwhile(t, d, func(tx *bank.Tx) error { _, err := tx.RemoveTheme("bell"); return err }, func() error {
		_, judged = other.Judge(context.Background(), "bell", nil, true)
		return nil
	})
	list, err := d.bank.Themes(t.Context())
	if err != nil || len(list) != 0 || judged == nil {
		t.Errorf("got themes %v, %v, judged with %v, want none and an error", list, err, judged)
	}
}
