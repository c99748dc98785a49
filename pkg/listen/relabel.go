package listen

import (
	"cmp"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

const (
	// snapReach is how far a label's edge may move to a heard boundary: cue
	// times are set by hand, early or late by up to a second.
	snapReach = timecode.Second
	// leftOver is the shortest speech between labels that is a turn.
	leftOver = 200 * timecode.Millisecond
	// joinGap is the pause over which one speaker's turn goes on.
	joinGap = turnGap * story.EnvelopeStep
)

// Relabel tells turns again with a transcript's own speaker labels, whose
// times may be coarse. Speech within a label is its speaker's; the label's
// edges move to the nearest heard boundary (an end of speech, or a change of
// voice) within a second. Speech under no label keeps the voice heard in h,
// under the name of the label that this voice mostly spoke under; a voice
// without one keeps its own name. A label in which nothing was heard stays as
// it is. Labels whose times are seconds off are laid on the turns that were heard
// (relabel_loose.go). All turns returned have Source ByTranscript, ordered by In.
//
// Labels without a speaker are passed over; without any, the turns of h are
// returned as they are. Neither argument is changed.
func Relabel(h story.Heard, labels []story.Turn) []story.Turn {
	var named []story.Turn
	for _, l := range labels {
		if l.Speaker != "" && !l.Empty() {
			named = append(named, l)
		}
	}
	if len(named) == 0 {
		return slices.Clone(h.Turns)
	}
	sortTurns(named)
	r := relabel{h: h, bounds: bounds(h)}
	if turns, ok := layLoose(r, named); ok {
		return joinTurns(turns)
	}
	var out []story.Turn
	var covered []timecode.Span
	for _, l := range named {
		s := timecode.Span{In: r.snap(l.In), Out: r.snap(l.Out)}
		if s.Empty() {
			s = l.Span
		}
		covered = append(covered, s)
		heard := false
		for _, speech := range overlapping(h.Speech, s) {
			if part := speech.Intersect(s); !part.Empty() {
				out = append(out, r.turn(l.Speaker, part))
				heard = true
			}
		}
		if !heard {
			out = append(out, r.turn(l.Speaker, l.Span))
		}
	}
	names := mapVoices(h.Turns, named)
	for _, t := range h.Turns {
		for _, rest := range without(t.Span, covered) {
			for _, speech := range overlapping(h.Speech, rest) {
				if part := speech.Intersect(rest); part.Length() >= leftOver {
					name := t.Speaker
					if n, ok := names[name]; ok {
						name = n
					}
					out = append(out, r.turn(name, part))
				}
			}
		}
	}
	return joinTurns(out)
}

// relabel holds what the edges of labels snap to.
type relabel struct {
	h      story.Heard
	bounds []timecode.Ticks
}

// bounds are the heard places where a turn may begin or end.
func bounds(h story.Heard) []timecode.Ticks {
	var b []timecode.Ticks
	for _, s := range h.Speech {
		b = append(b, s.In, s.Out)
	}
	for _, t := range h.Turns {
		b = append(b, t.In, t.Out)
	}
	slices.Sort(b)
	return slices.Compact(b)
}

// snap moves a place within speech to the nearest boundary within snapReach;
// a place in silence is as good as any.
func (r relabel) snap(t timecode.Ticks) timecode.Ticks {
	if len(overlapping(r.h.Speech, timecode.Span{In: t, Out: t + 1})) == 0 {
		return t
	}
	i, _ := slices.BinarySearch(r.bounds, t)
	best := t
	reach := snapReach + 1
	for _, k := range []int{i - 1, i} {
		if k < 0 || k >= len(r.bounds) {
			continue
		}
		if d := max(t-r.bounds[k], r.bounds[k]-t); d < reach {
			best, reach = r.bounds[k], d
		}
	}
	return best
}

// overlapping is the part of ordered, disjoint spans that overlaps s.
func overlapping(spans []timecode.Span, s timecode.Span) []timecode.Span {
	lo, _ := slices.BinarySearchFunc(spans, s.In, func(x timecode.Span, t timecode.Ticks) int {
		if x.Out <= t {
			return -1
		}
		return 1
	})
	hi := lo
	for hi < len(spans) && spans[hi].In < s.Out {
		hi++
	}
	return spans[lo:hi]
}

// turn is a turn with the microphone that heard most of it.
func (r relabel) turn(name string, s timecode.Span) story.Turn {
	t := story.Turn{Speaker: name, Span: s, Source: story.ByTranscript, Channel: -1}
	most := timecode.Ticks(0)
	for _, v := range r.h.Turns {
		if v.In >= s.Out {
			break
		}
		if d := v.Intersect(s).Length(); v.Channel >= 0 && d > most {
			t.Channel, most = v.Channel, d
		}
	}
	return t
}

// without is s less the cut spans.
func without(s timecode.Span, cut []timecode.Span) []timecode.Span {
	rest := []timecode.Span{s}
	for _, c := range cut {
		if !c.Overlaps(s) {
			continue
		}
		var next []timecode.Span
		for _, r := range rest {
			if !r.Overlaps(c) {
				next = append(next, r)
				continue
			}
			for _, p := range []timecode.Span{{In: r.In, Out: c.In}, {In: c.Out, Out: r.Out}} {
				if !p.Empty() {
					next = append(next, p)
				}
			}
		}
		rest = next
	}
	return rest
}

// mapVoices gives each heard voice the name it mostly spoke under, one to one:
// the pair with most time in common first.
func mapVoices(turns, labels []story.Turn) map[string]string {
	type pair struct{ voice, name string }
	common := map[pair]timecode.Ticks{}
	first := 0
	for _, t := range turns {
		for first < len(labels) && labels[first].Out <= t.In && (first == 0 || labels[first].Out >= labels[first-1].Out) {
			first++
		}
		for _, l := range labels[first:] {
			if l.In >= t.Out {
				break
			}
			if d := l.Intersect(t.Span).Length(); d > 0 {
				common[pair{t.Speaker, l.Speaker}] += d
			}
		}
	}
	var pairs []pair
	for p := range common {
		pairs = append(pairs, p)
	}
	slices.SortFunc(pairs, func(x, y pair) int {
		return cmp.Or(cmp.Compare(common[y], common[x]), cmp.Compare(x.voice, y.voice), cmp.Compare(x.name, y.name))
	})
	names, taken := map[string]string{}, map[string]bool{}
	for _, p := range pairs {
		if _, done := names[p.voice]; !done && !taken[p.name] {
			names[p.voice] = p.name
			taken[p.name] = true
		}
	}
	return names
}

// joinTurns orders turns and joins those of one speaker that touch, overlap,
// or have less than joinGap and nobody else between them.
func joinTurns(turns []story.Turn) []story.Turn {
	sortTurns(turns)
	var out []story.Turn
	last := map[string]int{}
	for _, t := range turns {
		i, ok := last[t.Speaker]
		if ok {
			gap := t.In - out[i].Out
			if gap <= 0 || gap < joinGap && !anyBetween(out[i+1:], out[i].Out, t.In) {
				out[i].Out = max(out[i].Out, t.Out)
				continue
			}
		}
		last[t.Speaker] = len(out)
		out = append(out, t)
	}
	return out
}

// anyBetween tells whether any of the turns lies in the gap.
func anyBetween(turns []story.Turn, from, to timecode.Ticks) bool {
	return slices.ContainsFunc(turns, func(o story.Turn) bool { return o.In < to && o.Out > from })
}
