package timecode

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParse(t *testing.T) {
	b25, b30 := Base{Rate: Rate25}, Base{Rate: Rate2997}
	tests := []struct {
		in   string
		base Base
		want Written
	}{
		{"83.5", b25, Written{Ticks: Seconds(83, 500)}},
		{"83.5s", b25, Written{Ticks: Seconds(83, 500)}},
		{"1:23", b25, Written{Ticks: Seconds(83, 0)}},
		{"1:23.5", b25, Written{Ticks: Seconds(83, 500)}},
		{"00:12:04", b25, Written{Ticks: Seconds(724, 0)}},
		{"00:12:04,500", b25, Written{Ticks: Seconds(724, 500)}},
		{"00:12:04.500", Base{}, Written{Ticks: Seconds(724, 500)}},
		{"1h2m3s", b25, Written{Ticks: Seconds(3723, 0)}},
		{"1h3s", b25, Written{Ticks: Seconds(3603, 0)}},
		{"500ms", b25, Written{Ticks: Seconds(0, 500)}},
		{"1s500ms", b25, Written{Ticks: Seconds(1, 500)}},
		{"90m", b25, Written{Ticks: 90 * Minute}},
		{"1.5h", b25, Written{Ticks: 90 * Minute}},
		{"-1:23", b25, Written{Ticks: -Seconds(83, 0)}},
		{"-2s", b25, Written{Ticks: -2 * Second}},
		{"+5", b25, Written{Ticks: 5 * Second}},
		{" 5 ", b25, Written{Ticks: 5 * Second}},
		{".5", b25, Written{Ticks: Second / 2}},
		{"5.", b25, Written{Ticks: 5 * Second}},
		{"90:00", b25, Written{Ticks: 90 * Minute}},
		{"100:00:00", b25, Written{Ticks: 100 * Hour}},
		{"01:00:12:10", b25, Written{Ticks: Hour + Seconds(12, 400), Frames: true}},
		{"00:01:00;02", b30, Written{Ticks: Rate2997.Ticks(1800), Frames: true, Drop: true}},
		{"00:01:00:02", b30, Written{Ticks: Rate2997.Ticks(1802), Frames: true}},
		// Rounded to the nearest tick, at the unit's own size.
		{"0.000000001h", b25, Written{Ticks: 2540}},
		{"0.000000001ms", b25, Written{Ticks: 0}},
		{"0.000001ms", b25, Written{Ticks: 1}},
		{"0.000000001", b25, Written{Ticks: 1}},
		{"0.0000000001", b25, Written{Ticks: 0}},
		{"0.0000000019", b25, Written{Ticks: 1}},
	}
	for _, tt := range tests {
		got, err := Parse(tt.in, tt.base)
		if err != nil || got != tt.want {
			t.Errorf("Parse(%q): got %+v, %v, want %+v", tt.in, got, err, tt.want)
		}
	}
}

func TestParseErrors(t *testing.T) {
	tests := []struct{ in, want string }{
		{"", "it is empty"},
		{"  ", "it is empty"},
		{"abc", "is not a number"},
		{"1:60", "60 is over 59"},
		{"1:60:00", "60 is over 59"},
		{"1:2:3:4:5", "too many fields"},
		{"--5", "is not a number"},
		{"-+5", "is not a number"},
		{"+-5", "is not a number"},
		{"1m2h", "units out of order"},
		{"1h2h", "units out of order"},
		{"1h2", "a number needs a unit"},
		{"h", "a number needs a unit"},
		{"1.2.3", "is not a number"},
		{"1e5", "is not a number"},
		{"1:", "is not a number of seconds"},
		{":5", "is not a number of hours or minutes"},
		{".", "is not a number of seconds"},
		{"12345678901", "is not a number of seconds"},
		{"1234567:00", "is not a number of hours or minutes"},
		{"999999999h", "longer than"},
		{"999999999m", "longer than"},
		{"-999999999h", "longer than"},
		{"01:00:00:25", "frames 25, want 0 to 24"},
		{"-01:00:00:00", "is not a number"},
		{"١٢", "is not a number"},
	}
	for _, tt := range tests {
		got, err := Parse(tt.in, Base{Rate: Rate25})
		if !errors.Is(err, ErrTimecode) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("Parse(%q): got %+v, %v, want an error with %q", tt.in, got, err, tt.want)
		}
	}
}

