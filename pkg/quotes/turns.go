package quotes

import (
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// How far an edge between two speakers is moved to the beginning or end of a
// heard turn.
const (
	turnWindow       = timecode.Second
	turnWindowCoarse = 3 * timecode.Second
	// leastLikeness is how well the talk of a heard speaker must fit that of
	// a named one to be taken for theirs (1 = always at the same time).
	leastLikeness = 0.3
)

// followTurns moves edges between speakers that no silence marks to where the
// heard turn of the speaker begins or ends: who is heard is matched to who is
// named by when they talk.
func (f *flow) followTurns(q silences) {
	h := f.src.Heard
	if h == nil || len(h.Turns) == 0 || len(f.pieces) == 0 {
		return
	}
	own := f.whoIsWho(h.Turns)
	if len(own) == 0 {
		return
	}
	for i := range f.pieces {
		if f.ctx.Err() != nil {
			return
		}
		s := &f.pieces[i]
		turns := own[strings.ToLower(s.speaker)]
		if len(turns) == 0 {
			continue
		}
		window := turnWindow
		if f.cues[s.frags[0].cue].coarse {
			window = turnWindowCoarse
		}
		if i > 0 && f.loosely(&f.pieces[i-1], s) && unsure(s.inBy, s.In, turns) {
			if t, ok := nearest(turns, s.In, window, func(t timecode.Span) timecode.Ticks { return t.In }); ok && t < s.Out+window && t > f.pieces[i-1].In {
				s.In, s.inBy = max(t-leadIn, 0), f.silent(q, t-leadIn)
			}
		}
		if i+1 < len(f.pieces) && f.loosely(s, &f.pieces[i+1]) && unsure(s.outBy, s.Out, turns) {
			if t, ok := nearest(turns, s.Out, window, func(t timecode.Span) timecode.Ticks { return t.Out }); ok && t > s.In {
				s.Out, s.outBy = t+tailOut, f.silent(q, t+tailOut)
			}
		}
	}
	f.meetTurns(q)
}

// meetTurns moves a guessed edge that the other speaker's sure one has passed.
func (f *flow) meetTurns(q silences) {
	const close = 300 * timecode.Millisecond
	for i := 1; i < len(f.pieces); i++ {
		a, b := &f.pieces[i-1], &f.pieces[i]
		if a.speaker == b.speaker || b.inBy == story.FromWords || a.outBy == story.FromWords {
			continue
		}
		switch {
		case b.inBy == story.FromGuess && a.outBy != story.FromGuess && a.Out > b.In && a.Out < b.Out:
			b.In = a.Out
			if _, t, ok := q.near(b.In, close, timecode.Second, b.Span, false); ok {
				b.In, b.inBy = t, story.FromPause
			}
		case a.outBy == story.FromGuess && b.inBy != story.FromGuess && b.In < a.Out && b.In > a.In:
			a.Out = b.In
			if t, _, ok := q.near(a.Out, close, timecode.Second, a.Span, true); ok {
				a.Out, a.outBy = t, story.FromPause
			}
		}
	}
}

// loosely tells whether nothing in the document times the change from one
// speaker to the next well: it lies within a cue, or times are coarse.
func (f *flow) loosely(a, b *sentence) bool {
	cue := b.frags[0].cue
	return a.speaker != b.speaker && (a.frags[len(a.frags)-1].cue == cue || f.cues[cue].coarse)
}

// unsure tells whether an edge is worth moving: the speaker isn't heard there,
// or it was only guessed or shared out and a turn's edge is near.
func unsure(by story.Precision, at timecode.Ticks, turns []timecode.Span) bool {
	const close = 300 * timecode.Millisecond
	for _, t := range turns {
		if at >= t.In+close && at <= t.Out-close {
			return false
		}
		if at >= t.In-close && at <= t.Out+close {
			return by == story.FromGuess || by == story.FromShare
		}
	}
	return by != story.FromWords
}

// silent is pause for a place where nobody is heard, else share.
func (f *flow) silent(q silences, at timecode.Ticks) story.Precision {
	if slices.ContainsFunc(q, func(s timecode.Span) bool { return s.Contains(at) }) {
		return story.FromPause
	}
	return story.FromShare
}

// nearest is the edge of a turn nearest to a place.
func nearest(turns []timecode.Span, at, window timecode.Ticks, edge func(timecode.Span) timecode.Ticks) (timecode.Ticks, bool) {
	best, found := timecode.Ticks(0), false
	least := window + 1
	for _, t := range turns {
		off := edge(t) - at
		if off = max(off, -off); off < least {
			best, least, found = edge(t), off, true
		}
	}
	return best, found
}

// whoIsWho gives for each named speaker, in lower case, the heard turns that
// are theirs: the pairs whose talk lies most at the same time, each once.
// Names that are heard as such are taken as they are.
func (f *flow) whoIsWho(turns []story.Turn) map[string][]timecode.Span {
	talk := map[string][]timecode.Span{}
	for _, s := range f.pieces {
		if s.speaker != "" && s.Out > s.In {
			k := strings.ToLower(s.speaker)
			talk[k] = append(talk[k], s.Span)
		}
	}
	if len(talk) < 2 {
		return nil
	}
	voices := map[string][]timecode.Span{}
	for _, t := range turns {
		k := strings.ToLower(t.Speaker)
		voices[k] = append(voices[k], t.Span)
	}
	own := map[string][]timecode.Span{}
	for {
		bestS, bestV, most := "", "", leastLikeness
		for s, a := range talk {
			for v, b := range voices {
				l := likeness(a, b)
				if s == v {
					l += 1
				}
				if l > most || l == most && (s < bestS || s == bestS && v < bestV) {
					bestS, bestV, most = s, v, l
				}
			}
		}
		if bestS == "" {
			return own
		}
		own[bestS] = voices[bestV]
		delete(talk, bestS)
		delete(voices, bestV)
	}
}

// likeness is the shared time of two rows of spans over the geometric mean of
// their lengths, squared: 0 for never together, 1 for always. Both rows are
// in order of In.
func likeness(a, b []timecode.Span) float64 {
	var la, lb, both float64
	for _, s := range a {
		la += s.Length().Seconds()
	}
	for _, t := range b {
		lb += t.Length().Seconds()
	}
	j := 0
	for _, s := range a {
		for j < len(b) && b[j].Out <= s.In {
			j++
		}
		for k := j; k < len(b) && b[k].In < s.Out; k++ {
			both += max(s.Intersect(b[k]).Length(), 0).Seconds()
		}
	}
	if la <= 0 || lb <= 0 {
		return 0
	}
	return both * both / (la * lb)
}
