package sound

import (
	"context"
	"path/filepath"
	"testing"

	"pgregory.net/rapid"

	"rushlight/pkg/timecode"
)

// Whatever pieces, handles, crossfade and gap are asked for: no word is lost
// or doubled, words never overlap, the report says where they are, and the
// frames add up.
func TestStringoutKeepsEveryWord(t *testing.T) {
	const there = 48000
	src := counting(t, there)
	out := filepath.Join(t.TempDir(), "o.wav")
	rapid.Check(t, func(t *rapid.T) {
		at := func(frames int64) timecode.Ticks { return timecode.FromSamples(frames, 48000) }
		frames := func(name string, low, high int64) int64 { return rapid.Int64Range(low, high).Draw(t, name) }
		var pieces []Piece
		for range rapid.IntRange(1, 5).Draw(t, "pieces") {
			in := frames("in", 0, there-1)
			end := frames("out", in+1, min(there, in+9000))
			pieces = append(pieces, Piece{Path: src, In: at(in), Out: at(end), Lead: at(frames("lead", 0, 2000)), Tail: at(frames("tail", 0, 2000))})
		}
		// Without a fade into the words, every one must be bit for bit.
		opt := StringoutOptions{Crossfade: at(frames("crossfade", 0, 1000)) - 1, Gap: at(frames("gap", 0, 300))}
		rep, err := WriteStringout(context.Background(), out, pieces, opt)
		if err != nil {
			t.Fatal(err)
		}
		r, err := Open(out)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Close()
		var got []float64
		for b, err := r.Next(); err == nil; b, err = r.Next() {
			got = append(got, b.Samples[0]...)
		}
		if int64(len(got)) != rep.Frames || len(rep.Placed) != len(pieces) {
			t.Fatalf("got %d frames and %d places, report says %d", len(got), len(rep.Placed), rep.Frames)
		}
		end := int64(0)
		for i, p := range rep.Placed {
			lead, tail := p.Lead.Samples(48000, timecode.Nearest), p.Tail.Samples(48000, timecode.Nearest)
			in, n := pieces[i].In.Samples(48000, timecode.Nearest), (pieces[i].Out-pieces[i].In).Samples(48000, timecode.Nearest)
			if p.Start < end || p.End-p.Start != n || p.Lead > pieces[i].Lead || p.Tail > pieces[i].Tail {
				t.Fatalf("piece %d of %d frames placed at %+v, the one before ends at %d", i, n, p, end)
			}
			edge := int64(48) // the millisecond that a fade may shape without a handle
			for k := p.Start; k < p.End; k++ {
				if lead < edge && k-p.Start < edge || tail < edge && p.End-k <= edge {
					continue
				}
				if want := float64(in+k-p.Start+1) / (1 << 23); got[k] != want {
					t.Fatalf("piece %d, frame %d of %d: got %v, want %v (%+v)", i, k-p.Start, n, got[k], want, p)
				}
			}
			end = p.End
		}
		length := int64(0)
		for i, p := range rep.Placed {
			length += p.Lead.Samples(48000, timecode.Nearest) + p.End - p.Start + p.Tail.Samples(48000, timecode.Nearest)
			if i > 0 {
				length += max(0, opt.Gap.Samples(48000, timecode.Nearest))
			}
		}
		if rep.Frames != length {
			t.Fatalf("%d frames, the pieces with their handles have %d", rep.Frames, length)
		}
		if last := rep.Placed[len(rep.Placed)-1]; rep.Frames != last.End+last.Tail.Samples(48000, timecode.Nearest) {
			t.Fatalf("%d frames, the last piece ends at %+v", rep.Frames, last)
		}
	})
}
