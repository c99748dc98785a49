package timecode

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

var (
	df30 = Base{Rate: Rate2997, Drop: true}
	df60 = Base{Rate: Rate5994, Drop: true}
)

// Pairs of SMPTE ST 12-1 drop-frame (rule recalled; formula and enumeration
// of labels agreed over 300,000 frames).
func TestDropFramePairs(t *testing.T) {
	tests := []struct {
		base  Base
		frame int64
		label string
	}{
		{df30, 0, "00:00:00;00"},
		{df30, 1799, "00:00:59;29"},
		{df30, 1800, "00:01:00;02"},
		{df30, 17981, "00:09:59;29"},
		{df30, 17982, "00:10:00;00"},
		{df30, 107892, "01:00:00;00"},
		{df30, 2589407, "23:59:59;29"},
		{df60, 3599, "00:00:59;59"},
		{df60, 3600, "00:01:00;04"},
		{df60, 35963, "00:09:59;59"},
		{df60, 35964, "00:10:00;00"},
		{df60, 215784, "01:00:00;00"},
		{df60, 5178815, "23:59:59;59"},
		{Base{Rate: Rate23976}, 86400, "01:00:00:00"},
		{Base{Rate: Rate25}, 90000, "01:00:00:00"},
	}
	for _, tt := range tests {
		if got := tt.base.Label(tt.frame); got != tt.label {
			t.Errorf("%s frame %d: got %s, want %s", tt.base, tt.frame, got, tt.label)
		}
		if got, err := tt.base.Frame(tt.label); err != nil || got != tt.frame {
			t.Errorf("%s %s: got frame %d, %v, want %d", tt.base, tt.label, got, err, tt.frame)
		}
	}
	if got := df30.FramesPerDay(); got != 2_589_408 {
		t.Errorf("got %d frames in a day of 29.97 DF, want 2,589,408", got)
	}
	if got, want := Rate2997.Ticks(2_589_408), 863_999_136*Second/10_000; got != want {
		t.Errorf("a day of 29.97 DF: got %s, want 86,399.9136 s", got)
	}
	if got, want := Rate23976.Ticks(86_400), 36_036*Second/10; got != want {
		t.Errorf("01:00:00:00 at 23.976: got %s, want 3603.6 s", got)
	}
}

// Every minute of 24 hours, with the frames around its boundary: labels are
// counted up one by one by the rule itself, and the formula must agree.
func TestEveryMinute(t *testing.T) {
	for _, b := range []Base{df30, df60, {Rate: Rate2997}, {Rate: Rate5994}, {Rate: Rate23976}, {Rate: Rate25}, {Rate: Rate50}, {Rate: Rate24}, {Rate: Rate{120, 1}}} {
		t.Run(b.String(), func(t *testing.T) {
			nominal := b.Rate.Nominal()
			drop := map[Base]int64{df30: 2, df60: 4}[b]
			frame := int64(0)
			for minute := int64(0); minute < 24*60; minute++ {
				skip := int64(0)
				if drop > 0 && minute%10 != 0 {
					skip = drop
				}
				// The frames at both ends of the minute.
				for _, k := range []int64{skip, skip + 1, skip + 2, nominal - 1, nominal, nominal + 1, 60*nominal - 2, 60*nominal - 1} {
					checkLabel(t, b, frame+k-skip, minute, k)
				}
				for k := int64(0); k < skip; k++ {
					if n, err := b.Frame(label(b, minute, k)); !errors.Is(err, ErrTimecode) {
						t.Fatalf("%s doesn't exist: got frame %d, %v", label(b, minute, k), n, err)
					}
				}
				frame += 60*nominal - skip
			}
			if got := b.FramesPerDay(); got != frame {
				t.Errorf("got %d frames a day, want %d", got, frame)
			}
		})
	}
}

// label writes the label with this many frames counted in a minute.
func label(b Base, minute, k int64) string {
	sep := ":"
	if b.Drop {
		sep = ";"
	}
	width := 2
	if b.Rate.Nominal() > 100 {
		width = 3
	}
	n := b.Rate.Nominal()
	return fmt.Sprintf("%02d:%02d:%02d%s%0*d", minute/60, minute%60, k/n, sep, width, k%n)
}

func checkLabel(t *testing.T, b Base, frame, minute, k int64) {
	t.Helper()
	want := label(b, minute, k)
	if got := b.Label(frame); got != want {
		t.Fatalf("frame %d: got %s, want %s", frame, got, want)
	}
	if got, err := b.Frame(want); err != nil || got != frame {
		t.Fatalf("%s: got frame %d, %v, want %d", want, got, err, frame)
	}
}

func TestLabelRoundTrip(t *testing.T) {
	bases := []Base{df30, df60, {Rate: Rate2997}, {Rate: Rate25}, {Rate: Rate23976}, {Rate: Rate60}, {Rate: Rate{120000, 1001}}}
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SampledFrom(bases).Draw(t, "base")
		day := b.FramesPerDay()
		n := rapid.Int64Range(-3*day, 3*day).Draw(t, "frame")
		want := (n%day + day) % day
		got, err := b.Frame(b.Label(n))
		if err != nil || got != want {
			t.Fatalf("%s: got %d, %v, want %d", b.Label(n), got, err, want)
		}
		// Labels follow each other but at midnight.
		if want+1 < day && b.Label(want+1) <= b.Label(want) {
			t.Fatalf("%s follows %s", b.Label(want+1), b.Label(want))
		}
	})
}

