package subtitles

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// ErrLimits is wrapped by every error about limits that cannot be kept to.
var ErrLimits = errors.New("limits not usable")

// Piece is one quote as it lies on the output's timeline.
type Piece struct {
	Quote story.Quote
	// At is where the In of Span lies on the output's timeline.
	At timecode.Ticks
	// Speech is the heard speech in the recording's own time, in order; nil
	// if nobody listened.
	Speech []timecode.Span
	// Span is the part of the recording that is used: the quote's own span,
	// or its trim. The zero Span means the whole quote.
	Span timecode.Span
}

// Draft makes subtitles. See the package comment for the method. Pieces may
// come in any order; a piece without words gives no cue. Cues have numbers
// from 1 as ID. Nobody is named in them; where two people talk at once and a
// line each is enough, the lines share a cue, each with Dash set.
//
// The findings are what Check says of the draft, and cues that trail their
// speech by more than 1.5 s. Errors: limits that contradict themselves
// (ErrLimits), and a piece that ends before it begins.
func Draft(pieces []Piece, lim Limits) (*timedtext.Document, []Finding, error) {
	if err := lim.valid(); err != nil {
		return nil, nil, err
	}
	pieces = slices.Clone(pieces)
	for _, p := range pieces {
		if s := p.used(); s.Out < s.In {
			return nil, nil, fmt.Errorf("quote %s on reel %s: %w: its out %s lies before its in %s", p.Quote.Code, p.Quote.Reel, story.ErrInvalid, s.Out, s.In)
		}
	}
	slices.SortStableFunc(pieces, func(a, b Piece) int {
		switch {
		case a.At < b.At:
			return -1
		case a.At > b.At:
			return 1
		}
		return 0
	})
	cues := draftCues(pieces, lim)
	doc := document(cues, lim)
	findings := append(Check(doc, lim), late(cues, doc)...)
	slices.SortStableFunc(findings, func(a, b Finding) int { return a.Cue - b.Cue })
	return doc, findings, nil
}

// draftCues cuts pieces, in the order of the timeline, into cues with times.
func draftCues(pieces []Piece, lim Limits) []shown {
	g := grammarOf(lim.Language)
	var cues []shown
	for i := 0; i < len(pieces); {
		j := i + 1
		for j < len(pieces) && follows(pieces[j-1], pieces[j]) {
			j++
		}
		shot := shotOf(pieces, i, j)
		if lim.End > 0 {
			shot.Out = min(shot.Out, lim.End)
		}
		for _, c := range draftTalk(pieces[i:j], g, lim, roomAfter(pieces, j, lim.End)) {
			c.shot = shot
			cues = append(cues, c)
		}
		i = j
	}
	inOrder(cues)
	return settle(cues, lim)
}

// valid tells whether a draft can be made by the limits.
func (l Limits) valid() error {
	switch {
	case l.LineLength < 0, l.Lines < 0, l.MinDuration < 0, l.MaxDuration < 0, l.Gap < 0,
		l.ReadingSpeed < 0, l.WordsPerMinute < 0, math.IsNaN(l.ReadingSpeed), math.IsNaN(l.WordsPerMinute):
		return fmt.Errorf("%w: a figure is below 0; 0 means no limit", ErrLimits)
	case l.MaxDuration > 0 && l.MinDuration > l.MaxDuration:
		return fmt.Errorf("%w: the least duration %s is above the most, %s", ErrLimits, l.MinDuration, l.MaxDuration)
	case l.MaxDuration > 0 && l.Base.Rate.Known() && l.Base.Rate.Frame(l.MaxDuration, timecode.Floor) < max(l.Base.Rate.Frame(l.MinDuration, timecode.Ceil), 1):
		return fmt.Errorf("%w: no whole number of frames lies between %s and %s", ErrLimits, l.MinDuration, l.MaxDuration)
	}
	return nil
}

// talkGap is the silence after which the same speaker starts a new cue in any
// case: BBC Subtitle Guidelines, pauses of 1 to 1.5 s (recalled).
const talkGap = timecode.Second

