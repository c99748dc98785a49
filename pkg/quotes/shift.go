package quotes

import (
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// endTolerance is how far a cue may run past the end of its recording before
// it is worth a warning: hand-set times are seldom better.
const endTolerance = 2 * timecode.Second

// duration is the length of the recording as far as it is known, 0 if not.
func (src Source) duration() timecode.Ticks {
	if d := src.Recording.Duration; d > 0 {
		return d
	}
	if src.Heard != nil {
		return max(src.Heard.Duration, 0)
	}
	return 0
}

// shiftOf finds what to add to the document's times to get the recording's
// own. Labels are tried at the recording's start timecode first; other times
// are taken as they are unless another reading fits more of the cues.
func shiftOf(doc *timedtext.Document, clock timecode.Clock, duration timecode.Ticks) timecode.Ticks {
	if len(doc.Cues) == 0 {
		return 0
	}
	first := doc.Cues[0].In
	for _, c := range doc.Cues {
		first = min(first, c.In)
	}
	var tries []timecode.Ticks
	if !doc.Labels {
		tries = append(tries, 0)
	}
	if doc.Labels && clock.Start == 0 && doc.ProgrammeStart > 0 {
		// The recording doesn't say; the file does.
		tries = append(tries, -doc.ProgrammeStart)
	}
	if clock.Start > 0 || doc.Labels {
		tries = append(tries, -clock.Start)
		if doc.Labels && first < clock.Start-timecode.Hour {
			// The recording ran past midnight.
			tries = append(tries, -clock.Start+dayOf(doc, clock))
		}
	}
	if doc.ProgrammeStart > 0 {
		tries = append(tries, -doc.ProgrammeStart)
	}
	if first >= timecode.Hour {
		tries = append(tries, -first/timecode.Hour*timecode.Hour)
	}
	if doc.Labels {
		tries = append(tries, 0)
	}
	if duration <= 0 {
		return shiftBlind(doc, clock, first, tries)
	}
	best, most := tries[0], -1
	for _, t := range tries {
		n := 0
		for _, c := range doc.Cues {
			if in := c.In + t; in >= -endTolerance && in < duration {
				n++
			}
		}
		if n > most {
			best, most = t, n
		}
	}
	return best
}

// shiftBlind chooses among the tries when the recording's length is unknown:
// times that begin within three hours after a known start are labels of it.
func shiftBlind(doc *timedtext.Document, clock timecode.Clock, first timecode.Ticks, tries []timecode.Ticks) timecode.Ticks {
	near := func(start timecode.Ticks) bool {
		return start > 0 && first >= start-endTolerance && first < start+3*timecode.Hour
	}
	switch {
	case near(clock.Start):
		return -clock.Start
	case near(doc.ProgrammeStart):
		return -doc.ProgrammeStart
	}
	return tries[0]
}

// dayOf is the length of 24 hours of labels.
func dayOf(doc *timedtext.Document, clock timecode.Clock) timecode.Ticks {
	for _, b := range []timecode.Base{clock.Base, doc.Base} {
		if b.Rate.Known() {
			return b.Rate.Ticks(b.FramesPerDay())
		}
	}
	return timecode.Day
}

// mismatches are the ways in which times get too long when frames counted at
// one rate are read at another: by num/den.
var mismatches = []struct {
	num, den timecode.Ticks
	what     string
}{
	{25000, 23976, "25 read as 23.976"},
	{25, 24, "25 read as 24"},
	{30, 25, "30 read as 25"},
	{30000, 25025, "29.97 read as 25"},
	{30000, 24000, "30 read as 24, or 29.97 as 23.976"},
	{1001, 1000, "a whole rate read as its 1000/1001 relative"},
}

// rateHint names the mistaken frame rate that would explain why the last cue
// ends at last in a recording of this length; "" if none would. speech, if not
// 0, is where the last heard speech ends.
func rateHint(last, duration, speech timecode.Ticks) string {
	end := duration
	if speech > 0 {
		end = speech
	}
	if end < timecode.Minute || last > 4*timecode.Day {
		return ""
	}
	best, hint := timecode.Ticks(0), ""
	for _, m := range mismatches {
		off := last*m.den/m.num - end
		off = max(off, -off)
		if off <= end/400 && (hint == "" || off < best) {
			best, hint = off, m.what
		}
	}
	if hint == "" {
		return ""
	}
	return "the times fit a frame rate of " + hint
}
