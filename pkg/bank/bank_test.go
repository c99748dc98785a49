package bank

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

var testDay = time.Date(2026, 5, 4, 9, 30, 0, 123456789, time.UTC)

// testOptions have a clock that moves on a second with each look.
func testOptions() Options {
	t := testDay
	return Options{Who: "Joss", Now: func() time.Time { t = t.Add(time.Second); return t }, BusyTimeout: 200 * time.Millisecond}
}

// newBank makes a bank that is closed, and asked by SQLite whether it is
// whole, at the end of the test.
func newBank(t testing.TB) *Bank {
	t.Helper()
	b, err := Create(t.Context(), t.TempDir(), testOptions())
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := check(context.Background(), b.db); err != nil {
			t.Error(err)
		}
		if err := b.Close(); err != nil {
			t.Error(err)
		}
	})
	return b
}

// do is a change that must work.
func do(t testing.TB, b *Bank, kind string, f func(*Tx) error) story.Entry {
	t.Helper()
	e, err := b.Change(t.Context(), kind, kind+" something", f)
	if err != nil {
		t.Fatalf("%s: %v", kind, err)
	}
	return e
}

func recording(reel, day string) story.Recording {
	return story.Recording{
		Reel: reel, Essence: "e-" + reel, Path: "/shoot/" + reel + ".wav", Bytes: 1234, Modified: testDay,
		Duration: 90 * timecode.Second, SampleRate: 48000, Channels: 2, Encoding: "24-bit PCM",
		TrackNames: []string{"boom", ""}, Day: day, Scene: "shed", Take: "2", Tape: "T1",
		Clock:       timecode.Clock{Base: timecode.Base{Rate: timecode.Rate25}, Start: 10 * timecode.Hour},
		Description: "Ines by the winch", Originator: "recorder", Note: "windy", Unfinished: true, Language: "en",
		Markers: []story.Marker{{At: timecode.Second, Label: "bell"}, {At: -1, Label: ""}},
		Transcript: story.Transcript{
			Path: "/shoot/" + reel + ".srt", Digest: "d-" + reel, Format: "srt", Encoding: "UTF-8",
			Bytes: 99, Modified: testDay.Add(time.Hour),
		},
	}
}

// sayings makes quotes of two seconds each, coded from the reel.
func sayings(reel string, texts ...string) []story.Quote {
	var list []story.Quote
	taken := map[story.Code]bool{}
	for i, text := range texts {
		in := timecode.Ticks(i) * 2 * timecode.Second
		code := story.NewCode("e-"+reel, in, func(c story.Code) bool { return taken[c] })
		taken[code] = true
		q := story.Quote{
			Code: code, Speaker: "Ines", Span: timecode.Span{In: in, Out: in + timecode.Second}, Text: text,
			Language: "en", InBy: story.FromWords, OutBy: story.FromShare,
		}
		at := in
		for _, w := range strings.Fields(text) {
			q.Words = append(q.Words, story.Word{Text: w, Span: timecode.Span{In: at, Out: at + timecode.Millisecond}})
			at += timecode.Millisecond
		}
		list = append(list, q)
	}
	return list
}

// shoot fills a bank with two reels of two days.
func shoot(t testing.TB, b *Bank) {
	t.Helper()
	do(t, b, "ingest", func(tx *Tx) error {
		for _, x := range []struct {
			reel, day string
			texts     []string
		}{
			{"D2-INT2", "D2", []string{"Nobody rings a bridge.", "I still hear the bell.", "It was for them."}},
			{"D1-INT1", "D1", []string{"Thirty-four years.", "The bridge opens in May."}},
		} {
			if err := tx.PutRecording(recording(x.reel, x.day)); err != nil {
				return err
			}
			if err := tx.PutQuotes(x.reel, sayings(x.reel, x.texts...)); err != nil {
				return err
			}
		}
		return nil
	})
}

func all(t testing.TB, b *Bank, f Filter) []story.Quote {
	t.Helper()
	var list []story.Quote
	for q, err := range b.Quotes(t.Context(), f) {
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, q)
	}
	return list
}

func texts(quotes []story.Quote) string {
	var list []string
	for _, q := range quotes {
		list = append(list, q.Text)
	}
	return strings.Join(list, " | ")
}

// dump writes out every row of the bank but the journal's.
func dump(t testing.TB, b *Bank) string {
	t.Helper()
	var out strings.Builder
	for _, tab := range tables() {
		cols := append(slices.Clone(tab.key), tab.cols...)
		rows, err := b.db.Query("SELECT " + strings.Join(cols, ",") + " FROM " + tab.name + " ORDER BY " + strings.Join(tab.key, ","))
		if err != nil {
			t.Fatal(err)
		}
		for rows.Next() {
			vals, into := make([]sql.RawBytes, len(cols)), make([]any, len(cols))
			for i := range vals {
				into[i] = &vals[i]
			}
			if err := rows.Scan(into...); err != nil {
				t.Fatal(err)
			}
			fmt.Fprintf(&out, "%s %q\n", tab.name, vals)
		}
		if err := errors.Join(rows.Err(), rows.Close()); err != nil {
			t.Fatal(err)
		}
	}
	return out.String()
}

