package sound

import (
	"context"
	"path/filepath"
	"testing"

	"rushlight/pkg/timecode"
)

// A stringout stays with its edit list: at frame rates whose frames are no
// whole number of samples, what is rounded off must not add up over the
// pieces. Thirty pieces of whole frames end within half a sample of the list.
func TestStringoutDoesNotDrift(t *testing.T) {
	src := counting(t, 10*48000)
	for _, rate := range []timecode.Rate{timecode.Rate23976, timecode.Rate2997, timecode.Rate5994} {
		for _, gap := range []int64{0, 1, 7} {
			opt := StringoutOptions{Crossfade: -1, Gap: rate.Ticks(gap)}
			var pieces []Piece
			var starts, ends []timecode.Ticks
			at := timecode.Ticks(0)
			for i := range int64(30) {
				in, n := 3*i+1, 2*i+1
				pieces = append(pieces, Piece{Path: src, In: rate.Ticks(in), Out: rate.Ticks(in + n), Lead: rate.Ticks(1), Tail: rate.Ticks(1)})
				starts, ends = append(starts, at+rate.Ticks(1)), append(ends, at+rate.Ticks(1+n))
				at += rate.Ticks(n+2) + opt.Gap
			}
			rep, err := WriteStringout(context.Background(), filepath.Join(t.TempDir(), "o.wav"), pieces, opt)
			if err != nil {
				t.Fatal(err)
			}
			for i, p := range rep.Placed {
				start, end := starts[i].Samples(48000, timecode.Nearest), ends[i].Samples(48000, timecode.Nearest)
				if p.Start != start || p.End != end {
					t.Errorf("%s, gap %d: piece %d lies at %d to %d, want %d to %d", rate, gap, i, p.Start, p.End, start, end)
				}
			}
			if want := (at - opt.Gap).Samples(48000, timecode.Nearest); rep.Frames != want {
				t.Errorf("%s, gap %d: %d frames, want %d", rate, gap, rep.Frames, want)
			}
		}
	}
}
