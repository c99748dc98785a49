package desk

import (
	"path/filepath"
	"testing"
)

// stepsDone is a Progress that keeps what it hears.
type stepsDone struct {
	total int64
	seen  []int64
}

func (s *stepsDone) Begin(_ string, total int64) {
	if s.total == 0 {
		s.total = total
	}
}
func (s *stepsDone) Reached(done int64) { s.seen = append(s.seen, done) }
func (s *stepsDone) End()               {}

// TestFaultsProgress: one long take tells how far it is, not only when it is
// over.
func TestFaultsProgress(t *testing.T) {
	var p stepsDone
	take := filepath.Join("..", "..", "samples", "day1", "D1-INT1.wav") // 97 s
	if _, err := Faults(t.Context(), []string{take}, Options{Progress: &p}); err != nil {
		t.Fatal(err)
	}
	last := int64(0)
	for _, d := range p.seen {
		if d < last || d > p.total {
			t.Fatalf("%d after %d, of %d", d, last, p.total)
		}
		last = d
	}
	if len(p.seen) < 20 || last != p.total {
		t.Errorf("%d steps to %d of %d, want about one a second to the end", len(p.seen), last, p.total)
	}
}
