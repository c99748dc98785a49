package bank

import (
	"errors"
	"slices"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// A quote that a corrected transcript no longer has is kept with what people
// said of it, and is as it was once it comes back.
func TestRetired(t *testing.T) {
	b, err := Create(t.Context(), t.TempDir(), testOptions())
	if err != nil {
		t.Fatal(err)
	}
	defer closed(t, b)
	s := timecode.Second
	quotes := []story.Quote{
		{Code: "KRTWHC", Span: timecode.Span{In: 0, Out: s}, Text: "There's a bell.", Speaker: "Ines"},
		{Code: "CFTTYW", Span: timecode.Span{In: 2 * s, Out: 3 * s}, Text: "Nobody rings a bridge.", Speaker: "Ines"},
	}
	do(t, b, "ingest", func(tx *Tx) error {
		if err := tx.PutRecording(story.Recording{Reel: "D2-INT2"}); err != nil {
			return err
		}
		return tx.PutQuotes("D2-INT2", quotes)
	})
	do(t, b, "tag", func(tx *Tx) error {
		if _, err := tx.Tag("CFTTYW", []string{"the bell", "old"}, nil); err != nil {
			return err
		}
		if _, err := tx.Tag("CFTTYW", nil, []string{"old"}); err != nil {
			return err
		}
		if _, err := tx.Rate("CFTTYW", 4); err != nil {
			return err
		}
		_, err := tx.Note("CFTTYW", "use the end")
		return err
	})
	if got, err := b.Retired(t.Context(), "D2-INT2"); len(got) != 0 || err != nil {
		t.Errorf("got %v, %v before anything was lost", got, err)
	}
	do(t, b, "ingest", func(tx *Tx) error { return tx.PutQuotes("D2-INT2", quotes[:1]) })
	got, err := b.Retired(t.Context(), "d2-int2")
	if err != nil || len(got) != 1 {
		t.Fatalf("got %v, %v, want one quote", got, err)
	}
	q := got[0]
	if one, err := b.RetiredQuote(t.Context(), "CFTTYW"); err != nil || one.Text != q.Text || one.Rating != 4 {
		t.Errorf("by code: got %+v, %v", one, err)
	}
	if _, err := b.RetiredQuote(t.Context(), "KRTWHC"); !errors.Is(err, ErrNotFound) {
		t.Errorf("a quote that is there: got %v, want ErrNotFound", err)
	}
	if q.Code != "CFTTYW" || q.Text != quotes[1].Text || q.Span != quotes[1].Span || q.Speaker != "Ines" ||
		q.Rating != 4 || q.Note != "use the end" || !slices.Equal(q.Themes, []string{"the bell"}) {
		t.Errorf("got %+v", q)
	}
	do(t, b, "ingest", func(tx *Tx) error { return tx.PutQuotes("D2-INT2", []story.Quote{quotes[0], q}) })
	if got, err := b.Retired(t.Context(), "D2-INT2"); len(got) != 0 || err != nil {
		t.Errorf("got %v, %v after it came back", got, err)
	}
	back, err := b.Quote(t.Context(), "CFTTYW")
	if err != nil || back.Rating != 4 || !slices.Equal(back.Themes, []string{"the bell"}) {
		t.Errorf("got %+v, %v back", back, err)
	}
	// Gone a second time, it is as it was then; gone by an undo, too.
	do(t, b, "tag", func(tx *Tx) error {
		_, err := tx.Tag("CFTTYW", []string{"ring"}, []string{"the bell"})
		_, err2 := tx.Rate("CFTTYW", 2)
		return errors.Join(err, err2, tx.PutRecording(story.Recording{Reel: "d2-Int2"}))
	})
	do(t, b, "ingest", func(tx *Tx) error { return tx.PutQuotes("D2-INT2", quotes[:1]) })
	again := func(when string) {
		t.Helper()
		got, err := b.Retired(t.Context(), "D2-INT2")
		if err != nil || len(got) != 1 || got[0].Rating != 2 || got[0].Note != "use the end" || !slices.Equal(got[0].Themes, []string{"ring"}) {
			t.Errorf("%s: got %+v, %v", when, got, err)
		}
	}
	again("gone again")
	do(t, b, "ingest", func(tx *Tx) error { return tx.PutQuotes("D2-INT2", append(slices.Clone(quotes[:1]), got[0])) })
	if _, err := b.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	if got, err := b.Retired(t.Context(), "D2-INT2"); err != nil || len(got) != 1 || got[0].Rating != 4 {
		t.Errorf("gone by an undo: got %+v, %v, want it as it was before that", got, err)
	}
	if got, err := b.Retired(t.Context(), "NONE"); len(got) != 0 || err != nil {
		t.Errorf("got %v, %v of no reel", got, err)
	}
}
