package timedtext

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rushlight/pkg/timecode"
)

// ErrRetime is wrapped by errors about a retiming that can't be.
var ErrRetime = errors.New("times can't be changed so")

// Retiming says how the times of a document are changed. The parts are
// applied in the order of the fields; the zero value changes nothing.
type Retiming struct {
	// From and To: the same frames shown at another rate. A file timed to a
	// film at 25 frames/s fits it at 23.976 with From 25, To 23.976. Both or
	// neither.
	From, To timecode.Rate
	// Stretch multiplies times; the zero Factor is 1.
	Stretch Factor
	// Start is the timecode of the programme's first frame: times count from
	// it instead of from where they counted before (the document's own
	// programme start). nil leaves it.
	Start *timecode.Ticks
	// Shift is added to every time.
	Shift timecode.Ticks
}

// Factor is a fraction Num/Den above 0.
type Factor struct{ Num, Den int64 }

// ParseFactor reads 1.001, 25/24 or 24000/1001 exactly.
func ParseFactor(s string) (Factor, error) {
	bad := fmt.Errorf("%w: stretch %q, want for example 1.001 or 25/24", ErrRetime, s)
	num, den, fraction := strings.Cut(strings.TrimSpace(s), "/")
	f := Factor{Den: 1}
	var err error
	if fraction {
		if f.Den, err = strconv.ParseInt(strings.TrimSpace(den), 10, 32); err != nil || f.Den < 1 {
			return Factor{}, bad
		}
	}
	whole, digits, _ := strings.Cut(strings.TrimSpace(num), ".")
	if len(digits) > 9 || strings.HasPrefix(digits, "-") || strings.HasPrefix(digits, "+") {
		return Factor{}, bad
	}
	if f.Num, err = strconv.ParseInt(whole+digits, 10, 48); err != nil || f.Num < 1 {
		return Factor{}, bad
	}
	for range digits {
		f.Den *= 10
	}
	if f.Num > 100*f.Den || f.Den > 100*f.Num {
		return Factor{}, fmt.Errorf("%w: stretch %q, want between 1/100 and 100", ErrRetime, s)
	}
	return f, nil
}

// CountsFrames tells whether the times of the document are timecode labels in a
// format, not times of a clock.
func (d *Document) CountsFrames(f Format) bool {
	return f == STL || d.Labels && (f == PlainText || f == DOCX || f == JSON)
}

// CountsFrom finds the time of the programme's first frame, where it shall
// become start (in the times of the document). Most formats don't tell theirs:
// cues that begin at or after start, less than an hour later, count from it
// already; others that begin an hour or more after zero count from the whole
// hour before them, as programmes commonly do (common practice, no source).
// taken tells that this was taken from the cues, not told by the file. base
// serves labels.
func (d *Document) CountsFrom(start timecode.Ticks, base timecode.Base) (from timecode.Ticks, taken bool) {
	if len(d.Cues) == 0 {
		return d.ProgrammeStart, false
	}
	first, last := d.firstCue(), timecode.Ticks(0)
	for _, c := range d.Cues {
		last = max(last, c.In)
	}
	hour := timecode.Hour
	if d.Labels && base.Rate.Known() {
		hour = base.Rate.Ticks(3600 * base.Rate.Nominal())
		if base.Drop {
			hour = base.Rate.Ticks(base.FramesPerDay() / 24)
		}
	}
	// A first cue may lie a little before the first frame of the programme.
	early := min(start/60, timecode.Minute)
	switch {
	case d.ProgrammeStart != 0 && last >= d.ProgrammeStart:
		return d.ProgrammeStart, false
	case start >= timecode.Minute && first >= start-early && first < start+hour:
		return start, true
	case first >= hour:
		return first / hour * hour, true
	}
	return 0, d.ProgrammeStart != 0
}

// firstCue is where the first cue lies. One alone, half an hour before all
// others, is no subtitle: some files begin with a cue at zero that names them.
func (d *Document) firstCue() timecode.Ticks {
	first, second := timecode.Ticks(1<<62), timecode.Ticks(1<<62)
	for _, c := range d.Cues {
		if c.In < first {
			first, second = c.In, first
		} else if c.In < second {
			second = c.In
		}
	}
	if len(d.Cues) > 2 && second-first > 30*timecode.Minute {
		return second
	}
	return first
}

// Retime gives a document with changed times; doc stays as it is. notes says
// which cues fell before the start: those over by then are left out, those
// under way begin at it.
func Retime(doc *Document, r Retiming) (out *Document, notes []string, err error) {
	if r.From.Known() != r.To.Known() {
		return nil, nil, fmt.Errorf("%w: two rates are needed, the one the file was timed to and the new one", ErrRetime)
	}
	copied := *doc
	out = &copied
	start := doc.ProgrammeStart
	if r.Start != nil {
		out.ProgrammeStart = *r.Start
	}
	move := func(t timecode.Ticks) timecode.Ticks {
		if t == NoTime {
			return t
		}
		t -= start
		if r.From.Known() {
			t = t.Scale(r.From.Num*r.To.Den, r.From.Den*r.To.Num, timecode.Nearest)
		}
		if r.Stretch.Num > 0 {
			t = t.Scale(r.Stretch.Num, r.Stretch.Den, timecode.Nearest)
		}
		return t + out.ProgrammeStart + r.Shift
	}
	out.Cues = make([]Cue, 0, len(doc.Cues))
	early, cut := 0, 0
	for _, c := range doc.Cues {
		c.In, c.Out = move(c.In), move(c.Out)
		if c.Out != NoTime && c.Out <= 0 {
			early++
			continue
		}
		if c.In < 0 {
			c.In = 0
			cut++
		}
		c.Lines = moveWords(c.Lines, move)
		out.Cues = append(out.Cues, c)
	}
	if early > 0 {
		notes = append(notes, fmt.Sprintf("left out before time 0: %d", early))
	}
	if cut > 0 {
		notes = append(notes, fmt.Sprintf("begin at time 0 instead of before: %d", cut))
	}
	if r.To.Known() {
		out.Base = timecode.Base{Rate: r.To, Drop: doc.Base.Drop && (r.To == timecode.Rate2997 || r.To == timecode.Rate5994)}
	}
	return out, notes, nil
}

// moveWords moves the times of words; lines without any are shared.
func moveWords(lines []Line, move func(timecode.Ticks) timecode.Ticks) []Line {
	timed := slices.ContainsFunc(lines, func(l Line) bool {
		return slices.ContainsFunc(l, func(r Run) bool { return len(r.Words) > 0 })
	})
	if !timed {
		return lines
	}
	out := make([]Line, len(lines))
	for i, l := range lines {
		out[i] = slices.Clone(l)
		for j, run := range l {
			words := slices.Clone(run.Words)
			for k := range words {
				words[k].In, words[k].Out = max(move(words[k].In), 0), move(words[k].Out)
			}
			out[i][j].Words = words
		}
	}
	return out
}
