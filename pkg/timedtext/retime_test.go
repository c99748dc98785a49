package timedtext

import (
	"errors"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/timecode"
)

func cueAt(in, out timecode.Ticks) Cue {
	return Cue{Span: timecode.Span{In: in, Out: out}, Lines: Text("x")}
}

func TestRetime(t *testing.T) {
	s := timecode.Second
	ten := 10 * timecode.Hour
	zero := timecode.Ticks(0)
	for _, c := range []struct {
		name    string
		doc     Document
		r       Retiming
		in, out timecode.Ticks
	}{
		{"nothing", Document{}, Retiming{}, 10 * s, 12 * s},
		// One hour of film timed at 25 frames/s runs 90,000 frames; at 24 that
		// is 3,750 s.
		{"25 to 24", Document{}, Retiming{From: timecode.Rate25, To: timecode.Rate24}, 10 * s * 25 / 24, 12 * s * 25 / 24},
		// 24 to 24000/1001: 1,001 s for each 1,000 s.
		{"24 to 23.976", Document{}, Retiming{From: timecode.Rate24, To: timecode.Rate23976}, 10*s + s/100, 12*s + 12*s/1000},
		{"stretch", Document{}, Retiming{Stretch: Factor{3, 2}}, 15 * s, 18 * s},
		{"shift", Document{}, Retiming{Shift: -2 * s}, 8 * s, 10 * s},
		{"start", Document{}, Retiming{Start: &ten}, ten + 10*s, ten + 12*s},
		{"start taken off", Document{ProgrammeStart: 10 * s}, Retiming{Start: &zero}, 0, 2 * s},
		{"rate about the start", Document{ProgrammeStart: 8 * s}, Retiming{From: timecode.Rate25, To: timecode.Rate50}, 9 * s, 10 * s},
	} {
		c.doc.Cues = []Cue{cueAt(10*s, 12*s)}
		got, notes, err := Retime(&c.doc, c.r)
		if err != nil || len(notes) > 0 {
			t.Fatalf("%s: %v, %v", c.name, notes, err)
		}
		if g := got.Cues[0]; g.In != c.in || g.Out != c.out {
			t.Errorf("%s: %s, want %s-%s", c.name, g.Span, c.in, c.out)
		}
		if c.doc.Cues[0].In != 10*s {
			t.Errorf("%s: the document was changed", c.name)
		}
	}
}

// Where the cues of files lie that don't tell their programme start.
func TestCountsFrom(t *testing.T) {
	s, hour := timecode.Second, timecode.Hour
	for _, c := range []struct {
		name  string
		doc   Document
		start timecode.Ticks
		at    []timecode.Ticks
		from  timecode.Ticks
		taken bool
	}{
		{"from zero", Document{}, 10 * hour, []timecode.Ticks{2 * s, 2 * hour}, 0, false},
		{"labelled", Document{}, 10 * hour, []timecode.Ticks{10*hour + 2*s, 11*hour + s}, 10 * hour, true},
		{"labelled, with a cue just before", Document{}, hour, []timecode.Ticks{hour - 20*s, hour + 2*s}, hour, true},
		{"labelled, a title cue at zero", Document{}, 10 * hour, []timecode.Ticks{0, 10*hour + 2*s, 10*hour + 5*s}, 10 * hour, true},
		{"another hour", Document{}, hour, []timecode.Ticks{10*hour + 2*s}, 10 * hour, true},
		{"back to zero", Document{}, 0, []timecode.Ticks{hour + 2*s}, hour, true},
		{"start within an hour", Document{}, hour / 2, []timecode.Ticks{hour/2 + s}, hour / 2, true},
		{"told", Document{ProgrammeStart: hour}, 10 * hour, []timecode.Ticks{hour + 2*s}, hour, false},
		{"told, but no cue lies after it", Document{ProgrammeStart: 10 * hour}, hour, []timecode.Ticks{2 * s}, 0, true},
		{"no cues", Document{ProgrammeStart: hour}, 0, nil, hour, false},
		// 3,603.6 s: an hour of labels at 29.97 frames/s.
		{"labels", Document{Labels: true}, 0, []timecode.Ticks{timecode.Rate2997.Ticks(108_030)}, timecode.Rate2997.Ticks(108_000), true},
	} {
		for _, in := range c.at {
			c.doc.Cues = append(c.doc.Cues, cueAt(in, in+s))
		}
		from, taken := c.doc.CountsFrom(c.start, timecode.Base{Rate: timecode.Rate2997})
		if from != c.from || taken != c.taken {
			t.Errorf("%s: counts from %s, taken %v, want %s, %v", c.name, from, taken, c.from, c.taken)
		}
	}
}

func TestRetimeBeforeZero(t *testing.T) {
	s := timecode.Second
	doc := &Document{Cues: []Cue{cueAt(0, s), cueAt(s, 3*s), cueAt(4*s, 5*s)}}
	got, notes, err := Retime(doc, Retiming{Shift: -2 * s})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Cues) != 2 || got.Cues[0].In != 0 || got.Cues[0].Out != s || len(notes) != 2 {
		t.Errorf("got %v with notes %q", got.Cues, notes)
	}
	if _, _, err := Retime(doc, Retiming{To: timecode.Rate25}); !errors.Is(err, ErrRetime) {
		t.Errorf("one rate alone: %v", err)
	}
}

func TestParseFactor(t *testing.T) {
	for in, want := range map[string]Factor{
		"1.001": {1001, 1000}, "25/24": {25, 24}, "24000/1001": {24000, 1001}, "2": {2, 1}, " 0.5 ": {5, 10}, "1.5/3": {15, 30},
	} {
		if got, err := ParseFactor(in); err != nil || got != want {
			t.Errorf("%q: %v, %v, want %v", in, got, err, want)
		}
	}
	for _, in := range []string{"", "0", "-1", "1/0", "x", "1.-5", "1000", "0.0001", "1/2/3", "1e3"} {
		if got, err := ParseFactor(in); !errors.Is(err, ErrRetime) {
			t.Errorf("%q: %v, %v, want an error", in, got, err)
		}
	}
}

// There and back again moves no time by more than two ticks.
func TestRetimeThereAndBack(t *testing.T) {
	rates := []timecode.Rate{timecode.Rate23976, timecode.Rate24, timecode.Rate25, timecode.Rate2997, timecode.Rate30, timecode.Rate50}
	rapid.Check(t, func(t *rapid.T) {
		in := timecode.Ticks(rapid.Int64Range(0, int64(24*timecode.Hour)).Draw(t, "in"))
		a, b := rapid.SampledFrom(rates).Draw(t, "a"), rapid.SampledFrom(rates).Draw(t, "b")
		doc := &Document{Cues: []Cue{cueAt(in, in+timecode.Second)}}
		there, _, err := Retime(doc, Retiming{From: a, To: b})
		if err != nil {
			t.Fatal(err)
		}
		back, _, err := Retime(there, Retiming{From: b, To: a})
		if err != nil {
			t.Fatal(err)
		}
		if off := back.Cues[0].In - in; max(off, -off) > 2 {
			t.Fatalf("%d became %d", in, back.Cues[0].In)
		}
	})
}
