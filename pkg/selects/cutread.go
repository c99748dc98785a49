package selects

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Known is what a cut that comes back is read against.
type Known struct {
	Recordings []story.Recording
	Syncs      []story.Sync
	// Items are those of all selects there are: an event that is one of them,
	// to the frame, is it again.
	Items []story.Item
	// Quotes gives the quotes of a reel in order, Quote the one with a code;
	// false if there is none.
	Quotes func(reel string) ([]story.Quote, error)
	Quote  func(story.Code) (story.Quote, bool, error)
	// ShortReel is a reel's name in lists that hold 8 letters.
	ShortReel func(reel string) string
}

// CutRead is what came of a cut.
type CutRead struct {
	// Items stand in the order of the timeline; they have no IDs yet.
	Items []story.Item
	// Events counts the events that are no gaps.
	Events int
	// Missed are the events that no item came of, in the order of the timeline.
	Missed []Missed
	Notes  []string
}

// Missed is an event of a cut that no item came of.
type Missed struct {
	// Event is its number in the list, or its place in its track.
	Event int `json:"event"`
	// Record is its timecode on the timeline.
	Record string `json:"record_in"`
	Track  string `json:"track,omitempty"`
	Reel   string `json:"reel"`
	Why    string `json:"why"`
	at     timecode.Ticks
}

// String says "event 4 at 01:00:12:05: reel A001 is not in the bank".
func (m Missed) String() string { return fmt.Sprintf("event %d at %s: %s", m.Event, m.Record, m.Why) }

// ReadCut makes items of a cut that was read from a list or timeline: for each
// event one per quote that it holds, trimmed where the event is shorter than
// the quote.
//
// An event's reel is told by what the list says of it, see cutReader.reel;
// picture is taken to its sound through Syncs. Sound and picture of one
// stretch, or two channels of it, count once; picture under which other sound
// lies is no saying. A quote counts as held if half a second or half of it, or
// half of the event, lies in the event; less is noted. Where the list names a
// quote by its code, the event's in and out are the item's, also where they lie
// outside the quote. Handles that the list tells are taken off.
//
// Errors are those of Quotes and Quote.
func ReadCut(c story.Cut, known Known) (CutRead, error) {
	r := &cutReader{cut: c, known: known, rate: c.Base.Rate, quotes: map[string][]story.Quote{}}
	r.items, r.claims = map[string][]story.Item{}, map[claim][]int{}
	for i, rec := range known.Recordings {
		r.claim(i, rec)
	}
	for _, it := range known.Items {
		key := strings.ToLower(it.Reel)
		r.items[key] = append(r.items[key], it)
	}
	var places []place
	for _, e := range c.Events {
		if e.Gap {
			continue
		}
		r.out.Events++
		p, why, err := r.place(e)
		if err != nil {
			return r.out, err
		}
		p.why = why
		places = append(places, p)
	}
	// Sound before the picture beside it.
	slices.SortStableFunc(places, func(a, b place) int {
		return cmp.Or(cmp.Compare(a.event.Record.In, b.event.Record.In), cmp.Compare(onlyPicture(a.event), onlyPicture(b.event)))
	})
	for _, p := range r.once(places) {
		if err := r.take(p); err != nil {
			return r.out, err
		}
	}
	slices.SortStableFunc(r.out.Missed, func(a, b Missed) int { return cmp.Compare(a.at, b.at) })
	return r.out, nil
}

type cutReader struct {
	cut    story.Cut
	known  Known
	rate   timecode.Rate
	items  map[string][]story.Item // by reel, in small letters
	claims map[claim][]int         // places in known.Recordings
	quotes map[string][]story.Quote
	out    CutRead
}

// place is where an event lies in the bank's sound.
type place struct {
	event story.Event
	rec   story.Recording
	// origin is the place on the recording at which the event begins; talk is
	// the stretch of it that the recording holds, without handles.
	origin timecode.Ticks
	talk   timecode.Span
	// sound is the sound reel that a picture reel was lined up with there, ""
	// for none, and heard the place on it at which the event begins.
	sound string
	heard timecode.Ticks
	// guess tells that only the beginning of its name speaks for the recording.
	guess bool
	// slack is how far the edges may be off: a frame where they came through
	// a picture.
	slack int64
	// why says that nothing was found, "" if something was.
	why string
}

