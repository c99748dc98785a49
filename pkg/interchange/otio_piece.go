package interchange

import (
	"cmp"
	"encoding/json"
	"fmt"
	"strconv"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// piece reads a clip, gap or nested composition; its place is not yet set and
// its markers count from its start.
func (p *otioParser) piece(c *otioNode, where string) (story.Event, timecode.Ticks, error) {
	start, length, err := p.used(c)
	if err != nil {
		return story.Event{}, 0, p.errorf("%s (%s): %w", where, text(c.Name), err)
	}
	o := oursIn(c.Metadata)
	e := story.Event{
		Reel: o.Reel, Speaker: o.Speaker, Text: o.Text, Note: o.Note, Themes: o.Themes,
		Channels: o.Channels, Comments: o.Comments, Code: story.Code(o.Code),
		Source: timecode.Span{In: start, Out: start + length},
	}
	if e.Code != "" {
		if code, err := story.ParseCode(o.Code); err != nil {
			p.note("%s: %v", where, err)
			e.Code = ""
		} else {
			e.Code = code
		}
	}
	e.Clock.Base = p.cut.Base
	if b, err := timecode.ParseBase(o.Clock); err == nil {
		e.Clock.Base = b
	}
	if lead, tail := timecode.Ticks(o.Lead), timecode.Ticks(o.Tail); lead >= 0 && tail >= 0 && lead <= length && tail <= length-lead {
		e.Lead, e.Tail = lead, tail
	}
	switch {
	case c.is("Clip") && c.off():
		p.note("%s (%s) is switched off; taken as a gap", where, text(c.Name))
		e.Gap = true
		e.Source = timecode.Span{Out: length}
	case c.is("Gap"), c.medium() != nil && c.medium().Generator == "black":
		e.Gap = true
		e.Source = timecode.Span{Out: length}
	case c.is("Clip"):
		if err := p.medium(c, &e, where); err != nil {
			return e, 0, err
		}
	default:
		p.note("%s is a nested %s; taken as a gap", where, cmp.Or(c.Schema, "object"))
		e.Gap = true
		e.Source = timecode.Span{Out: length}
	}
	p.foreign(c, &e)
	if name := text(c.Name); name != e.Reel {
		e.Clip = name
	}
	p.effects(c, o, &e, length, where)
	if err := p.markers(c, &e, start, where); err != nil {
		return e, 0, err
	}
	return e, length, nil
}

// used is the stretch of its medium that a child uses; for a composition, as
// long as what it holds.
func (p *otioParser) used(c *otioNode) (start, length timecode.Ticks, err error) {
	r := c.Range
	if r == nil && c.medium() != nil {
		r = c.medium().Available
	}
	if r != nil {
		if start, err = r.Start.ticks(); err == nil {
			length, err = r.Duration.ticks()
		}
		return start, length, err
	}
	if c.is("Clip") || c.is("Gap") {
		return 0, 0, fmt.Errorf("neither source_range nor available_range says how long it is")
	}
	for _, child := range c.Children {
		if child == nil || child.is("Transition") {
			continue
		}
		_, l, err := p.used(child)
		if err != nil {
			return 0, 0, err
		}
		if c.is("Stack") {
			length = max(length, l)
		} else {
			length = min(length+l, 2*maxTimeline)
		}
	}
	return 0, length, nil
}

// medium sets path, length and clock of a clip.
func (p *otioParser) medium(c *otioNode, e *story.Event, where string) error {
	m := c.medium()
	if m == nil || m.Available == nil {
		if start := timecode.Ticks(oursIn(c.Metadata).Start); start > -maxTimeline && start < maxTimeline {
			e.Clock.Start = start
			e.Source = e.Source.Shift(-start)
		}
	}
	if m == nil {
		return nil
	}
	if m.URL != "" {
		if e.Path = filePath(m.URL); e.Path == "" {
			p.note("%s: medium %q is no file", where, m.URL)
		}
	}
	if m.Available == nil {
		return nil
	}
	start, err := m.Available.Start.ticks()
	if err != nil {
		return p.errorf("%s, available_range: %w", where, err)
	}
	length, err := m.Available.Duration.ticks()
	if err != nil {
		return p.errorf("%s, available_range: %w", where, err)
	}
	e.Clock.Start = start
	e.Available = max(length, 0)
	e.Source = e.Source.Shift(-start)
	return nil
}

// foreign takes reel and comments from where lists that were converted keep
// them (seen in the samples); without any, the reel is the medium's name, else
// the clip's.
func (p *otioParser) foreign(c *otioNode, e *story.Event) {
	var list struct {
		Reel     string   `json:"reel"`
		Comments []string `json:"comments"`
	}
	if raw, ok := c.Metadata["cmx_3600"]; ok && json.Unmarshal(raw, &list) == nil {
		e.Reel = cmp.Or(e.Reel, list.Reel)
		for _, c := range list.Comments {
			_, key, value := splitComment(c)
			if key == keySource && e.Path == "" {
				e.Path = value
				continue
			}
			e.Comments = append(e.Comments, c)
		}
	}
	if m := c.medium(); e.Reel == "" && m != nil {
		e.Reel = text(m.Name)
	}
	if e.Reel == "" && !e.Gap {
		e.Reel = text(c.Name)
	}
}

func (p *otioParser) effects(c *otioNode, o ours, e *story.Event, length timecode.Ticks, where string) {
	for _, f := range c.Effects {
		switch schema, _, _ := strings.Cut(schemaOf(f), "."); schema {
		case "LinearTimeWarp", "FreezeFrame":
			fps := f.Scalar * p.cut.Base.Rate.Float()
			e.Speed = &story.Speed{Rate: strconv.FormatFloat(fps, 'f', 1, 64), At: e.Source.In}
			if o.Speed != "" {
				e.Speed = &story.Speed{Rate: o.Speed, At: timecode.Ticks(o.SpeedAt)}
			}
		default:
			p.note("%s: effect %q is left out", where, schemaOf(f))
		}
	}
}

func schemaOf(f *otioEffectIn) string {
	if f == nil {
		return ""
	}
	return f.Schema
}

// handlesAround sets the handles to what the clip has around the quote's own
// marker, which stays with the words when somebody moves the clip's edges.
func handlesAround(marked *otioRange, e *story.Event, start timecode.Ticks) error {
	if marked == nil {
		return nil
	}
	in, err := marked.Start.ticks()
	if err != nil {
		return err
	}
	length, err := marked.Duration.ticks()
	if err != nil {
		return err
	}
	whole := timecode.Span{In: start, Out: start + e.Source.Length()}
	if talk := (timecode.Span{In: in, Out: in + length}).Intersect(whole); !talk.Empty() {
		e.Lead, e.Tail = talk.In-whole.In, whole.Out-talk.Out
	}
	return nil
}

// markers reads a clip's markers, but for the one that stands for the quote.
func (p *otioParser) markers(c *otioNode, e *story.Event, start timecode.Ticks, where string) error {
	for _, m := range c.Markers {
		if m == nil {
			continue
		}
		r := cmp.Or(m.Marked, m.Range)
		if oursIn(m.Metadata).Quote {
			if err := handlesAround(r, e, start); err != nil {
				return p.errorf("%s, marker: %w", where, err)
			}
			continue
		}
		if r == nil {
			p.note("%s: a marker without a place is left out", where)
			continue
		}
		at, err := r.Start.ticks()
		if err != nil {
			return p.errorf("%s, marker: %w", where, err)
		}
		e.Markers = append(e.Markers, story.CutMarker{At: at - start, Colour: colourOf(m.Colour), Text: text(m.Name)})
	}
	return nil
}

// colourOf is a colour's name in capitals; the library writes version 3 as
// "Red" where a list has RED.
func colourOf(raw json.RawMessage) string {
	var name string
	if json.Unmarshal(raw, &name) == nil {
		return strings.ToUpper(name)
	}
	var object struct {
		Name string `json:"name"`
	}
	if json.Unmarshal(raw, &object) == nil {
		return strings.ToUpper(object.Name)
	}
	return ""
}
