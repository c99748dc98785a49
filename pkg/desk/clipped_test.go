package desk

import (
	"reflect"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// TestClippedPlaces: a shouted word is one line, not a hundred; each track has
// its own.
func TestClippedPlaces(t *testing.T) {
	ms := func(in, out int64) timecode.Span {
		return timecode.Span{In: timecode.FromMillis(in), Out: timecode.FromMillis(out)}
	}
	l := Listened{Recording: story.Recording{TrackNames: []string{"", "Ines"}}, Heard: story.Heard{Clipped: []story.Clip{
		{Span: ms(1000, 1001), Channel: 0, Samples: 48},
		{Span: ms(1005, 1006), Channel: 1, Samples: 40},
		{Span: ms(1300, 1301), Channel: 0, Samples: 30},
		{Span: ms(2900, 2901), Channel: 0, Samples: 5},
		{Span: ms(9000, 9001), Channel: 0, Samples: 3},
	}}}
	want := []ClippedPlace{
		{ms(1000, 2901), "channel 1", 83},
		{ms(1005, 1006), "channel 2 (Ines)", 40},
		{ms(9000, 9001), "channel 1", 3},
	}
	if got := l.ClippedPlaces(); !reflect.DeepEqual(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
}
