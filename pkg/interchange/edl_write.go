package interchange

import (
	"bufio"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"unicode/utf8"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// WriteEDL writes a cut as an edit decision list after SMPTE ST 258 practice
// (the layout follows lists met in practice; see docs/formats-edit.md).
//
// The first FCM line is the timeline's; a further one stands before an event
// whose source counts the other way. Sources of another frame rate than the
// cut's are counted again at the cut's rate, from the same moment of the day,
// which is what a program shows for a sound file with a time reference. A gap
// is an event of reel BL. Nothing in the cut is left out; what an old reader
// may not take is in the report.
//
// Errors wrap ErrCut (no frame rate, an event without length or off the
// timeline's start) or come from w.
func WriteEDL(w io.Writer, c story.Cut, opt EDLOptions) (EDLReport, error) {
	if err := checkCut(c); err != nil {
		return EDLReport{}, err
	}
	buf := bufio.NewWriter(w)
	e := &edlWriter{w: buf, cut: c, opt: opt, said: map[string]bool{}}
	e.report.Reels = edlReels(reelsOf(c))
	e.head()
	for i, ev := range c.Events {
		e.event(i, ev)
	}
	e.report.Events = len(c.Events)
	if n := len(c.Events); n > EDLMaxEvents {
		e.note("%d events: old lists hold %d; numbers go on with four digits ('export edl --split' writes several lists)", n, EDLMaxEvents)
	}
	if err := buf.Flush(); err != nil {
		return e.report, fmt.Errorf("write edit decision list: %w", err)
	}
	return e.report, nil
}

// SplitCut divides a cut into cuts of at most n events each, every one keeping
// its labels on the timeline: for lists that hold no more. n below 1 gives the
// whole cut.
func SplitCut(c story.Cut, n int) []story.Cut {
	if n < 1 || len(c.Events) <= n {
		return []story.Cut{c}
	}
	var parts []story.Cut
	for from, to := 0, 0; from < len(c.Events); from = to {
		to = together(c.Events, from, min(from+n, len(c.Events)))
		part := c
		shift := c.Events[from].Record.In
		for _, ev := range c.Events[from:to] {
			shift = min(shift, ev.Record.In) // a picture may begin later than its sound
		}
		part.Start = c.Start + shift
		part.Title = fmt.Sprintf("%s %d", c.Title, len(parts)+1)
		part.Events = nil
		for _, ev := range c.Events[from:to] {
			ev.Record = ev.Record.Shift(-shift)
			markers := make([]story.CutMarker, len(ev.Markers))
			for i, m := range ev.Markers {
				m.At -= shift
				markers[i] = m
			}
			ev.Markers = markers
			part.Events = append(part.Events, ev)
		}
		parts = append(parts, part)
	}
	return parts
}

// together moves an end back so that sound and picture of one piece stay
// together, unless nothing would be left.
func together(events []story.Event, from, to int) int {
	for at := to; at > from; at-- {
		if at == len(events) || !events[at].Record.Overlaps(events[at-1].Record) {
			return at
		}
	}
	return to
}

// checkCut reports the first thing that no form can hold.
func checkCut(c story.Cut) error {
	if !c.Base.Rate.Known() {
		return fmt.Errorf("%w: %q has no frame rate", ErrCut, c.Title)
	}
	if c.Base.Drop && !hasDrop(c.Base.Rate) {
		return fmt.Errorf("%w: %q is drop-frame at %s frames/s; only 29.97 and 59.94 have drop-frame", ErrCut, c.Title, c.Base.Rate)
	}
	for i, e := range c.Events {
		if e.Record.Empty() || e.Record.In < 0 {
			return fmt.Errorf("%w: event %d of %q (reel %s) lies from %s to %s on the timeline", ErrCut, i+1, c.Title, e.Reel, e.Record.In, e.Record.Out)
		}
		if e.Source.Out < e.Source.In {
			return fmt.Errorf("%w: event %d of %q (reel %s): source out %s before its in %s", ErrCut, i+1, c.Title, e.Reel, e.Source.Out, e.Source.In)
		}
	}
	return nil
}

func reelsOf(c story.Cut) []string {
	var reels []string
	seen := map[string]bool{}
	add := func(r string) {
		if r != "" && !seen[r] {
			seen[r] = true
			reels = append(reels, r)
		}
	}
	for _, e := range c.Events {
		if !e.Gap {
			add(e.Reel)
		}
		if e.Transition.FromReel != blackReel {
			add(e.Transition.FromReel)
		}
	}
	return reels
}

type edlWriter struct {
	w      *bufio.Writer
	cut    story.Cut
	opt    EDLOptions
	drop   bool // how source timecodes count now
	told   bool // the comments on the whole list are written
	report EDLReport
	said   map[string]bool
}

func (e *edlWriter) note(format string, a ...any) {
	n := fmt.Sprintf(format, a...)
	if !e.said[n] {
		e.said[n] = true
		e.report.Notes = append(e.report.Notes, n)
	}
}

// line writes one line; bufio keeps the first error for Flush.
func (e *edlWriter) line(format string, a ...any) {
	s := strings.TrimRight(fmt.Sprintf(format, a...), " ")
	if e.opt.ASCII {
		s = asciiFold(s)
	}
	_, _ = e.w.WriteString(s + "\n")
}

func (e *edlWriter) head() {
	e.line("TITLE: %s", flat(e.cut.Title))
	e.drop = e.cut.Base.Drop
	e.line("%s", fcm(e.drop))
}

// about writes the comments on the whole list. They stand after the first
// event's line, since there are readers that take nothing but TITLE and FCM
// before it (the OpenTimelineIO edit-list adapter; seen in its source).
func (e *edlWriter) about() {
	if e.told {
		return
	}
	e.told = true
	e.comment(keyRate, e.cut.Base.String())
	for _, r := range reelsOf(e.cut) {
		if short := e.report.Reels[r]; short != r {
			e.line("* REEL %s IS %s", short, flat(r))
			e.note("reel %s is called %s in the list", r, short)
		}
	}
	for _, n := range e.cut.Notes {
		e.comment(keyListNote, flat(n))
	}
}

// sourceBase is how a recording's labels are counted in the list.
func (e *edlWriter) sourceBase(ev story.Event) timecode.Base {
	b := ev.Clock.Base
	if b.Rate == e.cut.Base.Rate {
		b.Drop = b.Drop && hasDrop(b.Rate)
		return b
	}
	if b.Rate.Known() && !ev.Gap {
		e.note("reel %s: recorded at %s frames/s; its timecodes are counted at %s from the same time of day", ev.Reel, b, e.cut.Base)
	}
	return e.cut.Base
}

func (e *edlWriter) event(i int, ev story.Event) {
	src := e.sourceBase(ev)
	if ev.Gap {
		src = timecode.Base{Rate: e.cut.Base.Rate, Drop: e.drop}
	}
	if src.Drop != e.drop {
		e.drop = src.Drop
		e.line("%s", fcm(e.drop))
	}
	rate := e.cut.Base.Rate
	recIn := frameAt(rate, e.cut.Start+ev.Record.In, timecode.Nearest)
	recOut := frameAt(rate, e.cut.Start+ev.Record.Out, timecode.Nearest)
	srcIn := frameAt(rate, ev.Clock.Start+ev.Source.In, timecode.Floor)
	srcOut := frameAt(rate, ev.Clock.Start+ev.Source.Out, timecode.Ceil)
	if ev.Gap {
		srcIn, srcOut = 0, recOut-recIn
	}
	if d := ev.Source.Length() - ev.Record.Length(); d > -rate.Ticks(1) && d < rate.Ticks(1) && ev.Speed == nil {
		srcOut = srcIn + recOut - recIn
	} else if ev.Speed == nil && !ev.Gap {
		e.note("event %d (reel %s): source and record are not equally long", i+1, ev.Reel)
	}
	reel := e.reel(ev.Reel, ev.Gap)
	track := e.track(ev)
	how := "C"
	if t := ev.Transition; t.Kind != "" {
		e.from(i, ev, src, track, recIn)
		how = transitionColumn(t, rate)
	}
	e.line("%03d  %-8s %-5s %-8s %s %s %s %s", i+1, reel, track, how,
		src.Label(srcIn), src.Label(srcOut), e.cut.Base.Label(recIn), e.cut.Base.Label(recOut))
	e.about()
	if ev.Channels > 2 && ev.Track == "" || ev.Channels > 2 && strings.HasPrefix(ev.Track, "AA") {
		e.aud(ev)
	}
	if s := ev.Speed; s != nil {
		e.line("M2   %-8s       %-5s                %s", reel, flat(s.Rate), src.Label(frameAt(rate, ev.Clock.Start+s.At, timecode.Floor)))
	}
	e.comments(ev)
}

// from writes the event of no length that a blend starts from.
func (e *edlWriter) from(i int, ev story.Event, src timecode.Base, track string, recIn int64) {
	t := ev.Transition
	reel, at := blackReel, int64(0)
	switch {
	case t.FromReel != "" && t.FromReel != blackReel:
		reel = e.reel(t.FromReel, false)
		at = frameAt(e.cut.Base.Rate, t.From, timecode.Floor)
	case t.FromReel == "" && i > 0 && !e.cut.Events[i-1].Gap:
		before := e.cut.Events[i-1]
		reel = e.reel(before.Reel, false)
		at = frameAt(e.cut.Base.Rate, before.Clock.Start+before.Source.Out, timecode.Floor)
	}
	rec := e.cut.Base.Label(recIn)
	e.line("%03d  %-8s %-5s %-8s %s %s %s %s", i+1, reel, track, "C", src.Label(at), src.Label(at), rec, rec)
	e.about()
}

func transitionColumn(t story.Transition, rate timecode.Rate) string {
	frames := frameAt(rate, t.Length, timecode.Nearest)
	switch t.Kind {
	case "wipe":
		code := t.Code
		if code == "" {
			code = "001"
		}
		return fmt.Sprintf("W%s %03d", code, frames)
	case "key":
		return fmt.Sprintf("K%-3s %03d", t.Code, frames)
	}
	return fmt.Sprintf("D    %03d", frames)
}

func (e *edlWriter) reel(name string, gap bool) string {
	switch {
	case gap:
		return blackReel
	case name == "":
		e.note("an event names no reel; it is called %s", auxReel)
		return auxReel
	}
	return e.report.Reels[name]
}

// track is the channel column: the event's own, else by its channels.
func (e *edlWriter) track(ev story.Event) string {
	if t := strings.ToUpper(strings.Join(strings.Fields(ev.Track), "")); t != "" {
		return t
	}
	mono := ev.Channels == 1
	switch {
	case e.opt.Video && mono:
		return "B"
	case e.opt.Video:
		return "AA/V"
	case mono:
		return "A"
	}
	return "AA"
}

// aud writes the line for the third and fourth channel (common practice, no
// source).
func (e *edlWriter) aud(ev story.Event) {
	if ev.Channels == 3 {
		e.line("AUD   3")
		return
	}
	e.line("AUD   3    4")
	if ev.Channels > 4 {
		e.note("reel %s has %d channels; a list holds 4", ev.Reel, ev.Channels)
	}
}

// wrapWidth keeps comment lines within 80 columns.
const wrapWidth = 80

func (e *edlWriter) comments(ev story.Event) {
	name := func(clip, reel string) string {
		if clip == "" {
			return flat(reel)
		}
		return flat(clip)
	}
	if t := ev.Transition; t.Kind != "" {
		e.comment(keyFromClip, name(t.FromClip, t.FromReel))
		e.comment(keyToClip, name(ev.Clip, ev.Reel))
	} else {
		e.comment(keyFromClip, name(ev.Clip, ev.Reel))
	}
	path := ev.Path
	if !e.opt.FullPaths && path != "" {
		path = filepath.Base(path)
	}
	e.comment(keySource, flat(path))
	rate := e.cut.Base.Rate
	label := func(at timecode.Ticks) string {
		return e.cut.Base.Label(frameAt(rate, e.cut.Start+at, timecode.Floor))
	}
	if m := quoteMarker(ev); m != "" {
		e.comment(keyLoc, fmt.Sprintf("%s %-7s %s", label(ev.Record.In+ev.Lead), markerColour, m))
	}
	for _, m := range ev.Markers {
		e.comment(keyLoc, fmt.Sprintf("%s %-7s %s", label(m.At), m.Colour, flat(m.Text)))
	}
	e.comment(keyCode, string(ev.Code))
	e.comment(keySpeaker, flat(ev.Speaker))
	e.wrapped(keyText, ev.Text)
	e.wrapped(keyNote, ev.Note)
	for _, t := range ev.Themes {
		e.comment(keyTheme, flat(t))
	}
	if ev.Lead > 0 || ev.Tail > 0 {
		e.comment(keyHandles, fmt.Sprintf("%d %d", frameAt(rate, ev.Lead, timecode.Nearest), frameAt(rate, ev.Tail, timecode.Nearest)))
	}
	for _, c := range ev.Comments {
		e.line("* %s", flat(c))
	}
}

func (e *edlWriter) comment(key, text string) {
	if text != "" {
		e.line("* %s: %s", key, text)
	}
}

// wrapped writes a text as several comments of one key, broken between words.
func (e *edlWriter) wrapped(key, text string) {
	width := wrapWidth - len(key) - len("* : ")
	var line string
	for _, word := range strings.Fields(flat(text)) {
		if line != "" && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > width {
			e.comment(key, line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	e.comment(key, line)
}
