package subtitles

import (
	"testing"

	"rushlight/pkg/timecode"
)

// A paper edit and the comments of a list show the words that are in the cut.
func TestSaid(t *testing.T) {
	const text = "You ring, and somebody comes. You ring it once for a walker. Nobody rings a bridge."
	for _, c := range []struct {
		name string
		used timecode.Span
		want string
	}{
		{"no trim", timecode.Span{}, text},
		{"a frame more", span(9.96, 19.04), text},
		{"end trimmed", span(10, 12.6), "You ring, and somebody comes. …"},
		{"both trimmed", span(12.5, 16), "… You ring it once for a walker. …"},
		{"start trimmed", span(12.5, 19), "… You ring it once for a walker. Nobody rings a bridge."},
		{"elsewhere", span(25, 26), ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := piece(10, 19, "Ines", text)
			p.Speech = []timecode.Span{span(10, 12), span(13, 15.2), span(17, 18.8)}
			p.Span, p.At = c.used, secs(100)
			if got := p.Said(); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
	if got := (Piece{}).Said(); got != "" {
		t.Errorf("no words: got %q", got)
	}
}
