package timedtext

import (
	"errors"
	"strings"

	"rushlight/pkg/timecode"
)

// timing resolves begin, dur and end against the parent: TTML2 section 12. A
// time that isn't understood costs no words: a paragraph is kept behind the one
// before, or until the next; anything else is as if it didn't say it.
func (t *ttmlReader) timing(e, parent *ttmlElement) {
	var v [3]timecode.Ticks
	var has [3]bool
	endless := false
	for i, name := range [...]string{"begin", "dur", "end"} {
		s := e.attr("", name)
		if s == "" {
			continue
		}
		at, ok := t.when(s)
		if ok {
			v[i], has[i] = at, true
			continue
		}
		kept := "left out"
		switch {
		case e.name != "p":
		case i == 0:
			kept = "the paragraph is kept behind the one before"
			e.lost = t.fail(t.lineNo(), "correct the times of the paragraphs", "begin: time not understood: got %s, want for example 00:00:01.500, 00:00:01:12 or 1.5s", quoteShort(s))
		default:
			kept, endless = "the paragraph is kept until the next", true
		}
		t.repair(t.lineNo(), "%s not understood: got %s: %s", name, quoteShort(s), kept)
	}
	begin, dur, end, hasDur, hasEnd := v[0], v[1], v[2], has[1], has[2]
	if t.clock.smpte && hasEnd && begin-end > 12*timecode.Hour {
		end += t.day() // past midnight
	}
	var from timecode.Ticks
	limit := NoTime
	if parent != nil {
		from, limit = parent.span.In, parent.span.Out
		if parent.seq && e.name != "set" {
			from = max(from, parent.cursor)
		}
	}
	if e.lost != nil {
		begin = max(t.behind()-from, 0)
	}
	if endless {
		limit = NoTime
	}
	e.span = timecode.Span{In: from + begin, Out: limit}
	if hasEnd {
		e.span.Out = earlier(e.span.Out, from+end)
	}
	if hasDur {
		e.span.Out = earlier(e.span.Out, e.span.In+dur)
	}
	e.cursor, e.bounded = e.span.In, hasEnd || hasDur
	// Within a seq container a child without an end lasts no time: TTML2
	// 12.2.4.
	if parent != nil && parent.seq && !hasEnd && !hasDur && (e.name == "span" || e.name == "p") && !e.seq {
		e.span.Out = e.span.In
	}
}

// when reads a time expression, also with a decimal comma and without hours. A
// frame that the rate lacks is taken for the last of its second.
func (t *ttmlReader) when(s string) (timecode.Ticks, bool) {
	at, err := t.clock.time(s)
	var beyond *frameBeyond
	if errors.As(err, &beyond) {
		if t.beyond++; t.beyond == 1 {
			t.beyondAt = t.lineNo()
		}
		at, err = t.clock.time(beyond.last)
	}
	if err == nil {
		return at, true
	}
	mended := strings.Replace(strings.TrimSpace(s), ",", ".", 1)
	if strings.Count(mended, ":") == 1 {
		mended = "00:" + mended
	}
	if at, err = t.clock.time(mended); err != nil {
		return 0, false
	}
	t.repairOnce(t.lineNo(), "times with decimal commas or without hours: read as hours, minutes, seconds")
	return at, true
}

// show narrows when an element is shown: to the parent's time on the screen and
// to the region's.
func (t *ttmlReader) show(e, parent *ttmlElement) {
	e.shown = e.span
	if parent != nil && parent.tt && parent.name != "tt" {
		e.shown = overlap(e.shown, parent.shown)
	}
	if area, ok := t.areas[e.region]; ok {
		e.shown = overlap(e.shown, area)
	}
}

// overlap is what two spans share, where NoTime is an open end.
func overlap(a, b timecode.Span) timecode.Span {
	s := timecode.Span{In: max(a.In, b.In), Out: earlier(a.Out, b.Out)}
	if s.Out != NoTime && s.Out < s.In {
		s.Out = s.In
	}
	return s
}

// set reads the one animation that matters for text: an element that is not
// displayed until a set element says so.
func (t *ttmlReader) set(e, parent *ttmlElement, own ttmlStyle) {
	if parent == nil || parent.style.display != "none" || own.display == "" || own.display == "none" {
		return
	}
	t.timing(e, parent)
	parent.shown = overlap(parent.shown, e.span)
	parent.style.display = own.display
}

// earlier is the earlier of two ends, of which NoTime is the latest.
func earlier(a, b timecode.Ticks) timecode.Ticks {
	if a == NoTime || b != NoTime && b < a {
		return b
	}
	return a
}
