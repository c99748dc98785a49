package interchange

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// ReadOTIO reads an OpenTimelineIO document of any of the schema versions met
// in its samples. name stands in messages.
//
// Each Track becomes a lane: V, V2 … for Video, A, A2 … for Audio, "" where
// there is but one and it is sound, or the lane that WriteOTIO noted. The
// time base is taken from our metadata, else from the first rate found;
// OpenTimelineIO itself does not tell drop-frame. An event's Number is its
// place in its track. A clip's Clock starts where its medium's available_range
// does, at 0 where that is not given. A transition becomes a blend at the start
// of the event after it, of the whole length, with the cut moved to its start.
// Nested compositions become gaps, with a note, and so do clips that are
// switched off; tracks that are switched off are left out.
//
// Errors wrap ErrFormat.
func ReadOTIO(r io.Reader, name string) (story.Cut, []string, error) {
	root, err := decodeOTIO(r, name)
	if err != nil {
		return story.Cut{}, nil, err
	}
	p := &otioParser{name: name}
	if root, err = p.timeline(root); err != nil {
		return story.Cut{}, p.notes, err
	}
	if err := p.head(root); err != nil {
		return story.Cut{}, p.notes, err
	}
	if err := p.tracks(root.Tracks); err != nil {
		return story.Cut{}, p.notes, err
	}
	slices.SortStableFunc(p.cut.Events, func(a, b story.Event) int { return cmp.Compare(a.Record.In, b.Record.In) })
	return p.cut, p.notes, nil
}

type otioParser struct {
	name  string
	cut   story.Cut
	notes []string
}

func (p *otioParser) note(format string, a ...any) {
	n := p.name + ": " + fmt.Sprintf(format, a...)
	if !slices.Contains(p.notes, n) {
		p.notes = append(p.notes, n)
	}
}

func (p *otioParser) errorf(format string, a ...any) error {
	return fmt.Errorf("%s: %w: %w", p.name, ErrFormat, fmt.Errorf(format, a...))
}

// timeline finds the timeline: the document itself, the first in a
// collection, or one made around a lone stack or track.
func (p *otioParser) timeline(n *otioNode) (*otioNode, error) {
	switch {
	case n.is("Timeline"):
	case n.is("SerializableCollection") || n.is("SerializeableCollection"):
		i := slices.IndexFunc(n.Children, func(c *otioNode) bool { return c != nil && c.is("Timeline") })
		if i < 0 {
			return nil, p.errorf("a collection without a timeline")
		}
		p.note("a collection of %d; the first timeline is read", len(n.Children))
		n = n.Children[i]
	case n.is("Stack"):
		n = &otioNode{Name: n.Name, Tracks: n}
	case n.is("Track"), n.is("Sequence"):
		n = &otioNode{Name: n.Name, Tracks: &otioNode{Schema: schemaStack, Children: []*otioNode{n}}}
	default:
		return nil, p.errorf("got OTIO_SCHEMA %q, want %q", n.Schema, schemaTimeline)
	}
	if n.Tracks == nil {
		return nil, p.errorf("the timeline has no tracks")
	}
	return n, nil
}

func (p *otioParser) head(n *otioNode) error {
	o := oursIn(n.Metadata)
	p.cut.Title = text(n.Name)
	p.cut.Notes = o.Notes
	if b, err := timecode.ParseBase(o.Base); err == nil {
		p.cut.Base = b
	} else {
		p.cut.Base.Rate = firstRate(n)
		if r := p.cut.Base.Rate; r == timecode.Rate2997 || r == timecode.Rate5994 {
			p.note("%s frames/s: drop-frame is not told; labels are taken as non-drop", r)
		}
	}
	if !p.cut.Base.Rate.Known() {
		return p.errorf("no clip has a frame rate")
	}
	start, err := n.Start.ticks()
	if err != nil {
		return p.errorf("global_start_time: %w", err)
	}
	p.cut.Start = start
	return nil
}

// firstRate is the first frame rate found: of the start, then of clips.
func firstRate(n *otioNode) timecode.Rate {
	if n == nil {
		return timecode.Rate{}
	}
	if r := n.Start.frameRate(); r.Known() {
		return r
	}
	if n.Range != nil && !n.is("Stack") && !n.is("Track") {
		if r := n.Range.Duration.frameRate(); r.Known() {
			return r
		}
	}
	if n.Range == nil && n.medium() != nil && n.medium().Available != nil {
		if r := n.medium().Available.Duration.frameRate(); r.Known() {
			return r
		}
	}
	for _, c := range append(slices.Clone(n.Children), n.Tracks) {
		if r := firstRate(c); r.Known() {
			return r
		}
	}
	return timecode.Rate{}
}

