package timedtext

import "rushlight/pkg/timecode"

// timing resolves begin, dur and end against the parent: TTML2 section 12.
func (t *ttmlReader) timing(e, parent *ttmlElement) error {
	read := func(name string) (timecode.Ticks, bool, error) {
		s := e.attr("", name)
		if s == "" {
			return 0, false, nil
		}
		v, err := t.clock.time(s)
		if err != nil {
			return 0, false, t.fail(t.lineNo(), "correct the "+name+" of the element", "%s: %v", name, err)
		}
		return v, true, nil
	}
	begin, _, err := read("begin")
	if err != nil {
		return err
	}
	dur, hasDur, err := read("dur")
	if err != nil {
		return err
	}
	end, hasEnd, err := read("end")
	if err != nil {
		return err
	}
	var from timecode.Ticks
	limit := NoTime
	if parent != nil {
		from, limit = parent.span.In, parent.span.Out
		if parent.seq && e.name != "set" {
			from = max(from, parent.cursor)
		}
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
	return nil
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
func (t *ttmlReader) set(e, parent *ttmlElement, own ttmlStyle) error {
	if parent == nil || parent.style.display != "none" || own.display == "" || own.display == "none" {
		return nil
	}
	if err := t.timing(e, parent); err != nil {
		return err
	}
	parent.shown = overlap(parent.shown, e.span)
	parent.style.display = own.display
	return nil
}

// earlier is the earlier of two ends, of which NoTime is the latest.
func earlier(a, b timecode.Ticks) timecode.Ticks {
	if a == NoTime || b != NoTime && b < a {
		return b
	}
	return a
}
