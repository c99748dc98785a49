package interchange

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// ReadEDL reads an edit decision list as met in practice: any line ending,
// comments with or without star and space, event numbers of any width, any
// order of the comments of an event. name stands in messages.
//
// A list does not hold its frame rate: base gives it. If base is not known,
// the FRAME RATE comment that this package writes is used. Whether labels
// drop is told by FCM and by the semicolon.
//
// A list does not hold where a recording starts: Clock.Start is 0 and Source
// counts from frame 0 of the label count. Record counts from the earliest
// event, whose label is Start. Labels that pass midnight go on counting; two
// events more than twelve hours apart on the timeline are not told from a
// step back. An event of reel BL is a gap; holes between events are left as
// they are. A zero-length cut before a blend becomes the blend's From.
//
// The notes tell, with file and line, what was odd and what was done about
// it. Errors wrap ErrFormat.
func ReadEDL(r io.Reader, name string, base timecode.Base) (story.Cut, []string, error) {
	p := &edlParser{lines: newLineReader(r, name), base: base, reels: map[string]string{}}
	p.cut.Base = base
	p.srcDrop = base.Drop
	for {
		line, err := p.lines.next()
		if errors.Is(err, io.EOF) {
			break
		}
		if err == nil {
			err = p.line(line)
		}
		if err != nil {
			return story.Cut{}, p.notes, err
		}
	}
	if p.held != nil {
		return story.Cut{}, p.notes, p.lines.errorf("%w", ErrNoRate)
	}
	if p.from != nil {
		p.note("a cut of no length without a blend after it; left out")
		p.from = nil
		if err := p.flush(); err != nil {
			return story.Cut{}, p.notes, err
		}
	}
	if len(p.cut.Events) == 0 {
		return story.Cut{}, p.notes, fmt.Errorf("%s: %w: no events in it; is this an edit decision list?", name, ErrFormat)
	}
	p.sayOdd()
	if p.lines.legacy {
		p.notes = append(p.notes, name+": not UTF-8; read as Windows-1252")
	}
	p.finish()
	return p.cut, p.notes, nil
}

type edlParser struct {
	lines   *lineReader
	base    timecode.Base
	cut     story.Cut
	notes   []string
	reels   map[string]string // name in the list → reel
	fcmSeen bool
	// rateSeen tells that a FRAME RATE comment came.
	rateSeen bool
	srcDrop  bool
	held     *edlLine // the first event, while the frame rate is not known
	from     *edlLine // a cut of no length that waits for its blend
	events   int
	odd      string   // a note about the newest event that M2 would explain
	pending  []string // comments between the two lines of a blend
	// at is the newest event's record in on the unwrapped count.
	at     int64
	placed bool
}

func (p *edlParser) note(format string, a ...any) {
	p.notes = append(p.notes, fmt.Sprintf("%s:%d: ", p.lines.name, p.lines.number)+fmt.Sprintf(format, a...))
}

func (p *edlParser) line(line string) error {
	fields := strings.Fields(line)
	switch {
	case len(fields) == 0:
		return nil
	case strings.HasPrefix(fields[0], "*"):
		return p.comment(line)
	case isEvent(fields):
		e, err := parseEvent(fields)
		if err != nil {
			return p.lines.errorf("%w", err)
		}
		return p.event(e)
	}
	upper := strings.ToUpper(strings.TrimSpace(line))
	switch {
	case strings.HasPrefix(upper, "TITLE:"):
		p.cut.Title = strings.TrimSpace(strings.TrimSpace(line)[len("TITLE:"):])
	case strings.HasPrefix(upper, "FCM:"):
		p.fcm(strings.TrimSpace(upper[len("FCM:"):]))
	case fields[0] == "M2" && p.newest() != nil:
		return p.speed(fields)
	case fields[0] == "AUD" && p.newest() != nil:
		p.aud(fields[1:])
	default:
		return p.comment(line)
	}
	return nil
}

// fcm takes a frame code mode: the first one before any event is the
// timeline's and the sources', a later one the sources' alone.
func (p *edlParser) fcm(mode string) {
	drop := !strings.HasPrefix(mode, "NON")
	if drop && !strings.HasPrefix(mode, "DROP") {
		p.note("FCM %q not known; left as it was", mode)
		return
	}
	p.srcDrop = drop
	if !p.fcmSeen && p.events == 0 {
		p.cut.Base.Drop = drop
	}
	p.fcmSeen = true
}

