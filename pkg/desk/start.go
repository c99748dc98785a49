package desk

import (
	"strconv"
	"strings"

	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// startLabel reads the timecode of a first frame; without a rate 25 is taken.
func startLabel(s string, base timecode.Base) (timecode.Ticks, error) {
	w, err := timecode.Parse(s, firstKnown(base, timecode.Base{Rate: timecode.Rate25}))
	if err != nil || !w.Frames && w.Ticks != 0 {
		return 0, &Problem{What: "--start: " + s + " is not a timecode", Hint: "for example --start 10:00:00:00", Kind: ErrUsage, Err: err}
	}
	return w.Ticks, nil
}

// labelBase is how a format counts frames in a timecode: EBU STL knows 25 and
// 30 only.
func labelBase(f timedtext.Format, base timecode.Base) timecode.Base {
	switch nominal := base.Rate.Nominal(); {
	case f != timedtext.STL, nominal == 30:
		return base
	case base.Rate == timecode.Rate5994:
		return timecode.Base{Rate: timecode.Rate2997, Drop: base.Drop}
	case nominal == 60:
		return timecode.Base{Rate: timecode.Rate30}
	}
	return timecode.Base{Rate: timecode.Rate25}
}

// startTime is the time that stands for the timecode of a programme's first
// frame. Where times are labels (frames), it is the label's own. Other formats
// have a clock: it shows what the label shows and goes on in real time, since
// programs that read such files lay them so. (At 23.976 and 29.97 frames/s an
// hour of labels lasts 3.6 s longer than one of a clock: SMPTE ST 12-1.)
func startTime(label string, base timecode.Base, frames bool) (timecode.Ticks, error) {
	base = firstKnown(base, timecode.Base{Rate: timecode.Rate25})
	start, err := startLabel(label, base)
	if err != nil || frames || start == 0 {
		return start, err
	}
	label = strings.TrimSpace(label)
	cut := strings.LastIndexAny(label, ":;")
	clock, err := timecode.Parse(strings.ReplaceAll(label[:cut], ";", ":"), base)
	if err != nil {
		return 0, err
	}
	frame, err := strconv.ParseInt(label[cut+1:], 10, 32)
	return clock.Ticks + base.Rate.Ticks(frame), err
}

// labelOf is the label that a programme start stands for: the reverse of
// startTime.
func labelOf(start timecode.Ticks, base timecode.Base, frames bool) string {
	base = firstKnown(base, timecode.Base{Rate: timecode.Rate25})
	if frames {
		return base.Label(base.Rate.Frame(start, timecode.Nearest))
	}
	second := timecode.Base{Rate: timecode.Rate{Num: base.Rate.Nominal(), Den: 1}}
	whole := start / timecode.Second
	return second.Label(int64(whole)*base.Rate.Nominal() + base.Rate.Frame(start-whole*timecode.Second, timecode.Floor))
}

// newStart finds where the times of doc count from, and where those of the new
// file shall: at label, or where there is none, at the start that doc tells.
// changed is nil where nothing is to move. note says what was taken, where the
// file doesn't tell.
func newStart(doc *timedtext.Document, format timedtext.Format, label string, in, out timecode.Base) (from timecode.Ticks, changed *timecode.Ticks, note string, err error) {
	frames := doc.CountsFrames(format)
	if label == "" {
		if doc.ProgrammeStart == 0 || doc.Labels == frames || !in.Rate.Known() {
			return doc.ProgrammeStart, nil, "", nil
		}
		label = labelOf(doc.ProgrammeStart, in, doc.Labels)
		start, err := startTime(label, labelBase(format, out), frames)
		if err != nil { // no such label at the new rate
			return doc.ProgrammeStart, nil, "", nil
		}
		return doc.ProgrammeStart, &start, "", nil
	}
	start, err := startTime(label, labelBase(format, out), frames)
	if err != nil {
		return 0, nil, "", err
	}
	here, err := startTime(label, labelBase(doc.Format, in), doc.Labels)
	if err != nil {
		here = start
	}
	from, taken := doc.CountsFrom(here, in)
	if taken {
		note = "times count from " + labelOf(from, in, doc.Labels)
		if from == here {
			note += " already, so --start moves none of them"
		} else {
			note += ", it seems: that was taken for the programme's start"
		}
		note += " (--shift moves times whatever they count from)"
	}
	return from, &start, note, nil
}
