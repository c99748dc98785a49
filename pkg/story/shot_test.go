package story

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/timecode"
)

// A shoot of more than nine days, with reels whose names don't tell their
// order.
func TestCompareShots(t *testing.T) {
	want := []Shot{
		{"", 0, "WILD"},
		{"2031-09-14", 0, "A"},
		{"D1", 0, "CAM"},
		{"D1", timecode.Hour, "CAM"},
		{"D1", 9 * timecode.Hour, "Z"},
		{"D1", 15 * timecode.Hour, "A"},
		{"D2", 0, "T2"},
		{"D2", 0, "t9"},
		{"D2", 0, "T10"},
		{"D10", 0, "A"},
	}
	got := slices.Clone(want)
	slices.Reverse(got)
	slices.SortFunc(got, CompareShots)
	if !slices.Equal(got, want) {
		t.Errorf("got  %v\nwant %v", got, want)
	}
}

// CompareNames is an order, and counts plain numbers as such.
func TestCompareNamesProperties(t *testing.T) {
	name := rapid.StringMatching(`[A-Bé]{0,2}[0-9]{0,3}[-]?[0-9]{0,2}`)
	rapid.Check(t, func(t *rapid.T) {
		a, b, c := name.Draw(t, "a"), name.Draw(t, "b"), name.Draw(t, "c")
		if CompareNames(a, b) != -CompareNames(b, a) {
			t.Fatalf("%q, %q: %d one way, %d the other", a, b, CompareNames(a, b), CompareNames(b, a))
		}
		if CompareNames(a, b) <= 0 && CompareNames(b, c) <= 0 && CompareNames(a, c) > 0 {
			t.Fatalf("%q before %q before %q, and not %q before %q", a, b, c, a, c)
		}
		n, m := rapid.IntRange(0, 5000).Draw(t, "n"), rapid.IntRange(0, 5000).Draw(t, "m")
		x, y := strings.Repeat("1", n%7)+"x", strings.Repeat("1", m%7)+"x"
		if n%7 > 0 && m%7 > 0 && CompareNames(x, y) != max(-1, min(1, n%7-m%7)) {
			t.Fatalf("%q, %q: %d", x, y, CompareNames(x, y))
		}
	})
}