// counting is a base for reading labels, with drop only where it exists.
func (p *edlParser) counting(drop bool, label string) timecode.Base {
	b := timecode.Base{Rate: p.cut.Base.Rate, Drop: drop || strings.Contains(label, ";")}
	b.Drop = b.Drop && hasDrop(b.Rate)
	return b
}

// frame reads a label. One that drop-frame skips is taken as the next one.
func (p *edlParser) frame(b timecode.Base, label string) (int64, error) {
	n, err := b.Frame(label)
	if err == nil {
		return n, nil
	}
	if b.Drop {
		// The label counts as in non-drop; dropped ones are at most 4 on.
		nominal := timecode.Base{Rate: b.Rate}
		if at, plain := nominal.Frame(label); plain == nil {
			for step := int64(1); step <= 4; step++ {
				if n, err2 := b.Frame(nominal.Label(at + step)); err2 == nil {
					p.note("%s does not exist in drop-frame; taken as the next frame", label)
					return n, nil
				}
			}
		}
	}
	return 0, p.lines.errorf("%w; is the list at %s frames/s?", err, p.cut.Base.Rate)
}

func (p *edlParser) event(l edlLine) error {
	if !p.cut.Base.Rate.Known() {
		if p.held == nil {
			p.held = &l
			return nil
		}
		return p.lines.errorf("%w", ErrNoRate)
	}
	if p.events == 0 {
		p.settleDrop(l)
	}
	src := p.counting(p.srcDrop, l.times[0])
	rec := p.counting(p.cut.Base.Drop, l.times[2])
	var f [4]int64
	for i, label := range l.times {
		b := src
		if i >= 2 {
			b = rec
		}
		var err error
		if f[i], err = p.frame(b, label); err != nil {
			return err
		}
	}
	p.sayOdd()
	p.events++
	if l.kind == "C" && f[2] == f[3] {
		if p.from != nil {
			p.note("a cut of no length without a blend after it; left out")
		}
		p.from = &l
		return nil
	}
	if f[2] == f[3] {
		p.note("an event of no length; left out")
		p.from = nil
		return p.flush()
	}
	e := story.Event{Number: l.number, Clock: timecode.Clock{Base: src}, Track: l.track}
	e.Reel, e.Gap = p.reel(l.reel)
	switch l.track {
	case "A", "B", "A2":
		e.Channels = 1
	case "AA", "AA/V":
		e.Channels = 2
	}
	if e.Gap {
		e.Clock.Base = p.cut.Base
	}
	p.place(&e, f, src, rec)
	if err := p.blend(&e, l); err != nil {
		return err
	}
	p.cut.Events = append(p.cut.Events, e)
	return p.flush()
}

// settleDrop fixes how the timeline counts when its first event comes.
func (p *edlParser) settleDrop(l edlLine) {
	drops := hasDrop(p.cut.Base.Rate)
	switch {
	case p.cut.Base.Drop && !drops:
		p.note("drop-frame at %s frames/s does not exist; read without", p.cut.Base.Rate)
		p.cut.Base.Drop, p.srcDrop = false, false
	case drops && !p.cut.Base.Drop && strings.Contains(l.times[2], ";"):
		p.note("record timecodes have semicolons; read as drop-frame")
		p.cut.Base.Drop = true
	}
}

// place sets Source and Record; record counts from the first event until
// finish.
func (p *edlParser) place(e *story.Event, f [4]int64, src, rec timecode.Base) {
	rate := p.cut.Base.Rate
	day := rec.FramesPerDay()
	if !p.placed {
		p.placed, p.at = true, f[2]
	} else {
		step := wrap(f[2]-p.at, day)
		if step > day/2 {
			step -= day
		}
		p.at += step
	}
	length := wrap(f[3]-f[2], day)
	srcLength := wrap(f[1]-f[0], src.FramesPerDay())
	if srcLength > src.FramesPerDay()/2 {
		p.note("source out is before source in; taken as long as on the timeline")
		srcLength = length
	}
	if e.Gap {
		f[0], srcLength = 0, length
	}
	if srcLength != length {
		p.odd = fmt.Sprintf("%s:%d: source is %d frames long, record %d", p.lines.name, p.lines.number, srcLength, length)
	}
	e.Source = timecode.Span{In: rate.Ticks(f[0]), Out: rate.Ticks(f[0] + srcLength)}
	e.Record = timecode.Span{In: rate.Ticks(p.at), Out: rate.Ticks(p.at + length)}
}

