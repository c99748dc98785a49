package quotes

import (
	"cmp"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// settle puts the sentences in order and makes their times possible: in
// before out, inside the recording, and nobody talking over themselves.
func (f *flow) settle() {
	p := f.pieces
	for i := range p {
		if p[i].Out <= p[i].In {
			// The edges crossed: the document's own times are what is left.
			p[i].Span = p[i].raw
			p[i].inBy, p[i].outBy = story.FromGuess, story.FromGuess
		}
	}
	// Only sayings in different voices may change places: what one person
	// says stays in the order of the transcript.
	latest := map[string]timecode.Ticks{}
	for i := range p {
		s := &p[i]
		if t, ok := latest[s.speaker]; ok && s.In < t {
			s.begin(t)
		}
		if i > 0 && s.In < p[i-1].In && clash(p[i-1], *s) {
			s.begin(p[i-1].In)
		}
		latest[s.speaker] = s.In
	}
	slices.SortStableFunc(p, func(a, b sentence) int { return cmp.Compare(a.In, b.In) })
	end := f.duration
	if end <= 0 {
		end = 1 << 61
	}
	f.spread(end)
	for i := range p {
		s := &p[i]
		if s.Out <= s.In {
			s.Out, s.outBy = s.In+max(timecode.Ticks(weigh(s.text)*float64(perSyllable)), timecode.Millisecond), story.FromGuess
		}
		limit := end
		for j := i + 1; j < len(p); j++ {
			if p[j].In >= s.Out {
				break
			}
			// Two voices on one tick: nothing can be cut off.
			if p[j].In > s.In && clash(*s, p[j]) {
				limit = p[j].In
				break
			}
		}
		if s.Out > limit {
			s.Out = limit
			s.outBy = story.FromShare
		}
	}
}

// begin moves the in of a sentence to where it has to be.
func (s *sentence) begin(at timecode.Ticks) { s.In, s.inBy = at, story.FromShare }

// spread moves ins apart that fell on one place, the least that helps.
func (f *flow) spread(end timecode.Ticks) {
	p := f.pieces
	if len(p) == 0 {
		return
	}
	step := max(min(timecode.Millisecond, end/timecode.Ticks(2*len(p)+2)), 1)
	next := map[string]timecode.Ticks{}
	for i := len(p) - 1; i >= 0; i-- {
		most := end - step
		if i+1 < len(p) {
			most = p[i+1].In
			if clash(p[i], p[i+1]) {
				most -= step
			}
		}
		if t, ok := next[p[i].speaker]; ok {
			most = min(most, t-step)
		}
		if p[i].In > most {
			p[i].begin(most)
		}
		next[p[i].speaker] = p[i].In
	}
	own := map[string]timecode.Ticks{}
	at := timecode.Ticks(0)
	for i := range p {
		least := at
		if i > 0 && clash(p[i-1], p[i]) {
			least = p[i-1].In + step
		}
		if t, ok := own[p[i].speaker]; ok {
			least = max(least, t+step)
		}
		if p[i].In < least {
			p[i].begin(least)
		}
		own[p[i].speaker], at = p[i].In, p[i].In
	}
}

// clash tells whether two sayings must not overlap: they are one person's, or
// the document has them one after the other.
func clash(a, b sentence) bool {
	if a.speaker == b.speaker {
		return true
	}
	if a.frags[len(a.frags)-1].cue == b.frags[0].cue && !(a.timed && b.timed) {
		return true
	}
	return !a.raw.Overlaps(b.raw)
}
