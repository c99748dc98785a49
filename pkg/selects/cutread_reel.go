package selects

import (
	"fmt"
	"maps"
	"path"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// place finds the recording of an event and the stretch of its sound; why says
// what is wrong if there is none.
func (r *cutReader) place(e story.Event) (p place, why string, err error) {
	p = place{event: e}
	rec, span, evidence, why := r.reel(e)
	if why != "" && e.Code != "" {
		// A code of ours finds the reel whatever it is called by now.
		q, ok, err := r.known.Quote(e.Code)
		if err != nil {
			return p, "", err
		}
		if i := r.recording(q.Reel); ok && i >= 0 {
			found := r.known.Recordings[i]
			if s, in := r.within(e, found); in && s.Overlaps(q.Span) {
				rec, span, evidence, why = found, s, byReel, ""
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
	p.rec, p.origin, p.guess = rec, span.In, evidence == byBeginning
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

// Evidence that an event is of a recording, weakest first: a name that begins
// as the reel's does, the name that old lists shorten it to, the tape it was
// recorded on, a file of the same stem, the file's name, the reel's name, the
// file's whole path.
const (
	byBeginning = 1 << iota
	byShortReel
	byTape
	byStem
	byFile
	byReel
	byPath
)

// claim is a name with what it is evidence of.
type claim struct {
	kind int
	name string
}

// named is a claim by a name in any case.
func named(kind int, name string) claim { return claim{kind, strings.ToLower(name)} }

// claim notes the names that speak for a recording.
func (r *cutReader) claim(i int, rec story.Recording) {
	file := base(rec.Path)
	list := []claim{
		named(byReel, rec.Reel), named(byStem, rec.Reel), named(byTape, rec.Tape), named(byFile, file), named(byStem, stem(file)),
		{byPath, rec.Path},
		{byShortReel, r.known.ShortReel(rec.Reel)},
	}
	for k, c := range list {
		if c.name != "" && !slices.Contains(list[:k], c) {
			r.claims[c] = append(r.claims[c], i)
		}
	}
}

// evidence adds up, by recording, what tells that an event is of it.
func (r *cutReader) evidence(e story.Event) map[int]int {
	sum := map[int]int{}
	count := func(c claim) {
		for _, i := range r.claims[c] {
			sum[i] |= c.kind
		}
	}
	if e.Path != base(e.Path) {
		count(claim{byPath, e.Path})
	}
	for _, name := range []string{e.Reel, e.Clip, base(e.Path)} {
		if name != "" {
			count(named(byReel, name))
			count(named(byTape, name))
			count(named(byFile, base(name)))
			count(named(byStem, stem(base(name))))
		}
	}
	if short := r.known.ShortReel(e.Reel); short != "" {
		count(claim{byShortReel, short})
	}
	if len(sum) == 0 {
		r.beginning(e, sum)
	}
	return sum
}

// beginning looks for the longest name of a recording that a name of the event
// begins with: D2-INT2 in "D2-INT2.wav.sub.01" or "D2-INT2 copy", not in
// "D2-INT20".
func (r *cutReader) beginning(e story.Event, sum map[int]int) {
	for _, name := range []string{e.Reel, e.Clip, base(e.Path)} {
		name = strings.ToLower(name)
		for end := len(name) - 1; end > 0; end-- {
			next, _ := utf8.DecodeRuneInString(name[end:])
			if unicode.IsLetter(next) || unicode.IsDigit(next) || !utf8.RuneStart(name[end]) {
				continue
			}
			if list := r.claims[claim{byStem, name[:end]}]; len(list) > 0 {
				for _, i := range list {
					sum[i] |= byBeginning
				}
				break
			}
		}
	}
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
// strongest evidence, which is best.
func (r *cutReader) reel(e story.Event) (rec story.Recording, span timecode.Span, best int, why string) {
	tie, called := "", ""
	evidence := r.evidence(e)
	for _, i := range slices.Sorted(maps.Keys(evidence)) {
		one, sum := r.known.Recordings[i], evidence[i]
		called = one.Reel
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
		return rec, span, best, fmt.Sprintf("%s may be %s or %s", name, rec.Reel, tie)
	case best > 0:
		return rec, span, best, ""
	case called != "":
		return rec, span, best, fmt.Sprintf("its times, from %s, lie outside %s", r.label(e), called)
	}
	return rec, span, best, fmt.Sprintf("reel %s is not in the bank", name)
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
