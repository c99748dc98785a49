package subtitles

import "rushlight/pkg/timecode"

// grid counts time in the frames of a base, or in ticks where it is not known.
type grid struct{ rate timecode.Rate }

func (g grid) count(t timecode.Ticks, r timecode.Rounding) int64 {
	if !g.rate.Known() {
		return int64(t)
	}
	return g.rate.Frame(t, r)
}

func (g grid) ticks(n int64) timecode.Ticks {
	if !g.rate.Known() {
		return timecode.Ticks(n)
	}
	return g.rate.Ticks(n)
}

// gap is the least distance of two cues in units of the grid.
func (g grid) gap(frames int64) int64 {
	if !g.rate.Known() {
		return frames * int64(timecode.PerSecond) / 25
	}
	return frames
}
