package bank

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func TestThemes(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	q := all(t, b, Filter{})
	do(t, b, "tag", func(tx *Tx) error {
		for _, x := range q {
			if _, err := tx.Tag(x.Code, []string{"strong"}, nil); err != nil {
				return err
			}
		}
		_, e1 := tx.Tag(q[4].Code, []string{"the  Bell"}, nil)
		_, e2 := tx.Tag(q[0].Code, []string{"THE BELL", "years"}, nil)
		_, e3 := tx.Tag(q[3].Code, []string{"écluse"}, nil)
		_, e4 := tx.Tag(q[3].Code, nil, []string{"ÉCLUSE"})
		_, e5 := tx.AddTheme("far bank")
		_, _, e6 := tx.SetSpeaker("D1-INT1", "Ines", "")
		return errors.Join(e1, e2, e3, e4, e5, e6)
	})
	list, err := b.Themes(t.Context())
	want := "[{the Bell 2 [D1-INT1 D2-INT2] [Ines] 1411200000 2} {years 1 [D1-INT1] [] 705600000 1} {far bank 0 [] [] 0 0} {écluse 0 [] [] 0 0}]"
	got := "["
	for i, th := range list {
		if i > 0 {
			got += " "
		}
		got += fmt.Sprintf("{%s %d %v %v %d %v}", th.Name, th.Quotes, th.Reels, th.Speakers, int64(th.Ticks), th.Seconds)
	}
	if got += "]"; got != want || err != nil {
		t.Errorf("got %s, %v, want %s", got, err, want)
	}
	e := do(t, b, "rename", func(tx *Tx) error {
		n, err := tx.RenameTheme(" YEARS", "the  bell")
		if n != 1 {
			t.Errorf("got %d quotes renamed, want 1", n)
		}
		return err
	})
	if e.Rows != 2 {
		t.Errorf("got %d rows, want 2: the theme and its tag are gone, the quote had the other", e.Rows)
	}
	_, err = b.Change(t.Context(), "rename", "", func(tx *Tx) error { _, err := tx.RenameTheme("the bell", "Strong"); return err })
	if !errors.Is(err, story.ErrInvalid) {
		t.Errorf("got %v, want ErrInvalid", err)
	}
	do(t, b, "remove", func(tx *Tx) error { _, err := tx.RemoveTheme("the bell"); return err })
	if list, err = b.Themes(t.Context()); len(list) != 2 || err != nil {
		t.Errorf("got %v, %v, want two themes left", list, err)
	}
	if _, err := b.Change(t.Context(), "remove", "", func(tx *Tx) error { _, err := tx.RemoveTheme("the bell"); return err }); !errors.Is(err, ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
}

func TestSummary(t *testing.T) {
	b := newBank(t)
	film := Film{Title: "The Far Bank", Note: "last season", Base: timecode.Base{Rate: timecode.Rate2997, Drop: true}}
	do(t, b, "new", func(tx *Tx) error { return tx.SetFilm(film) })
	shoot(t, b)
	q := all(t, b, Filter{})
	do(t, b, "tag", func(tx *Tx) error {
		_, e1 := tx.Tag(q[0].Code, []string{"strong", "a", "b"}, nil)
		_, e2 := tx.Tag(q[1].Code, []string{"strong"}, nil)
		_, e3 := tx.Rate(q[1].Code, 1)
		_, e4 := tx.Note(q[2].Code, "no rating")
		e5 := tx.PutHeard("D1-INT1", story.Heard{Speech: []timecode.Span{{In: 1, Out: 4}, {In: 9, Out: 10}}})
		e6 := tx.PutSelects(story.Selects{Name: "opening"})
		return errors.Join(e1, e2, e3, e4, e5, e6)
	})
	got, err := b.Summary(t.Context())
	want := Summary{
		Film: film, Recordings: 2, Heard: 1, Quotes: 5, Tagged: 1, Strong: 2, Rated: 1, Themes: 2, Selects: 1,
		Sound: 180 * timecode.Second, Speech: 4, State: 3,
	}
	if got != want || err != nil {
		t.Errorf("got %+v, %v, want %+v", got, err, want)
	}
}

func items(s story.Selects) string {
	out := fmt.Sprintf("%s %d:", s.Name, int64(s.Target))
	for _, it := range s.Items {
		out += fmt.Sprintf(" [%d %s %s %d-%d %v %s %q %v %d]", it.ID, it.Reel, it.Text, int64(it.In), int64(it.Out), it.Trimmed, it.Speaker, it.Note, it.Lost, int64(it.Clock.Start/timecode.Hour))
	}
	return out
}

func TestSelects(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	q := all(t, b, Filter{Reel: "D2-INT2"})
	put := func(s story.Selects) {
		t.Helper()
		do(t, b, "selects", func(tx *Tx) error { return tx.PutSelects(s) })
	}
	get := func() story.Selects {
		t.Helper()
		s, err := b.Selects(t.Context(), " OPENING ")
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	put(story.Selects{Name: "Opening", Target: 60, Items: []story.Item{
		{Code: q[1].Code, Note: "first"},
		{Code: q[0].Code, Trimmed: true, Span: timecode.Span{In: 10, Out: 20}},
		{Code: q[1].Code},
	}})
	sec := int64(timecode.Second)
	want := fmt.Sprintf("Opening 60: [1 D2-INT2 I still hear the bell. %d-%d false Ines \"first\" false 10]"+
		" [2 D2-INT2 Nobody rings a bridge. 10-20 true Ines \"\" false 10]"+
		" [3 D2-INT2 I still hear the bell. %d-%d false Ines \"\" false 10]", 2*sec, 3*sec, 2*sec, 3*sec)
	if got := items(get()); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	// Drop the last, put a new one first: its number was never used.
	s := get()
	s.Items = []story.Item{{Code: q[2].Code}, s.Items[1], s.Items[0]}
	put(s)
	var ids []int
	for _, it := range get().Items {
		ids = append(ids, it.ID)
	}
	if !slices.Equal(ids, []int{4, 2, 1}) {
		t.Errorf("got IDs %v, want 4, 2, 1", ids)
	}
	// The quote moves: the untrimmed item follows. Two quotes go: lost.
	moved := q[2]
	moved.Out += timecode.Second
	do(t, b, "ingest", func(tx *Tx) error { return tx.PutQuotes("D2-INT2", []story.Quote{moved}) })
	do(t, b, "remove", func(tx *Tx) error { return tx.RemoveRecording("D1-INT1") })
	want = fmt.Sprintf("Opening 60: [4 D2-INT2 It was for them. %d-%d false Ines \"\" false 10]"+
		" [2 D2-INT2 Nobody rings a bridge. 10-20 true Ines \"\" true 10]"+
		" [1 D2-INT2 I still hear the bell. %d-%d false Ines \"first\" true 10]", 4*sec, 6*sec, 2*sec, 3*sec)
	if got := items(get()); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	// A lost item can still be stored; and the recording can go as well.
	do(t, b, "remove", func(tx *Tx) error { return tx.RemoveRecording("D2-INT2") })
	s = get()
	s.Items = s.Items[1:]
	put(s)
	if s = get(); len(s.Items) != 2 || !s.Items[0].Lost || s.Items[0].Reel != "D2-INT2" {
		t.Errorf("got %s", items(s))
	}
	put(story.Selects{Name: "an ending"})
	list, err := b.AllSelects(t.Context())
	if err != nil || len(list) != 2 || list[0].Name != "an ending" || len(list[1].Items) != 2 {
		t.Errorf("got %v, %v", list, err)
	}
	do(t, b, "selects", func(tx *Tx) error { return tx.RemoveSelects("opening") })
	if _, err := b.Selects(t.Context(), "opening"); !errors.Is(err, ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
}

func TestSelectsRefused(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	code := all(t, b, Filter{})[0].Code
	for _, c := range []struct {
		name string
		s    story.Selects
		want error
	}{
		{"no name", story.Selects{}, story.ErrInvalid},
		{"unknown quote", story.Selects{Name: "a", Items: []story.Item{{Code: "NOSUCH"}}}, ErrNotFound},
		{"ID twice", story.Selects{Name: "a", Items: []story.Item{{ID: 1, Code: code}, {ID: 1, Code: code}}}, story.ErrInvalid},
		{"negative ID", story.Selects{Name: "a", Items: []story.Item{{ID: -1, Code: code}}}, story.ErrInvalid},
		{"empty trim", story.Selects{Name: "a", Items: []story.Item{{Code: code, Trimmed: true}}}, story.ErrInvalid},
	} {
		if _, err := b.Change(t.Context(), "selects", "", func(tx *Tx) error { return tx.PutSelects(c.s) }); !errors.Is(err, c.want) {
			t.Errorf("%s: got %v, want %v", c.name, err, c.want)
		}
	}
}
