package quotes

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// cue is a cue of the document in the recording's own time.
type cue struct {
	timecode.Span
	line int
	// open tells that the end is a bound, not a known end.
	open bool
	// coarse tells that only a beginning every now and then is known.
	coarse bool
	lines  []timedtext.Line
	shift  timecode.Ticks
}

// flow is the work of one Build: its input in the recording's own time and
// what is made of it step by step.
type flow struct {
	ctx      context.Context
	src      Source
	doc      *timedtext.Document
	shift    timecode.Ticks
	duration timecode.Ticks
	language string
	// loose tells that the text has hardly any full stops.
	loose bool
	// rounded tells that times are written in whole seconds.
	rounded bool
	cues    []cue
	// quiet are the silences that were heard.
	quiet    silences
	blocks   []block
	pieces   []sentence
	warnings []Warning
}

func newFlow(ctx context.Context, src Source) *flow {
	return &flow{ctx: ctx, src: src, doc: src.Document, duration: src.duration()}
}

// cutAndPlace makes placed sentences of the cues. The steps stop early, with
// their work half done, when ctx does.
func (f *flow) cutAndPlace() error {
	for _, step := range []func(){f.makeBlocks, f.place, f.settle} {
		step()
		if err := f.ctx.Err(); err != nil {
			return err
		}
	}
	return nil
}

func (f *flow) warn(line int, at timecode.Ticks, format string, args ...any) {
	f.warnings = append(f.warnings, Warning{Line: line, At: at, What: fmt.Sprintf(format, args...)})
}

// takeCues maps the cues to the recording's own time, mends ends that are
// missing or wrong, and warns of times that can't be right.
func (f *flow) takeCues() error {
	f.shift = shiftOf(f.doc, f.src.Recording.Clock, f.duration)
	backwards, last, first := 0, timecode.Ticks(0), cue{}
	cues, again, line := f.unroll()
	if again > 0 {
		f.warn(line, cues[0].In+f.shift, "rolling captions: %d lines that are shown again are said once", again)
	}
	add, begins := tapes(cues)
	for _, i := range begins {
		f.warn(cues[i].Line, cues[i].In+add[i]+f.shift, "times begin anew: taken for another tape, laid behind the one before; if it is another recording's, cut the file there and ingest each part with --for")
	}
	for i, c := range cues {
		if err := f.ctx.Err(); err != nil {
			return err
		}
		if c.In != timedtext.NoTime {
			c.In += add[i]
		}
		if c.Out != timedtext.NoTime {
			c.Out += add[i]
		}
		for _, l := range c.Lines {
			if add[i] != 0 && timed(l, timedtext.NoTime) {
				c.Lines = moved(c.Lines, add[i])
				break
			}
		}
		in := c.In
		if in == timedtext.NoTime {
			in = last - f.shift
		}
		q := cue{
			Span: timecode.Span{In: in + f.shift, Out: timedtext.NoTime}, line: c.Line,
			open: c.OpenEnd || f.doc.Coarse, coarse: f.doc.Coarse, lines: c.Lines, shift: f.shift,
		}
		if c.Out != timedtext.NoTime {
			q.Out = c.Out + f.shift
		}
		if i > 0 && q.In < last {
			if backwards++; backwards == 1 {
				first = q
			}
		}
		last = q.In
		f.cues = append(f.cues, q)
	}
	switch {
	case backwards == 1:
		f.warn(first.line, first.In, "the cue is put in its place in order of time")
	case backwards > 1:
		f.warn(first.line, first.In, "from here on times run backwards at %d places: the cues are put in order of time", backwards)
	}
	f.rounded = !slices.ContainsFunc(f.cues, func(c cue) bool { return c.In%timecode.Second != 0 })
	slices.SortStableFunc(f.cues, func(a, b cue) int { return cmp.Compare(a.In, b.In) })
	f.mendEnds()
	if err := f.ctx.Err(); err != nil {
		return err
	}
	return f.checkEnd()
}

