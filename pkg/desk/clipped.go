package desk

import (
	"cmp"
	"slices"

	"rushlight/pkg/timecode"
)

// ClippedPlace is clipping on one track that lies so near together that a
// person listens to it as one.
type ClippedPlace struct {
	timecode.Span
	Track string // "channel 1 (Boom)"
	// Samples at full scale.
	Samples int
}

// clippedApart is how far apart two places are.
const clippedApart = 2 * timecode.Second

// ClippedPlaces joins the clipped stretches of each track that lie near each
// other, in order of time.
func (l Listened) ClippedPlaces() []ClippedPlace {
	var out []ClippedPlace
	last := map[int]int{} // by channel, index+1 in out
	for _, c := range l.Heard.Clipped {
		if i := last[c.Channel] - 1; i >= 0 && c.In-out[i].Out < clippedApart {
			p := &out[i]
			p.Out, p.Samples = max(p.Out, c.Out), p.Samples+c.Samples
			continue
		}
		out = append(out, ClippedPlace{c.Span, trackName(l.Recording.TrackNames, c.Channel), c.Samples})
		last[c.Channel] = len(out)
	}
	slices.SortStableFunc(out, func(a, b ClippedPlace) int { return cmp.Compare(a.In, b.In) })
	return out
}