// follows tells whether b goes on where a stops: one speaker, one recording,
// no cut and no long silence between.
func follows(a, b Piece) bool {
	sa, sb := a.used(), b.used()
	return a.Quote.Speaker == b.Quote.Speaker && !cutBetween(a, b) &&
		sb.In >= sa.Out && sb.In-sa.Out < talkGap
}

// shotOf is the shot that pieces i to j-1 lie in: bounded where a neighbour
// comes from elsewhere in the rushes.
func shotOf(pieces []Piece, i, j int) timecode.Span {
	shot := timecode.Span{In: math.MinInt64, Out: math.MaxInt64}
	if i > 0 && cutBetween(pieces[i-1], pieces[i]) {
		shot.In = pieces[i].At
	}
	if j < len(pieces) && cutBetween(pieces[j-1], pieces[j]) {
		shot.Out = pieces[j].At
	}
	return shot
}

// cutBetween tells whether two pieces don't run on in one recording.
func cutBetween(a, b Piece) bool {
	return a.Quote.Reel != b.Quote.Reel || b.At-a.At != b.used().In-a.used().In
}

// roomAfter is the silence after piece j-1 that its cues may use, before the
// next piece or the end of the programme, 0 if that isn't known.
func roomAfter(pieces []Piece, j int, end timecode.Ticks) timecode.Ticks {
	const most = 2 * timecode.Second
	p := pieces[j-1]
	switch {
	case j < len(pieces):
		end = pieces[j].At
	case end <= 0:
		return most
	}
	return min(max(end-p.At-p.used().Length(), 0), most)
}

// draftTalk cuts pieces that belong together into cues.
func draftTalk(pieces []Piece, g grammar, lim Limits, room timecode.Ticks) []shown {
	var tokens []token
	for _, p := range pieces {
		tokens = append(tokens, p.timed(g)...)
	}
	if len(tokens) == 0 {
		return nil
	}
	t := newText(tokens, g, lim)
	var out []shown
	for _, c := range cutTalk(t, lim, room) {
		starts, _, _ := t.layout(c.from, c.to)
		s := shown{
			speaker: pieces[0].Quote.Speaker,
			heard:   timecode.Span{In: tokens[c.from].In, Out: tokens[c.to-1].Out},
			chars:   t.width(c.from, c.to), words: countWords(tokens[c.from:c.to]),
		}
		from := c.from
		for _, to := range append(starts, c.to) {
			s.lines = append(s.lines, joined(tokens[from:to]))
			from = to
		}
		out = append(out, s)
	}
	return out
}

// document puts settled cues in the form that every format is written from.
func document(cues []shown, lim Limits) *timedtext.Document {
	g := grid{lim.Base.Rate}
	doc := &timedtext.Document{Language: lim.Language, Base: lim.Base}
	for i, c := range cues {
		cue := timedtext.Cue{
			ID:   strconv.Itoa(i + 1),
			Span: timecode.Span{In: g.ticks(c.start), Out: g.ticks(c.end)},
		}
		if end := lim.Base.Rate.Snap(lim.End, timecode.Ceil); lim.End > 0 && cue.Out > end && end > cue.In {
			cue.Out = end
		}
		for _, l := range c.lines {
			cue.Lines = append(cue.Lines, timedtext.Line{{Text: l, Dash: c.dashed}})
		}
		doc.Cues = append(doc.Cues, cue)
	}
	return doc
}

// late lists the cues that had to wait for others.
func late(cues []shown, doc *timedtext.Document) []Finding {
	var out []Finding
	for i, c := range cues {
		if by := doc.Cues[i].In - c.heard.In; by > lateMost {
			out = append(out, Finding{
				Cue: i + 1, Name: nameOf(doc.Cues, i), At: doc.Cues[i].In, Rule: RuleOverlap, Severity: Warning,
				What: fmt.Sprintf("comes in %.1f s after its speech because the cues before it need their time, want at most 1.5 s (BBC Subtitle Guidelines)", by.Seconds()),
			})
		}
	}
	return out
}
