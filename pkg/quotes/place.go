package quotes

import (
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// sentence is one quote in the making.
type sentence struct {
	block int
	Range
	speaker, text string
	words         []timedWord
	frags         []*fragment
	timecode.Span
	inBy, outBy story.Precision
	// timed tells that words time both its edges.
	timed bool
	// raw is what the document itself says of its time.
	raw timecode.Span
}

// fragment is the part of a sentence that lies in one cue.
type fragment struct {
	sentence, cue int
	speaker       string
	weight        float64
	// timedIn and timedOut tell that words time its sentence here.
	timedIn, timedOut bool
	timecode.Span
	inBy, outBy story.Precision
}

// cut makes sentences of the blocks and fragments of the sentences.
func (f *flow) cut() [][]*fragment {
	byCue := make([][]*fragment, len(f.cues))
	for bi := range f.blocks {
		if f.ctx.Err() != nil {
			break
		}
		b := &f.blocks[bi]
		word, first := 0, 0
		for _, whole := range Sentences(b.text, f.language) {
			for _, r := range f.splits(b, whole) {
				s := sentence{block: bi, Range: r, speaker: b.speaker, text: b.text[r.Start:r.End]}
				for word < len(b.words) && b.words[word].end <= r.Start {
					word++
				}
				from := word
				for word < len(b.words) && b.words[word].start < r.End {
					word++
				}
				s.words = b.words[from:word]
				in, out := s.wordsAt(b.text)
				for first < len(b.pieces) && b.pieces[first].end <= r.Start {
					first++
				}
				for _, p := range b.pieces[first:] {
					if p.start >= r.End {
						break
					}
					part := b.text[max(p.start, r.Start):min(p.end, r.End)]
					g := &fragment{sentence: len(f.pieces), cue: p.cue, speaker: b.speaker, weight: max(weigh(part), 0.1)}
					g.timedIn, g.timedOut = in && len(s.frags) == 0, out && p.end >= r.End
					s.frags = append(s.frags, g)
					byCue[p.cue] = append(byCue[p.cue], g)
				}
				if len(s.frags) > 0 {
					f.pieces = append(f.pieces, s)
				}
			}
		}
	}
	return byCue
}

// wordsAt tells whether the first and the last word of a sentence have times.
func (s *sentence) wordsAt(text string) (in, out bool) {
	if len(s.words) == 0 {
		return false, false
	}
	first, last := s.words[0], s.words[len(s.words)-1]
	in = first.start <= s.Start || !spoken(text[s.Start:first.start])
	out = last.end >= s.End || !spoken(text[last.end:s.End])
	return in, out
}

// place gives every sentence its in and out.
func (f *flow) place() {
	byCue := f.cut()
	q := f.quiet
	for i, frags := range byCue {
		if f.ctx.Err() != nil {
			return
		}
		if len(frags) == 0 {
			continue
		}
		in, out := f.edges(q, i)
		frags[0].In, frags[0].inBy = in.at, in.by
		last := frags[len(frags)-1]
		last.Out, last.outBy = out.at, out.by
		if !inner(frags) {
			f.lay(q, i, frags, timecode.Span{In: in.at, Out: out.at})
		}
	}
	for i := range f.pieces {
		s := &f.pieces[i]
		first, last := s.frags[0], s.frags[len(s.frags)-1]
		s.Span = timecode.Span{In: first.In, Out: last.Out}
		s.inBy, s.outBy = first.inBy, last.outBy
		s.raw = timecode.Span{In: f.cues[first.cue].In, Out: f.cues[last.cue].Out}
		if n := len(s.words); n > 0 {
			if first.timedIn {
				s.In, s.inBy, s.raw.In = s.words[0].In, story.FromWords, s.words[0].In
			}
			if last.timedOut {
				s.Out, s.outBy, s.raw.Out = s.words[n-1].Out, story.FromWords, s.words[n-1].Out
			}
			s.timed = first.timedIn && last.timedOut
		}
	}
	f.followTurns(q)
}

// inner tells whether words time every boundary inside a cue, so that nothing
// has to be laid over the sound.
func inner(frags []*fragment) bool {
	for i := 1; i < len(frags); i++ {
		if !frags[i-1].timedOut || !frags[i].timedIn {
			return false
		}
	}
	return true
}

// edge is a place with how it was found.
type edge struct {
	at timecode.Ticks
	by story.Precision
}

// How far an edge of a cue is moved to heard speech. Hand-set times are
// seldom off by more; coarse ones are written to the second.
const (
	edgeWindow       = 750 * timecode.Millisecond
	edgeWindowCoarse = 1500 * timecode.Millisecond
	// edgeTouch is the gap below which two cues share an edge.
	edgeTouch = 300 * timecode.Millisecond
)

// edges is the in and out of a cue, moved to where speech begins and ends.
func (f *flow) edges(q silences, i int) (in, out edge) {
	c := f.cues[i]
	by := story.FromShare
	window, reach := edgeWindow, 2*edgeWindow
	if c.coarse {
		by = story.FromGuess
		reach = c.Length()
		if f.rounded {
			window = edgeWindowCoarse
		}
	}
	in, out = edge{c.In, by}, edge{c.Out, by}
	if c.open {
		out.by = story.FromGuess
		reach = max(reach, c.Length())
	}
	middle := c.Middle()
	first, last := middle, middle
	if c.open {
		first, last = c.Out, c.In
	}
	at, lo := c.In, timecode.Ticks(0)
	if i > 0 {
		p := f.cues[i-1]
		if p.Out <= c.In && c.In-p.Out < edgeTouch && !p.open {
			at = p.Out + (c.In-p.Out)/2
		}
		// An edge must not jump over the cue beside it.
		lo = min(p.Middle(), c.In)
	}
	if _, t, ok := q.near(at, window, reach, timecode.Span{In: lo, Out: first}, false); ok {
		in = edge{t, story.FromPause}
	}
	at = c.Out
	hi := timecode.Ticks(1 << 61)
	if i+1 < len(f.cues) {
		n := f.cues[i+1]
		if n.In >= c.Out && n.In-c.Out < edgeTouch && !c.open {
			at = c.Out + (n.In-c.Out)/2
		}
		hi = max(n.Middle(), c.Out)
	}
	if t, _, ok := q.near(at, window, reach, timecode.Span{In: last, Out: hi}, true); ok {
		out = edge{t, story.FromPause}
	}
	if out.at <= in.at {
		in, out = edge{c.In, by}, edge{c.Out, by}
	}
	return in, out
}
