package selects

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// place finds the recording of an event and the stretch of its sound; why says
// what is wrong if there is none.
func (r *cutReader) place(e story.Event) (p place, why string, err error) {
	p = place{event: e}
	rec, span, why := r.reel(e)
	if why != "" && e.Code != "" {
		// A code of ours finds the reel whatever it is called by now.
		q, ok, err := r.known.Quote(e.Code)
		if err != nil {
			return p, "", err
		}
		if i := r.recording(q.Reel); ok && i >= 0 {
			found := r.known.Recordings[i]
			if s, in := r.within(e, found); in && s.Overlaps(q.Span) {
				rec, span, why = found, s, ""
			}
		}
	}
	if why != "" {
		return p, why, nil
	}
	own, err := r.quotesOf(rec.Reel)
	if err != nil {
		return p, "", err
	}
	p.rec, p.origin = rec, span.In
	p.talk = timecode.Span{In: span.In + e.Lead, Out: span.Out - e.Tail}
	if p.talk.Empty() {
		p.talk = span
	}
	if s, sound := r.soundOf(rec, p.talk); s != nil {
		p.sound, p.heard = sound.Reel, s.ToSound(p.origin)
		if len(own) == 0 {
			p.rec, p.origin, p.slack = sound, p.heard, 1
			p.talk = timecode.Span{In: s.ToSound(p.talk.In), Out: s.ToSound(p.talk.Out)}
		}
	}
	p.talk = p.talk.Intersect(recorded(p.rec))
	return p, "", nil
}

// recorded is the stretch that a recording has, without end if that isn't
// known.
func recorded(rec story.Recording) timecode.Span {
	if rec.Duration <= 0 {
		return timecode.Span{Out: 1 << 62}
	}
	return timecode.Span{Out: rec.Duration}
}

func (r *cutReader) recording(reel string) int {
	return slices.IndexFunc(r.known.Recordings, func(rec story.Recording) bool { return strings.EqualFold(rec.Reel, reel) })
}

func (r *cutReader) quotesOf(reel string) ([]story.Quote, error) {
	if list, ok := r.quotes[reel]; ok {
		return list, nil
	}
	list, err := r.known.Quotes(reel)
	r.quotes[reel] = list
	return list, err
}

// soundOf finds the sound reel that holds most of a stretch of a picture reel;
// nil if none was lined up with it there.
func (r *cutReader) soundOf(picture story.Recording, span timecode.Span) (sync *story.Sync, sound story.Recording) {
	var most timecode.Ticks
	for _, s := range r.known.Syncs {
		i := r.recording(s.Sound)
		if !strings.EqualFold(s.Picture, picture.Reel) || i < 0 {
			continue
		}
		there := timecode.Span{In: s.ToSound(span.In), Out: s.ToSound(span.Out)}
		if n := there.Intersect(recorded(r.known.Recordings[i])).Length(); n > most {
			most, sync, sound = n, &s, r.known.Recordings[i]
		}
	}
	return sync, sound
}

// Evidence that an event is of a recording, weakest first: the name that old
// lists shorten it to, the tape it was recorded on, a file of the same stem,
// the file's name, the reel's name, the file's whole path.
const (
	byShortReel = 1 << iota
	byTape
	byStem
	byFile
	byReel
	byPath
)

// evidence adds up what tells that an event is of a recording, 0 for nothing.
// short is the event's reel as old lists shorten it.
func (r *cutReader) evidence(e story.Event, short string, rec story.Recording) int {
	sum := 0
	count := func(kind int, is bool) {
		if is {
			sum |= kind
		}
	}
	file := base(rec.Path)
	count(byPath, rec.Path != "" && e.Path == rec.Path && file != e.Path)
	for _, name := range []string{e.Reel, e.Clip, base(e.Path)} {
		if name == "" {
			continue
		}
		count(byReel, strings.EqualFold(name, rec.Reel))
		count(byFile, file != "" && strings.EqualFold(base(name), file))
		count(byStem, strings.EqualFold(stem(base(name)), rec.Reel) || file != "" && strings.EqualFold(stem(base(name)), stem(file)))
		count(byTape, rec.Tape != "" && strings.EqualFold(name, rec.Tape))
	}
	count(byShortReel, short != "" && short == r.short[rec.Reel])
	return sum
}

// base is the last part of a path of any system.
func base(name string) string {
	if name == "" {
		return ""
	}
	return path.Base(strings.ReplaceAll(name, `\`, "/"))
}

// stem is a file's name without what it ends in.
func stem(name string) string { return strings.TrimSuffix(name, path.Ext(name)) }

// reel finds the recording that an event is of and the stretch of it: of those
// that something speaks for and that hold the event's times, the one with the
// strongest evidence.
func (r *cutReader) reel(e story.Event) (rec story.Recording, span timecode.Span, why string) {
	best, tie, named := 0, "", ""
	short := r.known.ShortReel(e.Reel)
	for _, one := range r.known.Recordings {
		sum := r.evidence(e, short, one)
		if sum == 0 {
			continue
		}
		named = one.Reel
		s, in := r.within(e, one)
		switch {
		case !in || sum < best:
		case sum == best:
			tie = one.Reel
		default:
			best, tie, rec, span = sum, "", one, s
		}
	}
	name := e.Reel
	for _, other := range []string{e.Clip, base(e.Path)} {
		if name == "" {
			name = other
		}
	}
	switch {
	case tie != "":
		return rec, span, fmt.Sprintf("%s may be %s or %s", name, rec.Reel, tie)
	case best > 0:
		return rec, span, ""
	case named != "":
		return rec, span, fmt.Sprintf("its times, from %s, lie outside %s", r.label(e), named)
	}
	return rec, span, fmt.Sprintf("reel %s is not in the bank", name)
}

// label is an event's source in as the list writes it.
func (r *cutReader) label(e story.Event) string {
	clock := e.Clock
	clock.Base.Rate = r.rate
	return clock.Timecode(e.Source.In, timecode.Nearest)
}

// within is the stretch of a recording that an event is, which may reach beyond
// its ends: by its timecode, or counted from the file's beginning, as programs
// do that don't look at the timecode. False if the recording doesn't hold at
// least half of it.
func (r *cutReader) within(e story.Event, rec story.Recording) (timecode.Span, bool) {
	label := e.Source.Shift(e.Clock.Start)
	byTimecode := label.Shift(-rec.Clock.Start)
	if byTimecode.Out <= 0 { // past midnight
		byTimecode = byTimecode.Shift(r.rate.Ticks(r.cut.Base.FramesPerDay()))
	}
	ways := []timecode.Span{byTimecode, label}
	frame := r.rate.Ticks(1)
	if d := e.Available - rec.Duration; e.Available > 0 && d <= 2*frame && d >= -2*frame {
		ways = []timecode.Span{e.Source, byTimecode}
	}
	for _, least := range []timecode.Ticks{-2 * frame, -e.Source.Length() / 2} {
		for _, s := range ways {
			if held := s.Intersect(recorded(rec)); !held.Empty() && held.Length()-s.Length() >= least {
				return s, true
			}
		}
	}
	return timecode.Span{}, false
}
