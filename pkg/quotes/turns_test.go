package quotes

import (
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// One person may talk for a whole reel: the turn's speaker holds to its end.
func TestTurnAtInALongTurn(t *testing.T) {
	const m = timecode.Minute
	turns := []story.Turn{{Speaker: "Ines", Span: timecode.Span{In: 0, Out: 30 * m}}, {Speaker: "Joss", Span: timecode.Span{In: 30 * m, Out: 31 * m}}}
	for at, want := range map[timecode.Ticks]string{5 * m: "Ines", 11 * m: "Ines", 29 * m: "Ines", 30 * m: "Joss", 32 * m: ""} {
		if got := turnAt(turns, timecode.Span{In: at, Out: at + 3*timecode.Second}, 0.7); got != want {
			t.Errorf("at %s: speaker %q, want %q", at, got, want)
		}
	}
}
