package bank

import (
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func TestHeardComesBack(t *testing.T) {
	b := newBank(t)
	shoot(t, b)
	if _, err := b.Heard(t.Context(), "D1-INT1"); !errors.Is(err, ErrNotFound) {
		t.Errorf("got %v, want ErrNotFound", err)
	}
	want := story.Heard{
		Version: 3, Duration: 90 * timecode.Second,
		FloorDBFS: -62.5, LoudnessLUFS: math.Inf(-1), PeakDBFS: math.Inf(-1), ThresholdDBFS: 0.1,
		Envelope: story.Envelope{
			RMS:  []int16{story.EnvelopeSilent, -6200, -1, 0, math.MaxInt16, math.MinInt16, 5},
			Peak: []int16{0, math.MinInt16, math.MaxInt16, story.EnvelopeSilent, 0, 1, -1},
		},
		Speech: []timecode.Span{{In: 5, Out: 9}, {In: 20, Out: math.MaxInt64 / 4}},
		Pauses: []timecode.Span{{In: 9, Out: 20}},
		Turns: []story.Turn{
			{Speaker: "Inès", Span: timecode.Span{In: 5, Out: 30}, Source: story.ByChannel, Channel: 2},
			{Speaker: "channel", Span: timecode.Span{In: 2, Out: 9}, Source: story.ByVoice, Channel: -1},
			{Speaker: "Inès", Span: timecode.Span{In: 40, Out: 41}, Source: story.ByTranscript, Channel: -1},
			{Speaker: "", Span: timecode.Span{In: 50, Out: 51}},
		},
		Clipped: []story.Clip{{Span: timecode.Span{In: 7, Out: 8}, Channel: 1, Samples: 12}},
	}
	do(t, b, "hear", func(tx *Tx) error { return tx.PutHeard("d1-int1", want) })
	got, err := b.Heard(t.Context(), "D1-int1")
	if err != nil || !reflect.DeepEqual(*got, want) {
		t.Errorf("got %+v, %v, want %+v", got, err, want)
	}
	e := do(t, b, "speakers", func(tx *Tx) error {
		quotes, turns, err := tx.SetSpeaker("D1-INT1", "INÈS", "Ines")
		if quotes != 0 || turns != 2 {
			t.Errorf("got %d quotes and %d turns changed, want 2 turns", quotes, turns)
		}
		return err
	})
	if e.Rows != 1 {
		t.Errorf("got %d rows, want 1: the envelope stays", e.Rows)
	}
	if got, err = b.Heard(t.Context(), "D1-INT1"); err != nil || got.Turns[2].Speaker != "Ines" || got.Turns[1].Speaker != "channel" {
		t.Errorf("got %+v, %v", got, err)
	}
}

// Envelopes come back at lengths around a block, of loud noise and of digital
// silence, which deflate packs as tightly as it can; a blob that promises more
// than it can hold is refused before room is made for it.
func TestLongEnvelope(t *testing.T) {
	for _, n := range []int{1<<14 - 1, 1 << 14, 1<<14 + 1, 3 << 20} {
		e := story.Envelope{RMS: make([]int16, n), Peak: make([]int16, n)}
		for i := range n {
			e.RMS[i], e.Peak[i] = int16(i*i*7919), story.EnvelopeSilent
		}
		for _, e := range []story.Envelope{e, {RMS: e.Peak, Peak: e.Peak}} {
			got, err := unpackEnvelope(packEnvelope(e))
			if err != nil || !slices.Equal(got.RMS, e.RMS) || !slices.Equal(got.Peak, e.Peak) {
				t.Errorf("%d steps: another envelope (%v)", n, err)
			}
		}
	}
	small := packEnvelope(story.Envelope{RMS: make([]int16, 5)})
	lie := append(binary.AppendUvarint(nil, maxEnvelope), small[1:]...)
	if _, err := unpackEnvelope(lie); !errors.Is(err, ErrDamaged) {
		t.Errorf("got %v, want ErrDamaged", err)
	}
}

// Quotes without word times, as most subtitle files give them, are changed
// like others.
func TestSpeakerWithoutWords(t *testing.T) {
	b := newBank(t)
	do(t, b, "ingest", func(tx *Tx) error {
		if err := tx.PutRecording(recording("D1-INT1", "")); err != nil {
			return err
		}
		return tx.PutQuotes("D1-INT1", []story.Quote{{Code: "AAA", Speaker: "INES", Text: "Thirty-four years."}})
	})
	e := do(t, b, "speakers", func(tx *Tx) error { _, _, err := tx.SetSpeaker("D1-INT1", "INES", "Ines"); return err })
	if q, err := b.Quote(t.Context(), "AAA"); q.Speaker != "Ines" || q.Words != nil || e.Rows != 1 || err != nil {
		t.Errorf("got %+v, %v, %d rows changed", q, err, e.Rows)
	}
}

func TestPackedComesBack(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		level := rapid.SliceOf(rapid.Int16())
		e := story.Envelope{RMS: level.Draw(r, "rms"), Peak: level.Draw(r, "peak")}
		if got, err := unpackEnvelope(packEnvelope(e)); err != nil || fmt.Sprint(got) != fmt.Sprint(e) {
			r.Fatalf("got %v, %v, want %v", got, err, e)
		}
		var words []story.Word
		for range rapid.IntRange(0, 5).Draw(r, "words") {
			words = append(words, story.Word{
				Text: rapid.String().Draw(r, "text"),
				Span: timecode.Span{In: timecode.Ticks(rapid.Int64().Draw(r, "in")), Out: timecode.Ticks(rapid.Int64().Draw(r, "out"))},
			})
		}
		if got, err := unpackWords(packWords(words)); err != nil || fmt.Sprint(got) != fmt.Sprint(words) {
			r.Fatalf("got %v, %v, want %v", got, err, words)
		}
	})
}

