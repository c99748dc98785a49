package selects

import (
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// heldLeast is how much of a quote must lie in an event to be an item where it
// is less than half of both: less is a breath, or the beginning of a word.
const heldLeast = timecode.Second / 2

// take makes items of an event.
func (r *cutReader) take(p place) error {
	e := p.event
	if s := e.Speed; s != nil {
		r.note(e, "plays at another speed; taken as it was recorded")
	}
	if p.guess {
		r.note(e, "taken to be of %s, since its name begins so", p.rec.Reel)
	}
	if it, ok := r.same(p); ok {
		it.Note = e.Note // those selects' own note is about another cut
		r.out.Items = append(r.out.Items, it)
		return nil
	}
	list, err := r.quotesOf(p.rec.Reel)
	if err != nil {
		return err
	}
	held := r.held(p, list)
	switch {
	case len(list) == 0:
		r.miss(e, "%s has no words", p.rec.Reel)
	case len(held) == 0:
		r.miss(e, "nothing is said at %s of %s", p.rec.Clock.Timecode(p.talk.In, timecode.Floor), p.rec.Reel)
	}
	for i, q := range held {
		it := story.Item{Code: q.Code, Reel: q.Reel, Span: q.Span, Speaker: q.Speaker, Text: q.Text, Clock: q.Clock}
		if i == 0 {
			it.Note = e.Note
		}
		// The list's own item reaches as far as its event does, unless
		// another saying stands there.
		named := q.Code == e.Code
		r.edges(&it, p, named && i == 0, named && i == len(held)-1)
		r.out.Items = append(r.out.Items, it)
	}
	return nil
}

// same finds the item of some selects that an event is to the frame.
func (r *cutReader) same(p place) (story.Item, bool) {
	in, out := r.frames(p, p.talk)
	var found story.Item
	best := p.slack + 1
	for _, it := range r.items[strings.ToLower(p.rec.Reel)] {
		if p.event.Code != "" && it.Code != p.event.Code {
			continue
		}
		first, last := frameEdges(r.rate, p.rec.Clock.Start, p.rec.Duration, it.Span)
		off := max(framesApart(first, in), framesApart(last, out))
		if off < best || off == best && off <= p.slack && found.Trimmed && !it.Trimmed {
			best, found = off, it
		}
	}
	found.ID = 0
	return found, best <= p.slack
}

func framesApart(a, b int64) int64 { return max(a-b, b-a) }

// frames are the edges of a stretch of a place in frames on the recording's own
// label count; an event's edges lie on them, to a rounding.
func (r *cutReader) frames(p place, s timecode.Span) (in, out int64) {
	start := p.rec.Clock.Start
	return r.rate.Frame(start+s.In, timecode.Nearest), r.rate.Frame(start+s.Out, timecode.Nearest)
}

// held are the quotes that an event holds, in order.
func (r *cutReader) held(p place, list []story.Quote) []story.Quote {
	code := p.event.Code
	var near []story.Quote
	for i := range list {
		if list[i].Overlaps(p.talk) {
			near = append(near, list[i])
		}
	}
	if !slices.ContainsFunc(near, func(q story.Quote) bool { return q.Code == code }) {
		code = ""
	}
	var held []story.Quote
	for _, q := range near {
		n := q.Intersect(p.talk).Length()
		switch {
		case q.Code == code,
			2*n >= q.Length(),
			code == "" && (n >= heldLeast || 2*n >= p.talk.Length()):
			held = append(held, q)
		case n > r.rate.Ticks(2) && code == "":
			r.note(p.event, "%s of %s is left out: too little to be a saying", n.Short(), q.Code)
		}
	}
	slices.SortStableFunc(held, func(a, b story.Quote) int { return int(min(max(a.In-b.In, -1), 1)) })
	return held
}

// edges trims an item of a quote to its event: where the event cuts into the
// quote, and where outward is set also where it reaches beyond.
func (r *cutReader) edges(it *story.Item, p place, outwardIn, outwardOut bool) {
	in, out := r.frames(p, p.talk)
	first, last := frameEdges(r.rate, p.rec.Clock.Start, p.rec.Duration, it.Span)
	if in > first+p.slack || outwardIn && in < first-p.slack {
		it.In, it.Trimmed = p.talk.In, true
	}
	if out < last-p.slack || outwardOut && out > last+p.slack {
		it.Out, it.Trimmed = p.talk.Out, true
	}
}
