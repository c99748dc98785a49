package timedtext

import (
	"strings"

	"rushlight/pkg/timecode"
)

// timing resolves begin, dur and end against the parent: TTML2 section 12. A
// paragraph keeps its words where a time of it is a slip: behind the one
// before, or until the next.
func (t *ttmlReader) timing(e, parent *ttmlElement) error {
	var v [3]timecode.Ticks
	var has, slip [3]bool
	for i, name := range [...]string{"begin", "dur", "end"} {
		s := e.attr("", name)
		if s == "" {
			continue
		}
		at, err := t.clock.time(s)
		if err == nil {
			v[i], has[i] = at, true
			continue
		}
		err = t.fail(t.lineNo(), "correct the "+name+" of the element", "%s: %v", name, err)
		if e.name != "p" || framesOfTTML(s) {
			return err
		}
		slip[i] = true
		if t.slips++; t.slips == 1 {
			t.firstSlip = err
		}
		t.repair(t.lineNo(), "%s not understood: got %s: the paragraph is kept %s", name, quoteShort(s),
			[...]string{"behind the one before", "until the next", "until the next"}[i])
	}
	begin, dur, end, hasDur, hasEnd := v[0], v[1], v[2], has[1], has[2]
	var from timecode.Ticks
	limit := NoTime
	if parent != nil {
		from, limit = parent.span.In, parent.span.Out
		if parent.seq && e.name != "set" {
			from = max(from, parent.cursor)
		}
	}
	if n := len(t.doc.Cues); slip[0] && n > 0 {
		last := t.doc.Cues[n-1]
		if begin = last.Out - from; last.OpenEnd {
			begin = last.In - from
		}
		begin = max(begin, 0)
	}
	if slip[1] || slip[2] {
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
	return nil
}

// framesOfTTML tells whether a time counts frames: one that isn't understood is
// then of another rate, as are all others of the file.
func framesOfTTML(s string) bool {
	s = strings.TrimSpace(s)
	return strings.Count(s, ":") == 3 || strings.HasSuffix(s, "f")
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
