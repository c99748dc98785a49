package bank

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func TestFilter(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	q := all(t, b, Filter{})
	do(t, b, "tag", func(tx *Tx) error {
		_, e1 := tx.Tag(q[4].Code, []string{"Bell", "strong"}, nil)
		_, e2 := tx.Tag(q[1].Code, []string{"bell", "bridge"}, nil)
		_, e3 := tx.Tag(q[0].Code, []string{"STRONG"}, nil)
		_, e4 := tx.Rate(q[3].Code, 4)
		_, e5 := tx.Rate(q[0].Code, 2)
		_, _, e6 := tx.SetSpeaker("D1-INT1", "ines", "Wilf")
		return errors.Join(e1, e2, e3, e4, e5, e6)
	})
	for _, c := range []struct {
		name string
		f    Filter
		want []int
	}{
		{"reel", Filter{Reel: "d2-int2"}, []int{2, 3, 4}},
		{"speaker", Filter{Speaker: "WILF"}, []int{0, 1}},
		{"theme", Filter{Theme: "BELL"}, []int{1, 4}},
		{"theme and reel", Filter{Theme: "bell", Reel: "D2-INT2"}, []int{4}},
		{"unknown theme", Filter{Theme: "winch"}, nil},
		{"strong", Filter{Strong: true}, []int{0, 4}},
		{"tagged", Filter{Tagged: true}, []int{1, 4}},
		{"rating", Filter{MinRating: 2}, []int{0, 3}},
		{"rating and strong", Filter{MinRating: 2, Strong: true}, []int{0}},
		{"codes", Filter{Codes: []story.Code{q[3].Code, q[0].Code, q[3].Code}}, []int{3, 0, 3}},
		{"codes and strong", Filter{Codes: []story.Code{q[3].Code, q[0].Code}, Strong: true}, []int{0}},
		{"no codes", Filter{Codes: []story.Code{}}, nil},
	} {
		var want []string
		for _, i := range c.want {
			want = append(want, q[i].Text)
		}
		if got := texts(all(t, b, c.f)); got != strings.Join(want, " | ") {
			t.Errorf("%s: got %s, want %s", c.name, got, strings.Join(want, " | "))
		}
	}
	for _, f := range []Filter{{Reel: "D9"}, {Codes: []story.Code{"NOSUCH", q[0].Code, "GONEXX"}}} {
		n := 0
		for _, err := range b.Quotes(t.Context(), f) {
			n++
			if !errors.Is(err, ErrNotFound) || f.Codes != nil && !strings.Contains(err.Error(), "NOSUCH, GONEXX are") {
				t.Errorf("%+v: got %v, want ErrNotFound with the codes", f, err)
			}
		}
		if n != 1 {
			t.Errorf("%+v: got %d values, want 1 error", f, n)
		}
	}
}

// Many codes need more than one query: order, repeats and missing ones.
func TestManyCodes(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	var lines []string
	for i := range 3*codeBatch + 7 {
		lines = append(lines, fmt.Sprint("line ", i))
	}
	quotes := sayings("D1-INT1", lines...)
	do(t, b, "ingest", func(tx *Tx) error { return tx.PutQuotes("D1-INT1", quotes) })
	var codes []story.Code
	for i := range quotes {
		codes = append(codes, quotes[(i*389)%len(quotes)].Code)
	}
	var got []story.Code
	for _, q := range all(t, b, Filter{Codes: codes}) {
		got = append(got, q.Code)
	}
	if !slices.Equal(got, codes) {
		t.Errorf("got %d quotes in another order, want %d", len(got), len(codes))
	}
	for q, err := range b.Quotes(t.Context(), Filter{Codes: append(codes, "NOSUCH")}) {
		if !errors.Is(err, ErrNotFound) {
			t.Fatalf("got %s, %v before ErrNotFound", q.Code, err)
		}
	}
	// A reader may stop, and use and change the bank while it reads.
	for q, err := range b.Quotes(t.Context(), Filter{Reel: "D1-INT1"}) {
		if err != nil {
			t.Fatal(err)
		}
		do(t, b, "rate", func(tx *Tx) error { _, err := tx.Rate(q.Code, 5); return err })
		if q.Order == 3 {
			break
		}
	}
	if got := len(all(t, b, Filter{MinRating: 5})); got != 4 {
		t.Errorf("got %d rated, want 4", got)
	}
	taken, err := b.CodeTaken(t.Context())
	if err != nil || !taken(codes[5]) || taken("NOSUCH") {
		t.Errorf("got CodeTaken wrong, %v", err)
	}
}