// mendEnds gives every cue an end after its beginning.
func (f *flow) mendEnds() {
	var wrong []cue
	// next is the first In after the cue's own.
	next, same := timedtext.NoTime, timedtext.NoTime
	for i := len(f.cues) - 1; i >= 0 && f.ctx.Err() == nil; i-- {
		c := &f.cues[i]
		if c.In != same {
			if same != timedtext.NoTime {
				next = same
			}
			same = c.In
		}
		missing := c.Out == timedtext.NoTime
		talk := timecode.Ticks(weigh(plain(c.lines)) * float64(perSyllable))
		if c.Out > c.In {
			if c.open {
				c.Out = min(c.Out, f.longest(c.In, talk))
			}
			continue
		}
		guess := c.In + max(timecode.Second, talk)
		switch {
		case missing && next != timedtext.NoTime:
			c.Out, c.open = min(next, f.longest(c.In, talk)), true
		case missing && f.duration > c.In:
			c.Out, c.open = min(f.duration, f.longest(c.In, talk)), true
		case next != timedtext.NoTime:
			c.Out, c.open = min(guess, next), true
		default:
			c.Out, c.open = guess, true
		}
		if !missing {
			wrong = append(wrong, *c)
		}
	}
	slices.Reverse(wrong)
	for i, c := range wrong {
		if i == 5 {
			f.warn(c.line, c.In, "%d more cues end before they begin", len(wrong)-i)
			break
		}
		f.warn(c.line, c.In, "a cue ends before it begins; its end is guessed")
	}
}

// longest is where words that take so much talk surely end, where nobody says
// it: what is said in two seconds doesn't fill the two minutes to the next
// time. It is measured in speech that was heard, else by the clock.
func (f *flow) longest(in, talk timecode.Ticks) timecode.Ticks {
	end := in + 4*talk + 10*timecode.Second
	if f.src.Heard == nil {
		return end
	}
	left := 2*talk + 2*timecode.Second
	for _, s := range f.src.Heard.Speech {
		from := max(s.In, in)
		if s.Out <= from {
			continue
		}
		if said := s.Out - from; said < left {
			left -= said
			continue
		}
		return min(s.Out, from+left+2*timecode.Second)
	}
	return max(end, f.duration)
}

// checkEnd warns of cues past the end, leaves out those that begin there, and
// refuses a document that lies there altogether.
func (f *flow) checkEnd() error {
	if f.duration <= 0 || len(f.cues) == 0 {
		return nil
	}
	end := f.cues[0].Out
	for _, c := range f.cues {
		end = max(end, c.Out)
	}
	var speech timecode.Ticks
	if f.src.Heard != nil {
		if s := f.src.Heard.Speech; len(s) > 0 {
			speech = s[len(s)-1].Out
		}
	}
	first := f.cues[0]
	kept := f.cues[:0:0]
	var gone []cue
	for _, c := range f.cues {
		if c.In >= f.duration || c.Out <= 0 {
			gone = append(gone, c)
			continue
		}
		kept = append(kept, c)
	}
	if len(kept) == 0 {
		return fmt.Errorf("%w: line %d: the first cue is at %s, the recording lasts %s; the transcript belongs to another recording, or the recording's start timecode is not the transcript's",
			ErrPastEnd, first.line, first.In-f.shift, f.duration)
	}
	f.cues = kept
	if end > f.duration+endTolerance {
		where := slices.IndexFunc(kept, func(c cue) bool { return c.Out > f.duration+endTolerance })
		at := cue{}
		switch {
		case len(gone) > 0:
			at = gone[0]
		case where >= 0:
			at = kept[where]
		}
		what := fmt.Sprintf("times run past the end: the last cue ends at %s, the recording at %s", end, f.duration)
		hint := rateHint(end, f.duration, 0)
		if hint == "" {
			hint = rateHint(end, f.duration, speech)
		}
		if hint != "" {
			what += "; " + hint
		}
		f.warn(at.line, at.In, "%s", what)
	}
	for i, c := range gone {
		if i == 5 {
			f.warn(c.line, c.In, "%d more cues lie outside the recording and are left out", len(gone)-i)
			break
		}
		f.warn(c.line, c.In, "lies outside the recording and is left out: %q", short(plain(c.lines)))
	}
	return nil
}

// plain is the text of lines in one line.
func plain(lines []timedtext.Line) string {
	return tidy(timedtext.Cue{Lines: lines}.Plain())
}

// short is the beginning of a text for messages.
func short(s string) string {
	if r := []rune(s); len(r) > 40 {
		return string(r[:39]) + "…"
	}
	return s
}

// turnAt is the speaker who holds most of a span, "" if nobody holds share of
// the talk in it.
func turnAt(turns []story.Turn, s timecode.Span, share float64) string {
	sum := map[string]timecode.Ticks{}
	var all, most timecode.Ticks
	best := ""
	// A turn can have begun long before: one person may hold a whole reel.
	for _, t := range turns {
		if t.In >= s.Out {
			break
		}
		if d := t.Intersect(s).Length(); d > 0 {
			sum[t.Speaker] += d
			all += d
			if sum[t.Speaker] > most {
				best, most = t.Speaker, sum[t.Speaker]
			}
		}
	}
	if all == 0 || float64(most) < share*float64(all) {
		return ""
	}
	return best
}
