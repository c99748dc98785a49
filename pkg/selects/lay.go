package selects

import (
	"errors"
	"fmt"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// ErrLay is wrapped by every error about selects that make no cut.
var ErrLay = errors.New("cannot lay out")

// LayOptions says how selects become a cut.
type LayOptions struct {
	// Base is the timeline's time base. If its rate is not known, the base
	// that most items were recorded with is taken.
	Base timecode.Base
	// Start is the label of the first frame, as time from frame 0 of the
	// label count (see timecode.Base.Frame and Rate.Ticks).
	Start timecode.Ticks
	// Handles is added before and after each item, as far as its recording
	// reaches; rounded up to whole frames. What falls short of it is noted, if
	// somebody Asked for it.
	Handles timecode.Ticks
	Asked   bool
	// Gap is the silence between two items; rounded to whole frames.
	Gap timecode.Ticks
}

// Lay lays selects end to end on a timeline of whole frames.
//
// recs holds the recordings by reel name (compared without case); an item
// whose recording is missing is laid by its own clock. Source ins are moved
// back and source outs forward to the next frame of opt.Base, counted on the
// recording's own timecode, so that no sound of an item is lost, except less
// than a frame where the recording itself starts or ends inside one. Handles
// end where the recording ends. Record places follow each other without a
// hole.
//
// The notes say what a person should know: lost quotes, reels without sound,
// other frame rates, shortened handles. Errors: no items; no frame rate; an
// item that is not in its recording.
func Lay(s story.Selects, recs map[string]story.Recording, opt LayOptions) (story.Cut, []string, error) {
	if len(s.Items) == 0 {
		return story.Cut{}, nil, fmt.Errorf("%w %q: it is empty; add quotes first", ErrLay, s.Name)
	}
	if opt.Handles < 0 || opt.Gap < 0 {
		return story.Cut{}, nil, fmt.Errorf("%w %q: handles %s and gap %s must not be negative", ErrLay, s.Name, opt.Handles, opt.Gap)
	}
	l := layer{opt: opt, recs: foldKeys(recs), said: map[string]bool{}}
	if !l.opt.Base.Rate.Known() {
		base, err := l.commonBase(s)
		if err != nil {
			return story.Cut{}, nil, err
		}
		l.opt.Base = base
	}
	rate := l.opt.Base.Rate
	c := story.Cut{Title: s.Name, Base: l.opt.Base, Start: rate.Snap(opt.Start, timecode.Nearest)}
	var at int64 // frames
	gap := rate.Frame(opt.Gap, timecode.Nearest)
	for i, it := range s.Items {
		e, frames, err := l.event(i+1, it)
		if err != nil {
			return story.Cut{}, nil, fmt.Errorf("%w %q: %w", ErrLay, s.Name, err)
		}
		if i > 0 && gap > 0 {
			c.Events = append(c.Events, story.Event{
				Gap:    true,
				Source: timecode.Span{Out: rate.Ticks(gap)},
				Record: timecode.Span{In: rate.Ticks(at), Out: rate.Ticks(at + gap)},
				Clock:  timecode.Clock{Base: l.opt.Base},
			})
			at += gap
		}
		e.Record = timecode.Span{In: rate.Ticks(at), Out: rate.Ticks(at + frames)}
		at += frames
		c.Events = append(c.Events, e)
	}
	c.Notes = l.notes
	return c, l.notes, nil
}

type layer struct {
	opt   LayOptions
	recs  map[string]story.Recording
	notes []string
	said  map[string]bool
}

// note adds a remark once.
func (l *layer) note(format string, a ...any) {
	n := fmt.Sprintf(format, a...)
	if !l.said[n] {
		l.said[n] = true
		l.notes = append(l.notes, n)
	}
}

// event lays one item; its length in frames comes with it.
func (l *layer) event(pos int, it story.Item) (story.Event, int64, error) {
	rec, clock := l.recording(pos, it)
	rate := l.opt.Base.Rate
	where := fmt.Sprintf("item %d (%s of reel %s)", pos, it.Code, it.Reel)
	if it.Empty() || it.In < 0 {
		return story.Event{}, 0, fmt.Errorf("%s: %w: from %s to %s", where, ErrTrim, it.In, it.Out)
	}
	if rec.Duration > 0 && it.In >= rec.Duration {
		return story.Event{}, 0, fmt.Errorf("%s: %w: it starts at %s, past the recording's end at %s", where, ErrTrim, it.In, rec.Duration)
	}
	lo, hi := wholeFrames(rate, clock.Start, rec.Duration)
	if hi <= lo {
		return story.Event{}, 0, fmt.Errorf("%s: %w: the recording holds no whole frame", where, ErrTrim)
	}
	in, out := frameEdges(rate, clock.Start, rec.Duration, it.Span)
	handle := rate.Frame(l.opt.Handles, timecode.Ceil)
	first, last := max(in-handle, lo), min(out+handle, hi)
	if l.opt.Asked && (in-first < handle || last-out < handle) {
		l.note("%s: handles of %d and %d frames instead of %d: the recording has no more", where, in-first, last-out, handle)
	}
	if rec.Duration > 0 && it.Out > rec.Duration {
		l.note("%s: it ends at %s, the recording at %s; cut there", where, it.Out, rec.Duration)
	}
	from := func(frame int64) timecode.Ticks { return rate.Ticks(frame) - clock.Start }
	return story.Event{
		Reel: it.Reel, Path: rec.Path, Speaker: it.Speaker, Text: it.Text, Code: it.Code, Note: it.Note,
		Source: timecode.Span{In: from(first), Out: from(last)},
		Clock:  clock, Available: rec.Duration, Channels: rec.Channels,
		Lead: rate.Ticks(in) - rate.Ticks(first), Tail: rate.Ticks(last) - rate.Ticks(out),
	}, last - first, nil
}

// wholeFrames are the first and the last whole frame edge inside a recording
// that starts at start on its own label count; without a duration there is no
// last one.
func wholeFrames(rate timecode.Rate, start, duration timecode.Ticks) (lo, hi int64) {
	lo, hi = rate.Frame(start, timecode.Ceil), int64(1)<<62
	if duration > 0 {
		hi = rate.Frame(start+duration, timecode.Floor)
	}
	return lo, hi
}

// frameEdges are the frames that a span of a recording takes in a cut, on the
// recording's own label count: in goes back to a frame, out forward, as far as
// the recording has whole frames.
func frameEdges(rate timecode.Rate, start, duration timecode.Ticks, span timecode.Span) (in, out int64) {
	lo, hi := wholeFrames(rate, start, duration)
	in = min(max(rate.Frame(start+span.In, timecode.Floor), lo), hi-1)
	return in, max(min(rate.Frame(start+span.Out, timecode.Ceil), hi), in+1)
}

// recording finds an item's recording and clock and notes what is wrong with
// them.
func (l *layer) recording(pos int, it story.Item) (story.Recording, timecode.Clock) {
	if it.Lost {
		l.note("item %d (%s of reel %s): its quote is no longer in the bank; laid as it was last", pos, it.Code, it.Reel)
	}
	rec, ok := l.recs[strings.ToLower(it.Reel)]
	clock := rec.Clock
	switch {
	case !ok:
		clock = it.Clock
		l.note("reel %s: recording not in the bank; its end is not checked", it.Reel)
	case rec.Path == "":
		l.note("reel %s: no sound file, only a transcript", it.Reel)
	}
	if !clock.Base.Rate.Known() {
		clock.Base = l.opt.Base
		l.note("reel %s: frame rate not known, taken as %s", it.Reel, l.opt.Base)
	}
	if clock.Base.Rate != l.opt.Base.Rate {
		l.note("reel %s: recorded at %s frames/s, cut at %s; edges lie on frames of %s", it.Reel, clock.Base, l.opt.Base, l.opt.Base.Rate)
	} else if clock.Base.Drop != l.opt.Base.Drop {
		l.note("reel %s: timecode is %s, the cut's %s", it.Reel, dropName(clock.Base), dropName(l.opt.Base))
	}
	return rec, clock
}

func dropName(b timecode.Base) string {
	if b.Drop {
		return "drop-frame"
	}
	return "non-drop-frame"
}

// CommonBase is the time base that most items of selects have, the first of
// equals. recs are the recordings by reel. Error: ErrLay, if no rate is known.
func CommonBase(s story.Selects, recs map[string]story.Recording) (timecode.Base, error) {
	l := layer{recs: foldKeys(recs)}
	return l.commonBase(s)
}

func (l *layer) commonBase(s story.Selects) (timecode.Base, error) {
	count := map[timecode.Base]int{}
	var best timecode.Base
	for _, it := range s.Items {
		clock := it.Clock
		if rec, ok := l.recs[strings.ToLower(it.Reel)]; ok {
			clock = rec.Clock
		}
		if !clock.Base.Rate.Known() {
			continue
		}
		count[clock.Base]++
	}
	for _, it := range s.Items {
		clock := it.Clock
		if rec, ok := l.recs[strings.ToLower(it.Reel)]; ok {
			clock = rec.Clock
		}
		if count[clock.Base] > count[best] {
			best = clock.Base
		}
	}
	if !best.Rate.Known() {
		return best, fmt.Errorf("%w %q: no recording in it has a known frame rate; give one, such as 25 or 29.97df", ErrLay, s.Name)
	}
	return best, nil
}

func foldKeys(recs map[string]story.Recording) map[string]story.Recording {
	folded := make(map[string]story.Recording, len(recs))
	for name, rec := range recs {
		folded[strings.ToLower(name)] = rec
	}
	return folded
}