func TestPutQuotesAgain(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	old := all(t, b, Filter{Reel: "D2-INT2"})
	do(t, b, "tag", func(tx *Tx) error { _, err := tx.Tag(old[1].Code, []string{"bell"}, nil); return err })
	// A corrected transcript: the first is gone, the second keeps its code
	// and moves to the front, one is new.
	again := all(t, b, Filter{Reel: "D2-INT2"})
	again[1].Text = "I still hear that bell."
	fresh := sayings("D2-X", "And then it stopped.")[0]
	fresh.Themes, fresh.Rating = []string{"silence"}, 3
	e := do(t, b, "ingest", func(tx *Tx) error {
		return tx.PutQuotes("d2-int2", []story.Quote{again[1], fresh, again[2]})
	})
	got := all(t, b, Filter{Reel: "D2-INT2"})
	if texts(got) != "I still hear that bell. | And then it stopped. | It was for them." {
		t.Errorf("got %s", texts(got))
	}
	if got[0].Code != old[1].Code || !slices.Equal(got[0].Themes, []string{"bell"}) || got[1].Rating != 3 || got[0].Order != 0 {
		t.Errorf("got %+v, %+v", got[0], got[1])
	}
	// quote: 1 gone, 1 changed, 1 new (the third keeps its row); retired,
	// theme silence, tag, mark: 1 each.
	if e.Rows != 7 {
		t.Errorf("got %d rows changed, want 7", e.Rows)
	}
	changed, gone, full, err := b.ChangedSince(t.Context(), e.Number-1)
	if err != nil || full || len(changed) != 2 || !slices.Equal(gone, []story.Code{old[0].Code}) {
		t.Errorf("got changed %s, gone %v, full %v, %v", texts(changed), gone, full, err)
	}
	if taken, err := b.CodeTaken(t.Context()); err != nil || !taken(old[0].Code) {
		t.Errorf("got the code of a quote that is gone free, %v", err)
	}
	// It comes back with the old transcript.
	do(t, b, "ingest", func(tx *Tx) error { return tx.PutQuotes("D2-INT2", old) })
	if got := texts(all(t, b, Filter{Reel: "D2-INT2"})); got != texts(old) {
		t.Errorf("got %s, want %s", got, texts(old))
	}
	for name, bad := range map[string][]story.Quote{
		"no code":      {{}},
		"twice":        {old[0], old[0]},
		"out first":    {{Code: "X", Span: timecode.Span{In: 2, Out: 1}}},
		"rating":       {{Code: "X", Rating: 6}},
		"theme":        {{Code: "X", Themes: []string{"+bell"}}},
		"another reel": {all(t, b, Filter{Reel: "D1-INT1"})[0]},
	} {
		before := dump(t, b)
		e, err := b.Change(t.Context(), "ingest", "", func(tx *Tx) error { return tx.PutQuotes("D2-INT2", bad) })
		if !errors.Is(err, story.ErrInvalid) || e.Number != 0 || dump(t, b) != before {
			t.Errorf("%s: got entry %d, %v, want ErrInvalid and nothing changed", name, e.Number, err)
		}
	}
}

func TestChangedSince(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	q := all(t, b, Filter{})
	for _, c := range []struct {
		name  string
		f     func(tx *Tx) error
		want  string
		gone  int
		whole bool
	}{
		{"nothing", func(tx *Tx) error { return nil }, "", 0, false},
		{"tag", func(tx *Tx) error { _, err := tx.Tag(q[0].Code, []string{"winch"}, nil); return err }, q[0].Text, 0, false},
		{"spelling", func(tx *Tx) error { _, err := tx.RenameTheme("winch", "Winch"); return err }, q[0].Text, 0, false},
		{"note", func(tx *Tx) error { _, err := tx.Note(q[1].Code, "x"); return err }, q[1].Text, 0, false},
		{"day", func(tx *Tx) error { return tx.PutRecording(recording("D1-INT1", "D3")) }, q[0].Text + " | " + q[1].Text, 0, false},
		{"moved", func(tx *Tx) error {
			r := recording("D1-INT1", "D3")
			r.Path = "/elsewhere"
			return tx.PutRecording(r)
		}, "", 0, false},
		{"selects", func(tx *Tx) error {
			return tx.PutSelects(story.Selects{Name: "open", Items: []story.Item{{Code: q[0].Code}}})
		}, "", 0, false},
		{"removed", func(tx *Tx) error { return tx.RemoveRecording("D1-INT1") }, "", 2, false},
	} {
		state, err := b.State(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		do(t, b, c.name, c.f)
		changed, gone, full, err := b.ChangedSince(t.Context(), state)
		slices.SortFunc(changed, func(a, b story.Quote) int { return a.Order - b.Order })
		if texts(changed) != c.want || len(gone) != c.gone || full || err != nil {
			t.Errorf("%s: got %q, gone %v, full %v, %v, want %q, %d gone", c.name, texts(changed), gone, full, err, c.want, c.gone)
		}
	}
	for _, state := range []int64{-1, 0, 999} {
		if _, _, full, err := b.ChangedSince(t.Context(), state); !full || err != nil {
			t.Errorf("state %d: got full %v, %v, want true", state, full, err)
		}
	}
}