func (n *otioNode) medium() *otioMedium {
	if n.MediaBy != nil {
		return n.MediaBy[cmp.Or(n.Active, defaultMedia)]
	}
	return n.Media
}

func (p *otioParser) tracks(stack *otioNode) error {
	if stack.Range != nil {
		p.note("the stack has a source_range; read whole")
	}
	if len(stack.Markers) > 0 {
		p.note("%d markers of the timeline itself are left out", len(stack.Markers))
	}
	count := map[string]int{}
	lanes := 0
	for _, t := range stack.Children {
		if t != nil && (t.is("Track") || t.is("Sequence")) {
			lanes++
		}
	}
	for _, t := range stack.Children {
		if t == nil || !t.is("Track") && !t.is("Sequence") {
			p.note("something other than a track in the stack is left out")
			continue
		}
		lane := p.lane(t, count, lanes)
		if t.Range != nil {
			p.note("track %q has a source_range; read whole", text(t.Name))
		}
		if t.off() {
			p.note("track %q is switched off; left out", text(t.Name))
			continue
		}
		if err := p.track(t, lane); err != nil {
			return err
		}
	}
	return nil
}

func (p *otioParser) lane(t *otioNode, count map[string]int, lanes int) string {
	if o := oursIn(t.Metadata); o.Track != nil {
		return *o.Track
	}
	letter := "A"
	switch t.Kind {
	case "Video":
		letter = "V"
	case "Audio":
	default:
		p.note("track %q is of kind %q; taken as sound", text(t.Name), t.Kind)
	}
	count[letter]++
	switch {
	case lanes == 1 && letter == "A":
		return ""
	case count[letter] == 1:
		return letter
	}
	return letter + strconv.Itoa(count[letter])
}

// maxTimeline bounds a timeline to what Ticks hold with room to spare.
const maxTimeline = 30 * 365 * timecode.Day

func (p *otioParser) track(t *otioNode, lane string) error {
	var at timecode.Ticks
	var blend *otioNode
	first := len(p.cut.Events)
	for i, c := range t.Children {
		where := fmt.Sprintf("track %q, child %d", text(t.Name), i+1)
		if c == nil {
			p.note("%s is empty; left out", where)
			continue
		}
		if c.is("Transition") {
			blend = c
			continue
		}
		e, length, err := p.piece(c, where)
		if err != nil {
			return err
		}
		if length < 0 || length > maxTimeline || at > maxTimeline {
			return p.errorf("%s: length %s", where, length)
		}
		e.Number, e.Track = i+1, lane
		e.Record = timecode.Span{In: at, Out: at + length}
		at += length
		for j := range e.Markers {
			e.Markers[j].At += e.Record.In
		}
		if blend != nil {
			if err := p.blend(blend, first, &e, where); err != nil {
				return err
			}
			blend = nil
		}
		if e.Record.Empty() {
			p.note("%s has no length; left out", where)
			continue
		}
		if !c.is("Gap") || !oursIn(c.Metadata).Hole {
			p.cut.Events = append(p.cut.Events, e)
		}
	}
	if blend != nil {
		p.note("track %q ends in a transition; left out", text(t.Name))
	}
	return nil
}

// blend puts a transition on the event after it: the cut between the two
// moves to where the transition starts.
func (p *otioParser) blend(n *otioNode, first int, e *story.Event, where string) error {
	in, err := n.In.ticks()
	if err != nil {
		return p.errorf("%s, in_offset: %w", where, err)
	}
	out, err := n.Out.ticks()
	if err != nil {
		return p.errorf("%s, out_offset: %w", where, err)
	}
	if in < 0 || out < 0 || in > e.Record.In {
		p.note("%s: the transition before it does not fit; left out", where)
		return nil
	}
	o := oursIn(n.Metadata)
	t := story.Transition{
		Kind: cmp.Or(o.Kind, "dissolve"), Code: o.KindCode, Length: in + out,
		FromReel: o.FromReel, FromClip: o.FromClip, From: timecode.Ticks(o.FromTicks),
	}
	if o.Kind == "" && n.TransitionType != "SMPTE_Dissolve" {
		p.note("%s: transition %q taken as a dissolve", where, n.TransitionType)
	}
	if last := len(p.cut.Events) - 1; last >= first && in > 0 && p.cut.Events[last].Record.Out == e.Record.In {
		before := &p.cut.Events[last]
		if before.Record.Length() <= in {
			p.note("%s: the transition before it does not fit; left out", where)
			return nil
		}
		before.Record.Out -= in
		before.Source.Out -= in
	}
	e.Record.In -= in
	if !e.Gap {
		e.Source.In -= in
	} else {
		e.Source.Out += in
	}
	e.Transition = t
	return nil
}
