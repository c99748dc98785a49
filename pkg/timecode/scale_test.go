package timecode

import (
	"math/big"
	"testing"

	"pgregory.net/rapid"
)

// TestScale holds Scale against integers of any size.
func TestScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Int64Range(-int64(Day)*400, int64(Day)*400).Draw(t, "t")
		num := rapid.Int64Range(1, 2_000_000).Draw(t, "num")
		den := rapid.Int64Range(1, 2_000_000).Draw(t, "den")
		want := new(big.Int).Mul(big.NewInt(v), big.NewInt(num))
		want.Div(want, big.NewInt(den)) // Euclidean: floor for den > 0
		if !want.IsInt64() {
			t.Skip("beyond 64 bits")
		}
		if got := int64(Ticks(v).Scale(num, den, Floor)); got != want.Int64() {
			t.Fatalf("%d·%d/%d = %d, want %d", v, num, den, got, want)
		}
	})
	if got := Hour.Scale(25, 0, Nearest); got != 0 {
		t.Errorf("den 0 gives %d, want 0", got)
	}
}
