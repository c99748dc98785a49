package subtitles

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// Follow takes subtitles of one cut over to another, so that words which
// somebody corrected or translated stay when the picture changes. Both cuts,
// and the cues of doc, count from the first frame of the programme.
//
// A cue belongs to the piece of old that it shares most time with, and stands
// wherever at least half of that stretch of the recording is in the new cut:
// once each, shortened to what is there. gap is the least distance, in frames
// of the new cut, that is kept where pieces now follow each other; cues are
// numbered anew. doc stays as it is.
//
// The notes name the talk of the new cut that has no cue; then, by their number
// in doc, the cues that are left out, and those that lost a part.
func Follow(doc *timedtext.Document, old, cut story.Cut, gap int64) (*timedtext.Document, []string) {
	f := follower{rate: cut.Base.Rate, cut: cut, covered: make([]bool, len(cut.Events))}
	copied := *doc
	out := &copied
	for i, c := range doc.Cues {
		f.take(i+1, c, old)
	}
	slices.SortStableFunc(f.cues, func(a, b followed) int {
		switch {
		case a.cue.In < b.cue.In:
			return -1
		case a.cue.In > b.cue.In:
			return 1
		}
		return 0
	})
	f.apart(gap)
	out.Cues = nil
	for i, m := range f.cues {
		m.cue.ID = strconv.Itoa(i + 1)
		out.Cues = append(out.Cues, m.cue)
	}
	out.Base = cut.Base
	return out, append(f.uncovered(), f.notes...)
}

type follower struct {
	rate    timecode.Rate
	cut     story.Cut
	covered []bool // events of the cut that got a cue
	cues    []followed
	notes   []string
}

// followed is a cue in its new place, over an event of the new cut.
type followed struct {
	cue   timedtext.Cue
	event int
}

// lingers is how much may go at the end of a cue without a note: cues stand on
// after their talk to be read. Ours, no source.
const lingers = timecode.Second / 2

// take finds the new places of one cue.
func (f *follower) take(number int, c timedtext.Cue, old story.Cut) {
	name := fmt.Sprintf("cue %d at %s (%s)", number, c.In, opening(c))
	from, said := pieceUnder(c, old)
	if said.Empty() {
		f.notes = append(f.notes, name+": left out, the old cut has no piece there")
		return
	}
	// Quotes that follow each other in a recording overlap by up to a frame, as
	// each edge lies on the frame outside.
	frame := timecode.Second / 24
	if f.rate.Known() {
		frame = f.rate.Ticks(1)
	}
	found := 0
	for i, e := range f.cut.Events {
		kept := said.Intersect(e.Source)
		if e.Gap || !strings.EqualFold(e.Reel, from.Reel) || kept.Length()*2 < said.Length() || kept.Empty() {
			continue
		}
		found++
		f.covered[i] = true
		moved := shifted(c, e.Record.In-e.Source.In+from.Source.In-from.Record.In)
		moved.Span = kept.Shift(e.Record.In - e.Source.In)
		if old.Base.Rate != f.rate { // its frames are others
			moved.In, moved.Out = f.rate.Snap(moved.In, timecode.Nearest), f.rate.Snap(moved.Out, timecode.Nearest)
		}
		f.cues = append(f.cues, followed{moved, i})
		if kept.In-said.In > frame || said.Out-kept.Out > lingers {
			f.notes = append(f.notes, fmt.Sprintf("%s: %.1f s of it is cut away, its words are whole", name, (said.Length()-kept.Length()).Seconds()))
		}
	}
	if found == 0 {
		f.notes = append(f.notes, name+": left out, its talk isn't in the new cut")
	}
}

// pieceUnder is the piece of a cut that a cue shares most time with, and the
// part of the recording under the cue.
func pieceUnder(c timedtext.Cue, cut story.Cut) (story.Event, timecode.Span) {
	var best story.Event
	var shared timecode.Span
	for _, e := range cut.Events {
		if x := c.Span.Intersect(e.Record); !e.Gap && !x.Empty() && x.Length() > shared.Length() {
			best, shared = e, x
		}
	}
	return best, shared.Shift(best.Source.In - best.Record.In)
}

// shifted moves a cue with the times of its words.
func shifted(c timedtext.Cue, by timecode.Ticks) timedtext.Cue {
	doc, _, err := timedtext.Retime(&timedtext.Document{Cues: []timedtext.Cue{c}}, timedtext.Retiming{Shift: by})
	if err != nil || len(doc.Cues) == 0 {
		return c
	}
	return doc.Cues[0]
}

// apart keeps cues of different pieces from running into each other.
func (f *follower) apart(gap int64) {
	least := grid{f.rate}.ticks(grid{f.rate}.gap(gap))
	for i := 1; i < len(f.cues); i++ {
		a, b := &f.cues[i-1], f.cues[i]
		if end := b.cue.In - least; a.event != b.event && a.cue.Out > end && end > a.cue.In {
			a.cue.Out = end
		}
	}
}

// uncovered is the talk that has no subtitles.
func (f *follower) uncovered() []string {
	var notes []string
	for i, e := range f.cut.Events {
		if !e.Gap && e.Text != "" && !f.covered[i] {
			notes = append(notes, fmt.Sprintf("no subtitles at %s, %s of %s: %s", e.Record.In, e.Code, e.Reel, short(e.Text)))
		}
	}
	return notes
}

// opening is how a cue begins, to find it by.
func opening(c timedtext.Cue) string {
	var words []string
	for _, l := range c.Lines {
		for _, r := range l {
			words = append(words, r.Text)
		}
	}
	return short(strings.Join(words, " "))
}

// short cuts a text after a few words.
func short(s string) string {
	words := strings.Fields(s)
	if len(words) > 5 {
		return strings.Join(words[:5], " ") + " …"
	}
	return strings.Join(words, " ")
}
