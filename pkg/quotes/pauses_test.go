package quotes

import (
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// A cue without a full stop doesn't take the next along over a pause that was
// heard, where that begins with a capital; one that plainly goes on does.
func TestPauseWithoutFullStop(t *testing.T) {
	for _, c := range []struct {
		first, second string
		pause         int64
		want          int
	}{
		{"She rang for the ferry", "Nobody came that day.", 1500, 3},
		{"She rang for the ferry", "Nobody came that day.", 400, 2},
		{"She rang for the", "Bell of the ferry.", 1500, 2},
		{"She rang for the ferry", "and nobody came.", 1500, 2},
	} {
		in := 2000 + c.pause
		heard := &story.Heard{Duration: timecode.FromMillis(20000), Speech: []timecode.Span{span(0, 2000), span(in, in+2000), span(in+4000, in+6000)}}
		res := build(t, Source{
			Recording: reel(20000), Heard: heard,
			Document: document(said(0, 2000, c.first), said(in, in+2000, c.second), said(in+4000, in+6000, "That was it.")),
		})
		if len(res.Quotes) != c.want {
			t.Errorf("%q, %d ms, %q: got %d quotes, want %d: %q", c.first, c.pause, c.second, len(res.Quotes), c.want, lines(res.Quotes))
		}
	}
}