func TestCreateAndOpen(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "film", "the far bank #1?")
	b, err := Create(t.Context(), dir, testOptions())
	if err != nil {
		t.Fatal(err)
	}
	shoot(t, b)
	id := b.ID()
	if len(id) != 32 || b.Dir() != dir {
		t.Errorf("got ID %q and Dir %q, want 32 letters and %q", id, b.Dir(), dir)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 || left[0].Name() != File {
		t.Errorf("got %v, %v in the folder, want only %s", left, err, File)
	}
	if _, err := Create(t.Context(), dir, testOptions()); !errors.Is(err, ErrExists) {
		t.Errorf("got %v, want ErrExists", err)
	}
	for _, readOnly := range []bool{false, true} {
		opt := testOptions()
		opt.ReadOnly = readOnly
		b, err := Open(t.Context(), dir, opt)
		if err != nil {
			t.Fatal(err)
		}
		if b.ID() != id {
			t.Errorf("got ID %q, want %q", b.ID(), id)
		}
		if n, err := b.State(t.Context()); n != 1 || err != nil {
			t.Errorf("got state %d, %v, want 1", n, err)
		}
		if err := b.Close(); err != nil {
			t.Error(err)
		}
	}
}

// Recordings and quotes come in the order of shooting, also in a shoot of more
// than nine days.
func TestOrderOfShooting(t *testing.T) {
	b := newBank(t)
	at := func(reel, day string, start timecode.Ticks) story.Recording {
		r := recording(reel, day)
		r.Clock.Start = start
		return r
	}
	want := []story.Recording{
		at("WILD", "", 0), at("D1-B", "D1", timecode.Hour), at("D1-A", "D1", 9*timecode.Hour), at("D2-INT2", "D2", 0), at("D2-INT10", "D2", 0), at("D10-INT1", "D10", 0),
	}
	_, err := b.Change(t.Context(), "test", "six reels", func(tx *Tx) error {
		for _, i := range []int{5, 2, 4, 0, 1, 3} {
			if err := tx.PutRecording(want[i]); err != nil {
				return err
			}
			q := story.Quote{Code: story.Code(fmt.Sprintf("CDDD%02d", i)), Text: "The bell rang.", Span: timecode.Span{Out: timecode.Second}}
			if err := tx.PutQuotes(want[i].Reel, []story.Quote{q}); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	list, err := b.Recordings(t.Context())
	if err != nil || len(list) != len(want) {
		t.Fatalf("got %d reels, %v", len(list), err)
	}
	i := 0
	for q, err := range b.Quotes(t.Context(), Filter{}) {
		if err != nil {
			t.Fatal(err)
		}
		if list[i].Reel != want[i].Reel || q.Reel != want[i].Reel {
			t.Errorf("place %d: reel %s, quote of %s, want %s", i+1, list[i].Reel, q.Reel, want[i].Reel)
		}
		i++
	}
}

func TestRecordings(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	list, err := b.Recordings(t.Context())
	if err != nil || len(list) != 2 || list[0].Reel != "D1-INT1" || list[1].Reel != "D2-INT2" {
		t.Fatalf("got %v, %v, want D1-INT1 and D2-INT2", list, err)
	}
	want := fmt.Sprintf("%+v", recording("D2-INT2", "D2"))
	for name, find := range map[string]func() (story.Recording, error){
		"reel":              func() (story.Recording, error) { return b.Recording(t.Context(), "d2-int2") },
		"essence":           func() (story.Recording, error) { return b.ByEssence(t.Context(), "e-D2-INT2") },
		"path":              func() (story.Recording, error) { return b.ByPath(t.Context(), "/shoot/D2-INT2.wav") },
		"transcript path":   func() (story.Recording, error) { return b.ByTranscriptPath(t.Context(), "/shoot/D2-INT2.srt") },
		"transcript digest": func() (story.Recording, error) { return b.ByTranscriptDigest(t.Context(), "d-D2-INT2") },
	} {
		r, err := find()
		if got := fmt.Sprintf("%+v", r); got != want || err != nil {
			t.Errorf("by %s: got %s, %v, want %s", name, got, err, want)
		}
	}
	if _, err := b.Recording(t.Context(), "D9"); !errors.Is(err, ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
	if _, err := b.ByPath(t.Context(), ""); !errors.Is(err, ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
}

func TestQuotes(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	if got, want := texts(all(t, b, Filter{})), "Thirty-four years. | The bridge opens in May. | Nobody rings a bridge. | I still hear the bell. | It was for them."; got != want {
		t.Errorf("got %s, want %s", got, want)
	}
	want := sayings("D2-INT2", "Nobody rings a bridge.", "I still hear the bell.", "It was for them.")[1]
	want.Reel, want.Day, want.Order, want.Clock = "D2-INT2", "D2", 1, recording("D2-INT2", "D2").Clock
	want.Themes, want.Rating, want.Note = []string{"bell", "strong"}, 4, "the turn"
	do(t, b, "tag", func(tx *Tx) error {
		_, err := tx.Tag(want.Code, []string{"strong", "bell"}, nil)
		_, err2 := tx.Rate(want.Code, 4)
		_, err3 := tx.Note(want.Code, "the turn")
		return errors.Join(err, err2, err3)
	})
	got, err := b.Quote(t.Context(), want.Code)
	if fmt.Sprintf("%+v", got) != fmt.Sprintf("%+v", want) || err != nil {
		t.Errorf("got %+v, %v, want %+v", got, err, want)
	}
	before, after, err := b.Around(t.Context(), want.Code, 5)
	if texts(before) != "Nobody rings a bridge." || texts(after) != "It was for them." || err != nil {
		t.Errorf("got around %q, %q, %v", texts(before), texts(after), err)
	}
}