// sayOdd notes that source and record differ where no M2 line came.
func (p *edlParser) sayOdd() {
	if p.odd != "" {
		p.notes = append(p.notes, p.odd)
	}
	p.odd = ""
}

func wrap(n, day int64) int64 {
	return (n%day + day) % day
}

// blend sets the transition of an event and what it comes from.
func (p *edlParser) blend(e *story.Event, l edlLine) error {
	from := p.from
	p.from = nil
	if l.kind == "C" {
		if from != nil {
			p.note("a cut of no length before a plain cut; left out")
		}
		return nil
	}
	t := story.Transition{Code: l.code, Length: p.cut.Base.Rate.Ticks(l.frames)}
	t.Kind = map[string]string{"D": "dissolve", "W": "wipe", "K": "key"}[l.kind]
	if from != nil {
		n, err := p.frame(p.counting(p.srcDrop, from.times[0]), from.times[0])
		if err != nil {
			return err
		}
		t.From = p.cut.Base.Rate.Ticks(n)
		var gap bool
		if t.FromReel, gap = p.reel(from.reel); gap {
			t.FromReel, t.From = blackReel, 0
		}
	}
	if t.Length > e.Record.Length() {
		p.note("the blend is longer than its event")
	}
	e.Transition = t
	return nil
}

// reel is a reel of the list, and whether it is none.
func (p *edlParser) reel(name string) (string, bool) {
	if strings.EqualFold(name, blackReel) || strings.EqualFold(name, blackWord) {
		return "", true
	}
	return name, false
}

func (p *edlParser) newest() *story.Event {
	if len(p.cut.Events) == 0 {
		return nil
	}
	return &p.cut.Events[len(p.cut.Events)-1]
}

// speed reads an M2 line: reel, frames per second, source place.
func (p *edlParser) speed(f []string) error {
	e := p.newest()
	if e == nil || len(f) < 4 {
		p.note("M2 line not understood; left out")
		return nil
	}
	n, err := p.frame(p.counting(p.srcDrop, f[len(f)-1]), f[len(f)-1])
	if err != nil {
		return err
	}
	p.odd = ""
	e.Speed = &story.Speed{Rate: f[len(f)-2], At: p.cut.Base.Rate.Ticks(n)}
	return nil
}

func (p *edlParser) aud(channels []string) {
	e := p.newest()
	if e == nil {
		return
	}
	for _, c := range channels {
		switch c {
		case "3":
			e.Channels = max(e.Channels, 3)
		case "4":
			e.Channels = 4
		}
	}
}

// fullReels gives an event the full names of its reels, which the list may
// tell anywhere; a clip of the same name goes without saying.
func (p *edlParser) fullReels(e *story.Event) {
	if full, ok := p.reels[e.Reel]; ok {
		e.Reel = full
	}
	if e.Clip == flat(e.Reel) {
		e.Clip = ""
	}
	t := &e.Transition
	if full, ok := p.reels[t.FromReel]; ok {
		t.FromReel = full
	}
	if t.FromClip == flat(t.FromReel) {
		t.FromClip = ""
	}
}

// finish makes record places count from the earliest event.
func (p *edlParser) finish() {
	start := p.cut.Events[0].Record.In
	for _, e := range p.cut.Events {
		start = min(start, e.Record.In)
	}
	rate := p.cut.Base.Rate
	for i := range p.cut.Events {
		e := &p.cut.Events[i]
		e.Record = e.Record.Shift(-start)
		for j := range e.Markers {
			e.Markers[j].At -= start
		}
		p.fullReels(e)
		p.dropQuoteMarker(e)
	}
	p.cut.Start = rate.Ticks(wrap(rate.Frame(start, timecode.Nearest), p.cut.Base.FramesPerDay()))
}
