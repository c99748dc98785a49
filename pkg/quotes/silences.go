package quotes

import (
	"cmp"
	"slices"

	"rushlight/pkg/timecode"
)

// Cuts lie a little inside the silence, so that no breath of a word is lost:
// common practice, no source.
const (
	leadIn  = 60 * timecode.Millisecond
	tailOut = 100 * timecode.Millisecond
)

// silences are the stretches between heard speech in order, the time before
// the first and after the last included; empty where nothing was heard.
type silences []timecode.Span

func (f *flow) silences() silences {
	h := f.src.Heard
	if h == nil || len(h.Speech) == 0 {
		return nil
	}
	var q silences
	at := timecode.Ticks(0)
	for _, s := range h.Speech {
		if s.Empty() {
			continue
		}
		if s.In > at {
			q = append(q, timecode.Span{In: at, Out: s.In})
		}
		at = max(at, s.Out)
	}
	end := max(f.duration, h.Duration)
	if end > at {
		q = append(q, timecode.Span{In: at, Out: end})
	}
	return q
}

// out is where a saying before the silence ends, in is where one after it
// begins: both inside, at most a third of the silence away from its edge.
func out(s timecode.Span) timecode.Ticks { return s.In + min(tailOut, s.Length()/3) }
func in(s timecode.Span) timecode.Ticks  { return s.Out - min(leadIn, s.Length()/3) }

// near finds the silence that a boundary at t means: the nearest within
// window, a long one rather than a short. It gives the out of what is before
// and the in of what is after; each stays at t if it would have to move
// farther than reach within the silence. The one that is wanted, before or
// after, must lie within the bounds.
func (q silences) near(t, window, reach timecode.Ticks, bounds timecode.Span, wantBefore bool) (before, after timecode.Ticks, ok bool) {
	i, _ := slices.BinarySearchFunc(q, t-window, func(s timecode.Span, at timecode.Ticks) int { return cmp.Compare(s.Out, at) })
	var least timecode.Ticks
	for ; i < len(q) && q[i].In <= t+window; i++ {
		s := q[i]
		o, n := out(s), in(s)
		if s.Contains(t) && t-o > reach {
			o = t
		}
		if s.Contains(t) && n-t > reach {
			n = t
		}
		wanted := n
		if wantBefore {
			wanted = o
		}
		cost := max(s.In-t, t-s.Out, 0) - 2*min(s.Length(), 800*timecode.Millisecond)/5
		if wanted >= bounds.In && wanted <= bounds.Out && (!ok || cost < least) {
			before, after, least, ok = o, n, cost, true
		}
	}
	return before, after, ok
}

// length is the length of the longest silence near a place, 0 if none.
func (q silences) length(t timecode.Ticks) timecode.Ticks {
	const close = 400 * timecode.Millisecond
	i, _ := slices.BinarySearchFunc(q, t-close, func(s timecode.Span, at timecode.Ticks) int { return cmp.Compare(s.Out, at) })
	var most timecode.Ticks
	for ; i < len(q) && q[i].In <= t+close; i++ {
		most = max(most, q[i].Length())
	}
	return most
}

// within gives the silences that lie wholly inside a span.
func (q silences) within(s timecode.Span) []timecode.Span {
	i, _ := slices.BinarySearchFunc(q, s.In, func(p timecode.Span, at timecode.Ticks) int { return cmp.Compare(p.In, at) })
	j := i
	for j < len(q) && q[j].Out <= s.Out {
		j++
	}
	return q[i:j]
}
