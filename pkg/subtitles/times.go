package subtitles

import (
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// used is the part of the recording that a piece uses.
func (p Piece) used() timecode.Span {
	if p.Span == (timecode.Span{}) {
		return p.Quote.Span
	}
	return p.Span
}

// sliver is the length under which speech at the edge of a piece is taken for
// a neighbour's.
const sliver = 60 * timecode.Millisecond

// heard is the speech within s, in the recording's own time; s itself where
// nothing was heard.
func (p Piece) heard(s timecode.Span) []timecode.Span {
	var out []timecode.Span
	for _, sp := range p.Speech {
		if x := sp.Intersect(s); !x.Empty() {
			out = append(out, x)
		}
	}
	for len(out) > 1 && out[0].Length() < sliver {
		out = out[1:]
	}
	for len(out) > 1 && out[len(out)-1].Length() < sliver {
		out = out[:len(out)-1]
	}
	if len(out) == 0 {
		return []timecode.Span{s}
	}
	return out
}

// timed gives the tokens of the piece their times on the output's timeline.
// Words that a trim leaves unheard are dropped. Where the quote has no word
// times, its words lie over the speech of the whole quote, so that a trim
// leaves out about the words that were said there.
func (p Piece) timed(g grammar) []token {
	tokens := tokenize(p.Quote.Text)
	if len(tokens) == 0 {
		return nil
	}
	s := p.used()
	if spans, ok := wordTimes(tokens, p.Quote.Words); ok {
		for i := range tokens {
			tokens[i].Span = spans[i]
		}
	} else {
		whole := p.Quote.Span
		if whole.Empty() {
			whole = s
		}
		shareTime(tokens, g, p.heard(timecode.Span{In: min(whole.In, s.In), Out: max(whole.Out, s.Out)}))
	}
	kept := tokens[:0]
	for _, w := range tokens {
		if m := w.Middle(); s != p.Quote.Span && (m < s.In || m >= s.Out) {
			continue
		}
		w.Span = timecode.Span{In: max(w.In, s.In), Out: max(min(w.Out, s.Out), s.In)}.Shift(p.At - s.In)
		kept = append(kept, w)
	}
	tokens = kept
	if len(tokens) > 0 {
		tokens[0].glued = false
		tokens[len(tokens)-1].last = true
	}
	return tokens
}

// wordTimes finds each token's time among the words of a quote, in the
// recording's own time. ok is false where the words don't say what the text
// says, or their times run backwards.
func wordTimes(tokens []token, said []story.Word) (spans []timecode.Span, ok bool) {
	if len(said) == 0 {
		return nil, false
	}
	var a, b strings.Builder
	for _, t := range tokens {
		a.WriteString(letters(t.text))
	}
	ends := make([]int, len(said))
	for i, w := range said {
		b.WriteString(letters(w.Text))
		ends[i] = b.Len()
		if i > 0 && w.In < said[i-1].In {
			return nil, false
		}
	}
	if a.String() != b.String() {
		return nil, false
	}
	spans = make([]timecode.Span, len(tokens))
	at, w := 0, 0
	for i, t := range tokens {
		n := len(letters(t.text))
		if n == 0 { // signs only: no time of their own
			if i > 0 {
				spans[i] = timecode.Span{In: spans[i-1].Out, Out: spans[i-1].Out}
			} else {
				spans[i] = timecode.Span{In: said[0].In, Out: said[0].In}
			}
			continue
		}
		for w < len(said)-1 && ends[w] <= at {
			w++
		}
		in := said[w].In
		at += n
		for w < len(said)-1 && ends[w] < at {
			w++
		}
		spans[i] = timecode.Span{In: in, Out: max(wordOut(said, w), in)}
	}
	return spans, true
}

// wordOut is where a word ends, or the next begins if that is not known.
func wordOut(said []story.Word, i int) timecode.Ticks {
	if !said[i].Empty() {
		return said[i].Out
	}
	if i+1 < len(said) {
		return said[i+1].In
	}
	return said[i].In
}

// anchor says that a token starts with a stretch of speech.
type anchor struct{ token, span int }

// How far a heard pause may lie from where a break is expected, to be taken
// for it. Ours, no source.
const (
	nearPause  = 900 * timecode.Millisecond // at a sign
	nearPlain  = 200 * timecode.Millisecond // between words
	pauseLeast = 120 * timecode.Millisecond
)

// shareTime divides the heard speech among the tokens by their length, after
// it has tied ends of clauses to pauses.
func shareTime(tokens []token, g grammar, spans []timecode.Span) {
	from := anchor{}
	for _, a := range append(findAnchors(tokens, g, spans), anchor{len(tokens), len(spans)}) {
		share(tokens[from.token:a.token], spans[from.span:a.span])
		from = a
	}
}

// findAnchors ties pauses to breaks, from the first to the last.
func findAnchors(tokens []token, g grammar, spans []timecode.Span) []anchor {
	share(tokens, spans)
	var out []anchor
	next := 1
	for m := 1; m < len(spans); m++ {
		if spans[m].In-spans[m-1].Out < pauseLeast {
			continue
		}
		best, found := timecode.Ticks(1<<62), 0
		for k := next; k < len(tokens); k++ {
			off := away(tokens[k-1].Out, timecode.Span{In: spans[m-1].Out, Out: spans[m].In})
			cost := g.breakCost(tokens, k)
			if off > nearPause || cost > breakComma && off > nearPlain {
				continue
			}
			if score := off + timecode.Ticks(cost)*6*timecode.Millisecond; score < best {
				best, found = score, k
			}
		}
		if found > 0 {
			out = append(out, anchor{found, m})
			next = found + 1
		}
	}
	return out
}

// away is how far t lies outside s.
func away(t timecode.Ticks, s timecode.Span) timecode.Ticks {
	return max(s.In-t, t-s.Out, 0)
}

// share spreads tokens over spans by length. Spans must not be empty of
// entries; tokens may be.
func share(tokens []token, spans []timecode.Span) {
	var all, total timecode.Ticks
	for _, w := range tokens {
		total += timecode.Ticks(w.chars + 1)
	}
	for _, s := range spans {
		all += max(s.Length(), 0)
	}
	var done timecode.Ticks
	for i := range tokens {
		tokens[i].In = place(spans, scale(all, done, total), false)
		done += timecode.Ticks(tokens[i].chars + 1)
		tokens[i].Out = place(spans, scale(all, done, total), true)
	}
}

// scale is a·n/d without overflow for n <= d < 2^31.
func scale(a, n, d timecode.Ticks) timecode.Ticks {
	return a/d*n + a%d*n/d
}

// place is where t of speech have passed; at the edge of two stretches the end
// of the first for an out, the start of the second for an in.
func place(spans []timecode.Span, t timecode.Ticks, out bool) timecode.Ticks {
	for i, s := range spans {
		n := max(s.Length(), 0)
		if t < n || t == n && (out || i == len(spans)-1) {
			return s.In + t
		}
		t -= n
	}
	return spans[len(spans)-1].Out
}