// What String prints, Parse reads, to the millisecond.
func TestParseReadsString(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		want := FromMillis(rapid.Int64Range(-400_000*3_600, 400_000*3_600).Draw(t, "ms"))
		got, err := Parse(want.String(), Base{})
		if err != nil || got.Ticks != want || got.Frames {
			t.Fatalf("%s: got %+v, %v, want %d", want, got, err, want)
		}
	})
}

func FuzzParse(f *testing.F) {
	for _, s := range []string{"83.5", "1:23", "00:12:04,500", "1h2m3s", "500ms", "01:00:12:10", "00:01:00;02", "-1:23", "999999999h", "1:60", "٣"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		for _, b := range []Base{{}, {Rate: Rate25}, {Rate: Rate2997}, df60} {
			w, err := Parse(s, b)
			switch {
			case err != nil && !errors.Is(err, ErrTimecode):
				t.Fatalf("%q: an error of another kind: %v", s, err)
			case err != nil && w != Written{}:
				t.Fatalf("%q: both a time and an error", s)
			case err == nil && w.Ticks < 0 != strings.HasPrefix(strings.TrimSpace(s), "-") && w.Ticks != 0:
				t.Fatalf("%q: got %d", s, w.Ticks)
			case err == nil && w.Frames && (w.Ticks < 0 || w.Ticks > Day+Minute+30*Second):
				t.Fatalf("%q: a label at %s", s, w.Ticks)
			}
		}
	})
}

func TestParseBase(t *testing.T) {
	tests := []struct {
		in, want string
		base     Base
	}{
		{"25", "25", Base{Rate: Rate25}},
		{"25p", "25", Base{Rate: Rate25}},
		{"25 fps", "25", Base{Rate: Rate25}},
		{"25.000", "25", Base{Rate: Rate25}},
		{"23.976", "23.976", Base{Rate: Rate23976}},
		{"23.98", "23.976", Base{Rate: Rate23976}},
		{"23.976023976", "23.976", Base{Rate: Rate23976}},
		{"24000/1001", "23.976", Base{Rate: Rate23976}},
		{"29.97", "29.97", Base{Rate: Rate2997}},
		{"29.97ndf", "29.97", Base{Rate: Rate2997}},
		{"29.97df", "29.97 DF", df30},
		{"29.97 DF", "29.97 DF", df30},
		{"59.94-DF", "59.94 DF", df60},
		{"59.94006", "59.94", Base{Rate: Rate5994}},
		{"60000/2002", "29.97", Base{Rate: Rate2997}},
		{"47.952", "47.952", Base{Rate: Rate47952}},
		{"119.88", "120000/1001", Base{Rate: Rate{120000, 1001}}},
		{"12.5", "25/2", Base{Rate: Rate{25, 2}}},
		{"120", "120", Base{Rate: Rate{120, 1}}},
	}
	for _, tt := range tests {
		got, err := ParseBase(tt.in)
		if err != nil || got != tt.base || got.String() != tt.want {
			t.Errorf("ParseBase(%q): got %s, %v, want %s", tt.in, got, err, tt.want)
		}
	}
	for _, in := range []string{"", "0", "-25", "25df", "30df", "nan", "inf", "1001", "25/0", "0/5", "5/", "/5", "1e1", "0x19", "x", "999999999999/1"} {
		if got, err := ParseBase(in); !errors.Is(err, ErrRate) {
			t.Errorf("ParseBase(%q): got %s, %v, want an error", in, got, err)
		}
	}
	if got := (Rate{}).String(); got != "unknown" || (Rate{}).Nominal() != 0 || (Rate{}).Float() != 0 || (Rate{}).Snap(5, Floor) != 5 || (Rate{}).Ticks(5) != 0 {
		t.Errorf("the zero rate: got %s", got)
	}
}

func FuzzParseBase(f *testing.F) {
	for _, s := range []string{"25", "29.97df", "30000/1001", "23.98 fps", "1/3"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		b, err := ParseBase(s)
		if err != nil {
			return
		}
		if !b.Rate.Known() || b.Rate.Nominal() < 1 {
			t.Fatalf("%q: got %+v", s, b)
		}
		if n, err := b.Frame(b.Label(1)); err != nil || n != 1 && b.FramesPerDay() > 1 {
			t.Fatalf("%q: frame 1 is %s is %d, %v", s, b.Label(1), n, err)
		}
	})
}