func TestFrameErrors(t *testing.T) {
	tests := []struct {
		name, label, want string
		base              Base
	}{
		{"no rate", "01:00:00:00", "needs a frame rate", Base{}},
		{"dropped label", "00:01:00;01", "does not exist in drop-frame", df30},
		{"dropped label at 59.94", "00:59:00;03", "does not exist in drop-frame", df60},
		{"frames", "00:00:00:25", "frames 25, want 0 to 24 at 25 frames/s", Base{Rate: Rate25}},
		{"hours", "24:00:00:00", "hours 24", Base{Rate: Rate25}},
		{"minutes", "00:60:00:00", "minutes 60", Base{Rate: Rate25}},
		{"letters", "00:aa:00:00", `minutes "aa" is not a number`, Base{Rate: Rate25}},
		{"sign", "+1:00:00:00", `hours "+1" is not a number`, Base{Rate: Rate25}},
		{"minus", "00:00:00:-1", `frames "-1" is not a number`, Base{Rate: Rate25}},
		{"empty field", "01::00:00", "want HH:MM:SS:FF", Base{Rate: Rate25}},
		{"field too many", "01::00:00:00", "want HH:MM:SS:FF", Base{Rate: Rate25}},
		{"trailing colon", "01:00:00:00:", "want HH:MM:SS:FF", Base{Rate: Rate25}},
		{"three fields", "01:00:00", "want HH:MM:SS:FF", Base{Rate: Rate25}},
		{"empty", "", "want HH:MM:SS:FF", Base{Rate: Rate25}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			n, err := tt.base.Frame(tt.label)
			if !errors.Is(err, ErrTimecode) || !strings.Contains(err.Error(), tt.want) {
				t.Errorf("got %d, %v, want an error with %q", n, err, tt.want)
			}
		})
	}
	for _, s := range []string{"01:00:00:12", "01:00:00;12", "01:00:00,12", "01:00:00.12", "01;00;00;12", "1:0:0:12"} {
		if n, err := (Base{Rate: Rate25}).Frame(s); err != nil || n != 90012 {
			t.Errorf("%s: got %d, %v, want 90012", s, n, err)
		}
	}
	if got := (Base{}).Label(5); got != "--:--:--:--" {
		t.Errorf("no rate: got %s", got)
	}
}

func TestClock(t *testing.T) {
	c := Clock{Base: Base{Rate: Rate25}, Start: 10 * Hour}
	if got := c.In(Seconds(12, 480)); got.Timecode != "10:00:12:12" || got.Seconds != 12.48 || got.Ticks != 8805888000 {
		t.Errorf("got %+v, want 12.48 s, 10:00:12:12, 8805888000 ticks", got)
	}
	// In is rounded down, Out up: no part of a span is cut.
	if in, out := c.In(Seconds(0, 50)), c.Out(Seconds(0, 50)); in.Timecode != "10:00:00:01" || out.Timecode != "10:00:00:02" {
		t.Errorf("got %s and %s", in.Timecode, out.Timecode)
	}
	late := Clock{Base: df30, Start: df30.Rate.Ticks(df30.FramesPerDay() - 30)}
	if got := late.Timecode(2*Second, Floor); got != "00:00:00;29" {
		t.Errorf("past midnight: got %s", got)
	}
	if got, err := late.Place("00:00:00;29"); err != nil || got != df30.Rate.Ticks(59) {
		t.Errorf("past midnight: got %s, %v, want %s", got, err, df30.Rate.Ticks(59))
	}
	if _, err := late.Place("00:01:00;00"); !errors.Is(err, ErrTimecode) {
		t.Errorf("a label that isn't: got %v", err)
	}
}

// Seconds is a test's whole seconds and milliseconds.
func Seconds(s, ms int64) Ticks { return FromMillis(s*1000 + ms) }

func TestClockRoundTrip(t *testing.T) {
	bases := []Base{df30, df60, {Rate: Rate2997}, {Rate: Rate25}, {Rate: Rate23976}, {Rate: Rate60}}
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SampledFrom(bases).Draw(t, "base")
		day := b.FramesPerDay()
		start := b.Rate.Ticks(rapid.Int64Range(0, day-1).Draw(t, "start"))
		c := Clock{Base: b, Start: start}
		rel := Ticks(rapid.Int64Range(0, int64(b.Rate.Ticks(day-1))).Draw(t, "rel"))
		got, err := c.Place(c.Timecode(rel, Floor))
		if want := b.Rate.Snap(rel, Floor); err != nil || got != want {
			t.Fatalf("got %d, %v, want %d", got, err, want)
		}
		if up, err := c.Place(c.Timecode(got, Ceil)); err != nil || up != got {
			t.Fatalf("a frame's own beginning: got %d, %v, want %d", up, err, got)
		}
	})
}

func TestClockRunning(t *testing.T) {
	// Worked by hand: a frame at 25 is 40 ms, at 29.97 1001/30000 s.
	clock25 := Clock{Base: Base{Rate: Rate25}, Start: 10*Hour + 5*Millisecond}
	clock2997 := Clock{Base: Base{Rate: Rate2997, Drop: true}}
	for _, c := range []struct {
		name  string
		clock Clock
		span  Span
		want  Ticks
	}{
		{"on frames", clock25, Span{35 * Millisecond, 115 * Millisecond}, 80 * Millisecond},
		{"touches three", clock25, Span{34 * Millisecond, 76 * Millisecond}, 120 * Millisecond},
		{"inside one", clock25, Span{36 * Millisecond, 37 * Millisecond}, 40 * Millisecond},
		{"29.97", clock2997, Span{0, Second}, Rate2997.Ticks(30)},
		{"empty", clock25, Span{Second, Second}, 0},
		{"backwards", clock25, Span{Second, 0}, 0},
		{"no rate", Clock{}, Span{3, 10}, 7},
	} {
		if got := c.clock.Running(c.span); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
}
