package interchange

import (
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// comment takes a comment of the list: one on the whole list from anywhere,
// any other one before the first event is about the list, then about the
// newest event.
func (p *edlParser) comment(line string) error {
	text, key, value := splitComment(line)
	switch {
	case text == "":
		return nil
	case key == keyRate:
		return p.rate(value)
	case p.reelName(text):
		return nil
	case key == keyListNote:
		p.cut.Notes = append(p.cut.Notes, value)
		return nil
	case p.from != nil || p.held != nil:
		p.pending = append(p.pending, line)
		return nil
	}
	e := p.newest()
	if e == nil {
		p.cut.Notes = append(p.cut.Notes, text)
	} else if !p.known(e, key, value) {
		e.Comments = append(e.Comments, text)
	}
	return nil
}

// flush gives the comments that waited for an event to the newest one.
func (p *edlParser) flush() error {
	waiting := p.pending
	p.pending = nil
	for _, line := range waiting {
		if err := p.comment(line); err != nil {
			return err
		}
	}
	return nil
}

// reelName takes "REEL short IS full".
func (p *edlParser) reelName(text string) bool {
	rest, ok := strings.CutPrefix(text, "REEL ")
	if !ok {
		return false
	}
	short, full, ok := strings.Cut(rest, " IS ")
	if !ok || short == "" || short != shorten(short) {
		return false
	}
	p.reels[short] = full
	return true
}

// rate takes the frame rate that the list itself tells.
// An event that waited for it can then be read.
func (p *edlParser) rate(value string) error {
	if p.rateSeen {
		return nil
	}
	p.rateSeen = true
	b, err := timecode.ParseBase(value)
	if err != nil {
		p.note("frame rate %q not understood", value)
		return nil
	}
	switch {
	case !p.base.Rate.Known():
		p.cut.Base.Rate = b.Rate
		if !p.fcmSeen {
			p.cut.Base.Drop, p.srcDrop = b.Drop, b.Drop
		}
	case p.base.Rate != b.Rate:
		p.note("the list says %s frames/s; read at %s as told", b, p.base)
	}
	if p.held != nil {
		first := *p.held
		p.held = nil
		return p.event(first)
	}
	return nil
}

// known takes the comments that have a place of their own in an event; false
// for all others and for a second one of a kind.
func (p *edlParser) known(e *story.Event, key, value string) bool {
	set := func(field *string) bool {
		if *field != "" {
			return value == ""
		}
		*field = value
		return true
	}
	add := func(field *string) bool {
		*field = strings.TrimSpace(*field + " " + value)
		return true
	}
	blend := e.Transition.Kind != ""
	switch key {
	case keyFromClip:
		if blend {
			return p.fromClip(e, value)
		}
		return p.clip(e, value)
	case keyToClip:
		return blend && p.clip(e, value)
	case keySource:
		return set(&e.Path)
	case keySpeaker:
		return set(&e.Speaker)
	case keyText:
		return add(&e.Text)
	case keyNote:
		return add(&e.Note)
	case keyTheme:
		e.Themes = append(e.Themes, value)
		return true
	case keyCode:
		c, err := story.ParseCode(value)
		if err != nil || e.Code != "" {
			return false
		}
		e.Code = c
		return true
	case keyHandles:
		return p.handles(e, value)
	case keyLoc:
		return p.marker(e, value)
	}
	return false
}

func (p *edlParser) clip(e *story.Event, value string) bool {
	if value == "" || value == flat(e.Reel) {
		return true
	}
	if e.Clip != "" {
		return false
	}
	e.Clip = value
	return true
}

func (p *edlParser) fromClip(e *story.Event, value string) bool {
	t := &e.Transition
	if value == "" || value == flat(t.FromReel) {
		return true
	}
	if t.FromClip != "" {
		return false
	}
	t.FromClip = value
	return true
}

// handles reads the frames before and after the saying.
func (p *edlParser) handles(e *story.Event, value string) bool {
	var lead, tail int64
	if n, err := fmt.Sscanf(value, "%d %d", &lead, &tail); n != 2 || err != nil || lead < 0 || tail < 0 {
		return false
	}
	rate := p.cut.Base.Rate
	if whole := rate.Frame(e.Source.Length(), timecode.Nearest); lead > whole || tail > whole-lead {
		p.note("handles of %d and %d frames do not fit into the event; left out", lead, tail)
		return false
	}
	e.Lead, e.Tail = rate.Ticks(lead), rate.Ticks(tail)
	return true
}

// marker reads "timecode colour text" on the timeline; At is unwrapped like
// the event's own place until finish.
func (p *edlParser) marker(e *story.Event, value string) bool {
	f := strings.Fields(value)
	if len(f) == 0 || !timecodeColumn.MatchString(f[0]) {
		return false
	}
	n, err := p.counting(p.cut.Base.Drop, f[0]).Frame(f[0])
	if err != nil {
		p.note("marker %q: %v", f[0], err)
		return false
	}
	rate, day := p.cut.Base.Rate, p.cut.Base.FramesPerDay()
	at := rate.Frame(e.Record.In, timecode.Nearest)
	step := wrap(n-at, day)
	if step > day/2 {
		step -= day
	}
	m := story.CutMarker{At: rate.Ticks(at + step)}
	if len(f) > 1 && slices.Contains(markerColours, f[1]) {
		m.Colour = f[1]
		m.Text = strings.Join(f[2:], " ")
	} else {
		m.Text = strings.Join(f[1:], " ")
	}
	e.Markers = append(e.Markers, m)
	return true
}

// markerColours are the colour names of markers, as OpenTimelineIO lists them
// (seen in its source).
var markerColours = []string{
	"PINK", "RED", "ORANGE", "YELLOW", "GREEN", "CYAN", "BLUE", "MAGENTA", "PURPLE", "BLACK", "WHITE",
}

// dropQuoteMarker takes off the marker that WriteEDL adds for a quote.
func (p *edlParser) dropQuoteMarker(e *story.Event) {
	text := quoteMarker(*e)
	for i, m := range e.Markers {
		if text == "" || m.Text != text || m.Colour != markerColour {
			continue
		}
		// Somebody may have moved the event's edges: the marker stays with
		// the words.
		if lead := m.At - e.Record.In; lead >= 0 && lead < e.Record.Length()-e.Tail {
			e.Lead = lead
		}
		e.Markers = slices.Delete(e.Markers, i, i+1)
		break
	}
	if len(e.Markers) == 0 {
		e.Markers = nil
	}
}
