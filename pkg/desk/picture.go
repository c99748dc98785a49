package desk

import (
	"context"
	"fmt"
	"maps"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Picture is where a saying is seen: the camera's reel and its own times.
type Picture struct {
	Reel string          `json:"reel"`
	In   timecode.Moment `json:"in"`
	Out  timecode.Moment `json:"out"`
	// Part tells that the camera's file holds only this part of the saying.
	Part bool `json:"part,omitempty"`
	sync story.Sync
}

// picture finds where a stretch of a sound reel is seen: in the file that holds
// it whole, the one lined up most surely if there are several, else in the one
// that holds most of it. nil if no camera that ran then was lined up.
func (d *Desk) picture(ctx context.Context, reel string, span timecode.Span) (*Picture, error) {
	list, err := d.bank.SyncsOf(ctx, reel)
	if err != nil {
		return nil, err
	}
	recs, err := d.recordings(ctx)
	if err != nil {
		return nil, err
	}
	var best *Picture
	var most timecode.Ticks
	for _, s := range list {
		cam := recs[s.Picture]
		whole := timecode.Span{In: s.ToPicture(span.In), Out: s.ToPicture(span.Out)}
		held := whole.Intersect(timecode.Span{Out: cam.Duration})
		if held.Empty() || best != nil && held.Length() <= most {
			continue
		}
		most = held.Length()
		best = &Picture{Reel: s.Picture, In: cam.Clock.In(held.In), Out: cam.Clock.Out(held.Out), Part: held != whole, sync: s}
		if !best.Part {
			break
		}
	}
	return best, nil
}

// addPicture gives each piece of a cut that a camera saw a second event with
// the picture, of the same frames; of fewer where the camera's file begins or
// ends inside the piece. both tells that a form holds the picture of a camera's
// own reel as an event of its own (an edit decision list says AA/V instead).
func (d *Desk) addPicture(ctx context.Context, cut *story.Cut, both bool, notes *[]string) error {
	recs, err := d.recordings(ctx)
	if err != nil {
		return err
	}
	note := func(i int, e story.Event, format string, a ...any) {
		*notes = append(*notes, fmt.Sprintf("item %d (%s): ", i+1, e.Code)+fmt.Sprintf(format, a...))
	}
	var events []story.Event
	unseen := map[string][]int{} // by reel, places from 0
	for i, e := range cut.Events {
		if e.Gap {
			events = append(events, e)
			continue
		}
		p, err := d.picture(ctx, e.Reel, e.Talk())
		if err != nil {
			return err
		}
		if p == nil && scratch(recs[e.Reel]) {
			// A camera's own reel has its picture with it.
			if both {
				v := e
				v.Track, v.Markers = "V", nil
				e.Track = lane(e)
				events = append(events, v)
			}
			events = append(events, e)
			continue
		}
		v, seen := e, false
		if p != nil {
			v, seen = pictureOf(*cut, e, recs[p.Reel], p.sync)
		}
		e.Track = lane(e)
		if !seen {
			unseen[e.Reel] = append(unseen[e.Reel], i)
			events = append(events, e)
			continue
		}
		if late := v.Record.In - e.Record.In; late > 0 {
			note(i, e, "the picture begins %s later: %s, which holds most of it, begins there", late.Short(), p.Reel)
		}
		if short := e.Record.Out - v.Record.Out; short > 0 {
			note(i, e, "the picture ends %s earlier: %s, which holds most of it, ends there", short.Short(), p.Reel)
		}
		events = append(events, v, e)
	}
	for _, reel := range slices.Sorted(maps.Keys(unseen)) {
		where := "items " + places(unseen[reel])
		if i := unseen[reel][0]; len(unseen[reel]) == 1 {
			where = fmt.Sprintf("item %d (%s)", i+1, cut.Events[i].Code)
		}
		*notes = append(*notes, fmt.Sprintf("%s: no picture was lined up with %s there", where, reel))
	}
	cut.Events = events
	return nil
}

// places lists places from 1 for people: "2, 5 to 9".
func places(from0 []int) string {
	var parts []string
	for i := 0; i < len(from0); {
		last := i
		for last+1 < len(from0) && from0[last+1] == from0[last]+1 {
			last++
		}
		part := fmt.Sprint(from0[i] + 1)
		if last > i {
			part += fmt.Sprintf(" to %d", from0[last]+1)
		}
		parts, i = append(parts, part), last+1
	}
	return joinAnd(parts)
}

// pictureOf is the picture of a piece: the frames of the camera's file nearest
// to those of the sound, as far as the file has them; false if it has none.
func pictureOf(cut story.Cut, e story.Event, cam story.Recording, s story.Sync) (story.Event, bool) {
	rate := cut.Base.Rate
	first := rate.Frame(cam.Clock.Start+s.ToPicture(e.Source.In), timecode.Nearest)
	frames := rate.Frame(e.Record.Length(), timecode.Nearest)
	from := max(first, rate.Frame(cam.Clock.Start, timecode.Ceil))
	to := min(first+frames, rate.Frame(cam.Clock.Start+cam.Duration, timecode.Floor))
	if to <= from {
		return e, false
	}
	v := e
	v.Reel, v.Path, v.Clock, v.Available, v.Channels, v.Markers = cam.Reel, cam.Path, cam.Clock, cam.Duration, cam.Channels, nil
	v.Source = timecode.Span{In: rate.Ticks(from) - cam.Clock.Start, Out: rate.Ticks(to) - cam.Clock.Start}
	v.Track = "V"
	at := rate.Frame(e.Record.In, timecode.Nearest)
	v.Record = timecode.Span{In: rate.Ticks(at + from - first), Out: rate.Ticks(at + to - first)}
	// What is left of the handles.
	v.Lead = max(v.Lead-rate.Ticks(from-first), 0)
	v.Tail = max(v.Tail-rate.Ticks(first+frames-to), 0)
	return v, true
}

// lane is the sound lane of an event: one channel, or several.
func lane(e story.Event) string {
	if e.Channels == 1 {
		return "A"
	}
	return "AA"
}
