package timedtext

import (
	"errors"
	"unicode/utf8"

	"rushlight/pkg/timecode"
)

// A time that nobody understands costs no words: the cue is kept behind the
// one before it, and reported.

// behind is where a cue begins that comes after c and whose own time isn't
// known.
func (c *Cue) behind() timecode.Ticks {
	if c.OpenEnd || c.Out < c.In {
		return c.In
	}
	return c.Out
}

// behind is where the next cue of the document begins if its time isn't known.
func (rd *reader) behind() timecode.Ticks {
	if n := len(rd.doc.Cues); n > 0 {
		return rd.doc.Cues[n-1].behind()
	}
	return 0
}

// slip notes that the beginning of a cue isn't known; cue is its index.
// readers set its In to behind. err is what was wrong with its time.
func (rd *reader) slip(cue int, err error) {
	if rd.slips == nil {
		rd.slips = map[int]bool{}
		rd.firstSlip = err
	}
	rd.slips[cue] = true
}

// problem is what an error about a time says, without its place.
func problem(err error) string {
	var pe *ParseError
	if errors.As(err, &pe) {
		return pe.Problem
	}
	return err.Error()
}

// noneTimed is the first error where no cue at all has a time that is
// understood: nil otherwise.
func (rd *reader) noneTimed() error {
	if len(rd.slips) > 0 && len(rd.slips) >= len(rd.doc.Cues) {
		return rd.firstSlip
	}
	return nil
}

// shareSlips gives cues in a row whose beginnings aren't known a share each of
// the time up to the next that is, by the length of their text; at the end of
// the document by how long people take to say it.
func (rd *reader) shareSlips() {
	const perLetter = 70 * timecode.Millisecond
	cues := rd.doc.Cues
	for i := 0; i < len(cues); i++ {
		j := i
		var letters timecode.Ticks
		for j < len(cues) && rd.slips[j] && cues[j].In == cues[i].In {
			letters += timecode.Ticks(utf8.RuneCountInString(cues[j].Plain()) + 1)
			j++
		}
		if j-i < 2 {
			continue
		}
		from, to := cues[i].In, cues[i].In+letters*perLetter
		if j < len(cues) && cues[j].In > from {
			to = cues[j].In
		}
		for at := timecode.Ticks(0); i < j; i++ {
			cues[i].In = from + (to-from).Scale(int64(at), int64(letters), timecode.Nearest)
			at += timecode.Ticks(utf8.RuneCountInString(cues[i].Plain()) + 1)
		}
		i--
	}
}
