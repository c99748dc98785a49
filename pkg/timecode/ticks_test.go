package timecode

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

var (
	tradeRates = []Rate{Rate23976, Rate24, Rate25, Rate2997, Rate30, Rate47952, Rate48, Rate50, Rate5994, Rate60, {100, 1}, {120, 1}, {120000, 1001}}
	// The sample rates of the published flick unit and of the trade.
	sampleRates = []int{8000, 11025, 16000, 22050, 24000, 32000, 44100, 48000, 88200, 96000, 176400, 192000}
)

// The claim of the unit (the "flick", openly published): a frame of every
// trade rate and a sample of every common rate are whole numbers of ticks.
func TestTicksAreExact(t *testing.T) {
	for _, r := range tradeRates {
		if int64(PerSecond)*r.Den%r.Num != 0 {
			t.Errorf("a frame at %s is no whole number of ticks", r)
		}
		frame := r.Ticks(1)
		for _, n := range []int64{0, 1, 7, 1001, 86_400, 123_456_789, -5} {
			if got := r.Ticks(n); got != frame*Ticks(n) {
				t.Errorf("%s: frame %d at %d, want %d", r, n, got, frame*Ticks(n))
			}
			for _, round := range []Rounding{Floor, Nearest, Ceil} {
				if got := r.Frame(r.Ticks(n), round); got != n {
					t.Errorf("%s: frame %d came back as %d", r, n, got)
				}
			}
		}
		if got := r.Frame(frame-1, Floor); got != 0 {
			t.Errorf("%s: the last tick of frame 0 is in frame %d", r, got)
		}
		if got := r.Frame(frame+1, Ceil); got != 2 {
			t.Errorf("%s: got %d, want 2", r, got)
		}
	}
	for _, rate := range sampleRates {
		if int64(PerSecond)%int64(rate) != 0 {
			t.Errorf("a sample at %d Hz is no whole number of ticks", rate)
		}
		for _, n := range []int64{0, 1, 44101, 10 * 3600 * 192_000, -3} {
			at := FromSamples(n, rate)
			for _, round := range []Rounding{Floor, Nearest, Ceil} {
				if got := at.Samples(rate, round); got != n {
					t.Errorf("%d Hz: sample %d came back as %d", rate, n, got)
				}
			}
		}
	}
	// 25 frames/s at 48 kHz: 1920 samples; 29.97: 8008 samples in 5 frames.
	if got := Rate25.Ticks(1).Samples(48000, Nearest); got != 1920 {
		t.Errorf("got %d samples in a frame, want 1920", got)
	}
	if got := Rate2997.Ticks(5).Samples(48000, Nearest); got != 8008 {
		t.Errorf("got %d samples in 5 frames, want 8008", got)
	}
}

// The product and the quotient against math/big.
func TestMuldiv(t *testing.T) {
	number := rapid.OneOf(rapid.Int64(), rapid.Int64Range(-1_000_000, 1_000_000), rapid.SampledFrom([]int64{math.MinInt64, math.MaxInt64, math.MinInt64 + 1, 1, -1, 0}))
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := number.Draw(t, "a"), number.Draw(t, "b"), number.Draw(t, "c")
		round := rapid.SampledFrom([]Rounding{Floor, Nearest, Ceil}).Draw(t, "round")
		got := muldiv(a, b, c, round)
		if want := bigMuldiv(a, b, c, round); got != want {
			t.Fatalf("muldiv(%d, %d, %d, %d): got %d, want %d", a, b, c, round, got, want)
		}
		if c > 0 && a > math.MinInt64/2 && a < math.MaxInt64/2 {
			if got, want := divide(a, c, round), bigMuldiv(a, 1, c, round); got != want {
				t.Fatalf("divide(%d, %d, %d): got %d, want %d", a, c, round, got, want)
			}
		}
	})
}

func bigMuldiv(a, b, c int64, round Rounding) int64 {
	if c <= 0 {
		return 0
	}
	p := new(big.Int).Mul(big.NewInt(a), big.NewInt(b))
	d := big.NewInt(c)
	switch round {
	case Nearest:
		// floor((2p + d) / 2d): halves up.
		p.Add(p.Lsh(p, 1), d)
		d = new(big.Int).Lsh(d, 1)
	case Ceil:
		p.Add(p, new(big.Int).Sub(d, big.NewInt(1)))
	}
	// Div is Euclidean: for a positive divisor it is the floor.
	q := new(big.Int).Div(p, d)
	switch {
	case q.IsInt64():
		return q.Int64()
	case q.Sign() < 0:
		return math.MinInt64
	}
	return math.MaxInt64
}