// with tells whether two events are of one stretch of one recording, lying
// alike on the timeline: picture is compared by the sound of the same moment.
func (p place) with(q place, n reach) bool {
	shift := p.event.Record.In - q.event.Record.In
	return p.rec.Reel == q.rec.Reel && n.near(p.origin-q.origin, shift) ||
		p.sound == q.rec.Reel && n.near(p.heard-q.origin, shift) ||
		q.sound == p.rec.Reel && n.near(p.origin-q.heard, shift)
}

// onlyPicture is 1 for an event without sound.
func onlyPicture(e story.Event) int {
	if t := strings.ToUpper(e.Track); strings.HasPrefix(t, "V") && !strings.Contains(t, "A") {
		return 1
	}
	return 0
}

func (r *cutReader) miss(e story.Event, format string, a ...any) {
	r.out.Missed = append(r.out.Missed, Missed{
		Event: e.Number, Record: r.cut.Label(e.Record.In, timecode.Nearest), Track: e.Track, Reel: e.Reel,
		Why: fmt.Sprintf(format, a...), at: e.Record.In,
	})
}

func (r *cutReader) note(e story.Event, format string, a ...any) {
	r.out.Notes = append(r.out.Notes, fmt.Sprintf("event %d at %s: ", e.Number, r.cut.Label(e.Record.In, timecode.Nearest))+fmt.Sprintf(format, a...))
}

// once leaves of sound and picture of one stretch, and of two channels of it,
// one; and reports picture under which other sound lies, and what has no place.
func (r *cutReader) once(places []place) []place {
	var kept []place
	// Events that began before and may reach here; the timeline is in order.
	var open []*place
	sound := slices.DeleteFunc(slices.Clone(places), func(p place) bool { return onlyPicture(p.event) == 1 })
	next := 0
	for _, p := range places {
		open = slices.DeleteFunc(open, func(q *place) bool { return q.event.Record.Out <= p.event.Record.In })
		for next < len(sound) && sound[next].event.Record.In < p.event.Record.Out {
			open = append(open, &sound[next])
			next++
		}
		double, under := r.beside(p, kept, open)
		switch {
		case double:
		case under:
			r.miss(p.event, "picture only: other sound is heard under it")
		case p.why != "":
			r.miss(p.event, "%s", p.why)
		default:
			kept = append(kept, p)
		}
	}
	return kept
}

// beside tells whether an event says nothing that one beside it doesn't say:
// a double of one kept, or of the sound; or picture under which other sound is.
func (r *cutReader) beside(p place, kept []place, sound []*place) (double, under bool) {
	frame := reach(r.rate.Ticks(2))
	same := func(q place) bool {
		return p.why == "" && q.why == "" && q.event.Track != p.event.Track && q.event.Record.Overlaps(p.event.Record) && p.with(q, frame)
	}
	for i := len(kept) - 1; i >= 0 && i >= len(kept)-64; i-- {
		if same(kept[i]) {
			return true, false
		}
	}
	if onlyPicture(p.event) == 0 {
		return false, false
	}
	var heard timecode.Ticks
	for _, q := range sound {
		if same(*q) {
			return true, false
		}
		if q.why != "" && frame.near(q.event.Record.In, p.event.Record.In) && frame.near(q.event.Record.Out, p.event.Record.Out) {
			continue // the sound of this picture, under a name that nobody knows
		}
		heard += q.event.Record.Intersect(p.event.Record).Length()
	}
	return false, 2*heard >= p.event.Record.Length()
}

// reach is how far apart two places may be and count as one.
type reach timecode.Ticks

func (n reach) near(a, b timecode.Ticks) bool {
	return a-b <= timecode.Ticks(n) && b-a <= timecode.Ticks(n)
}