// What a damaged bank holds is an error, never a panic.
func FuzzUnpack(f *testing.F) {
	f.Add(packHeard(story.Heard{Turns: []story.Turn{{Speaker: "Ines"}}, Speech: []timecode.Span{{In: 1, Out: 2}}}))
	f.Add(packWords([]story.Word{{Text: "bell"}}))
	f.Add(packEnvelope(story.Envelope{RMS: []int16{1, 2, 3}, Peak: []int16{-5, 6}}))
	f.Add(packNames([]string{"boom"}))
	image, err := tableMark.image([]any{int64(4), "note"})
	if err != nil {
		f.Fatal(err)
	}
	f.Add(image)
	f.Fuzz(func(t *testing.T, b []byte) {
		_, e1 := unpackHeard(b)
		_, e2 := unpackWords(b)
		_, e3 := unpackEnvelope(b)
		_, e4 := unpackNames(b)
		_, e5 := unpackMarkers(b)
		_, e6 := tableMark.values(b)
		for _, err := range []error{e1, e2, e3, e4, e5, e6} {
			if err != nil && !errors.Is(err, ErrDamaged) {
				t.Errorf("got %v, want ErrDamaged", err)
			}
		}
	})
}

// The names that fold alike are those that Go's strings.EqualFold holds
// equal, and the same letters composed otherwise (Unicode NFC).
func TestFold(t *testing.T) {
	for _, c := range []struct {
		a, b string
		same bool
	}{
		{"D1-INT1", "d1-int1", true},
		{"Ünal", "üNAL", true},
		{"Cafe\u0301", "CAFÉ", true},
		{"ΣΊΣΥΦΟΣ", "σίσυφος", true},
		{"K", "k", true}, // the Kelvin sign
		{"straße", "strasse", false},
		{"a", "b", false},
		{"\xff", "\xfe", false},
		{"", "", true},
	} {
		if got := fold(c.a) == fold(c.b); got != c.same {
			t.Errorf("%q and %q: got same %v, want %v", c.a, c.b, got, c.same)
		}
	}
}