func TestMuldivEdges(t *testing.T) {
	tests := []struct {
		a, b, c int64
		round   Rounding
		want    int64
	}{
		{math.MinInt64, 1, 1, Floor, math.MinInt64},
		{math.MaxInt64, 2, 1, Floor, math.MaxInt64},
		{math.MinInt64, 2, 1, Floor, math.MinInt64},
		{math.MaxInt64, math.MaxInt64, 2, Ceil, math.MaxInt64},
		{-3, 1, 2, Nearest, -1},
		{3, 1, 2, Nearest, 2},
		{-3, 1, 2, Floor, -2},
		{5, 5, 0, Floor, 0},
		// A quotient of 64 set bits, rounded up.
		{math.MaxInt64, 6, 3, Ceil, math.MaxInt64},
	}
	for _, tt := range tests {
		if got := muldiv(tt.a, tt.b, tt.c, tt.round); got != tt.want {
			t.Errorf("muldiv(%d, %d, %d, %d): got %d, want %d", tt.a, tt.b, tt.c, tt.round, got, tt.want)
		}
	}
}

func TestFromFloats(t *testing.T) {
	tests := []struct {
		in   float64
		want Ticks
	}{
		{12.48, 8805888000},
		{-0.5, -PerSecond / 2},
		{math.NaN(), 0},
		{math.Inf(1), 0},
		{math.Inf(-1), 0},
		{1e300, math.MaxInt64},
		{-1e300, math.MinInt64},
	}
	for _, tt := range tests {
		if got := FromSeconds(tt.in); got != tt.want {
			t.Errorf("FromSeconds(%g): got %d, want %d", tt.in, got, tt.want)
		}
	}
	if got := FromMillis(math.MaxInt64); got != math.MaxInt64 {
		t.Errorf("too many milliseconds: got %d", got)
	}
	if got := FromMillis(-1500); got != -Second*3/2 {
		t.Errorf("got %d", got)
	}
	if got := FromSamples(5, 0); got != 0 {
		t.Errorf("0 Hz: got %d", got)
	}
}

func TestTicksText(t *testing.T) {
	tests := []struct {
		t           Ticks
		long, short string
	}{
		{0, "00:00:00.000", "0:00.0"},
		{Seconds(7, 260), "00:00:07.260", "0:07.3"},
		{Seconds(59, 960), "00:00:59.960", "1:00.0"},
		{Hour, "01:00:00.000", "1:00:00"},
		{Hour - 1, "00:59:59.999", "1:00:00"},
		{Hour + Seconds(59, 499), "01:00:59.499", "1:00:59"},
		{-Seconds(83, 450), "-00:01:23.450", "-1:23.5"},
		{100 * Hour, "100:00:00.000", "100:00:00"},
	}
	for _, tt := range tests {
		if got := tt.t.String(); got != tt.long {
			t.Errorf("%d: got %s, want %s", tt.t, got, tt.long)
		}
		if got := tt.t.Short(); got != tt.short {
			t.Errorf("%d: got %s, want %s", tt.t, got, tt.short)
		}
	}
}

func TestSpans(t *testing.T) {
	draw := func(t *rapid.T, name string) Span {
		in := rapid.Int64Range(-20, 20).Draw(t, name)
		return Span{Ticks(in), Ticks(in + rapid.Int64Range(-3, 12).Draw(t, name+" length"))}
	}
	// What a span holds, tick by tick, is the meaning of all its methods.
	holds := func(s Span) map[Ticks]bool {
		m := map[Ticks]bool{}
		for x := Ticks(-40); x < 60; x++ {
			if x >= s.In && x < s.Out {
				m[x] = true
			}
		}
		return m
	}
	rapid.Check(t, func(t *rapid.T) {
		a, b := draw(t, "a"), draw(t, "b")
		inA, inB := holds(a), holds(b)
		both := 0
		for x := range inA {
			if inB[x] {
				both++
			}
			if !a.Contains(x) {
				t.Fatalf("%v lacks %d", a, x)
			}
		}
		if a.Empty() != (len(inA) == 0) || a.Overlaps(b) != (both > 0) || a.Overlaps(b) != b.Overlaps(a) {
			t.Fatalf("%v and %v: empty %v, overlap %v, share %d", a, b, a.Empty(), a.Overlaps(b), both)
		}
		if !a.Empty() && !b.Empty() {
			if got := a.Intersect(b).Length(); got != Ticks(both) {
				t.Fatalf("%v and %v share %d, got %d", a, b, both, got)
			}
			c := a.Cover(b)
			for x := range inA {
				if !c.Contains(x) {
					t.Fatalf("%v covers %v and %v but lacks %d", c, a, b, x)
				}
			}
			if m := a.Middle(); !a.Contains(m) {
				t.Fatalf("the middle of %v is %d", a, m)
			}
		}
		d := Ticks(rapid.Int64Range(-9, 9).Draw(t, "shift"))
		if s := a.Shift(d); s.Length() != a.Length() || s.In != a.In+d {
			t.Fatalf("%v shifted by %d is %v", a, d, s)
		}
	})
	if got := (Span{0, Seconds(83, 450)}).String(); got != "00:00:00.000-00:01:23.450" {
		t.Errorf("got %s", got)
	}
	if got := (Span{-3, 0}).Middle(); got != -2 {
		t.Errorf("the middle is rounded down: got %d, want -2", got)
	}
}
