package sound

import (
	"path/filepath"
	"slices"
	"testing"
)

// Pieces of a camera file come through bit for bit like those of the WAV with
// the same sound, beside pieces of a WAV, forwards and backwards.
func TestStringoutFromMedia(t *testing.T) {
	t.Parallel()
	wav := noise(t, 2, mediaFrames)
	mxf := encoded(t, append(append([]string{"-i", wav}, picture("25")...), "-c:v", "mpeg2video", "-c:a", "pcm_s24le", "a.mxf")...)
	pieces := func(path string) []Piece {
		return []Piece{
			{Path: path, In: 2000 * ms, Out: 2900 * ms, Lead: 50 * ms, Tail: 500 * ms},
			{Path: wav, In: 100 * ms, Out: 300 * ms, Lead: 30 * ms, Tail: 30 * ms},
			{Path: path, In: 500 * ms, Out: 700 * ms, Lead: 30 * ms, Tail: 30 * ms},
			{Path: path, In: 800 * ms, Out: 3000 * ms, Lead: 30 * ms, Channels: []int{1}},
		}
	}
	for _, opt := range []StringoutOptions{{Channels: 2}, {Gap: 100 * ms, SampleRate: 44100}} {
		want, wantRep := stringout(t, pieces(wav), opt)
		got, rep := stringout(t, pieces(mxf), opt)
		if !slices.Equal(rep.Placed, wantRep.Placed) || rep.Frames != wantRep.Frames {
			t.Errorf("%+v: got %+v, want %+v", opt, rep, wantRep)
		}
		sameAs(t, "from the WAV", got, want, 0)
	}
}

// Lossy files claim a length that is not quite theirs: a piece may reach to
// the end all the same, and its tail beyond.
func TestStringoutToTheEndOfMedia(t *testing.T) {
	t.Parallel()
	wav := noise(t, 1, mediaFrames)
	for _, args := range [][]string{
		{"-c:a", "libmp3lame", "-write_xing", "0", "-q:a", "3", "a.mp3"},
		{"-c:a", "aac", "a.mp4"},
	} {
		path := encoded(t, append([]string{"-i", wav}, args...)...)
		_, rep := stringout(t, []Piece{{Path: path, In: 1000 * ms, Out: 3000 * ms, Tail: 500 * ms, GainDB: -6}, {Path: path, In: 0, Out: 2950 * ms, Tail: 20 * ms, GainDB: -6}}, StringoutOptions{})
		if rep.Frames < 4950*48 || len(rep.Notes) > 0 {
			t.Errorf("%s: got %d frames, notes %q; want %d or more", filepath.Base(path), rep.Frames, rep.Notes, 4950*48)
		}
	}
}
