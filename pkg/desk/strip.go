package desk

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// StripRow is one row of the picture of a recording: a stretch of time in
// columns of equal length.
type StripRow struct {
	timecode.Span
	// Levels is how loud each column is, from 0 (the noise floor) to 8 (the
	// loudest of the recording).
	Levels []int
	// Who holds for each column the sign of who talks, '&' where two talk at
	// once, '-' in a pause, a space where there is neither.
	Who []rune
}

// StripColumns is how many columns a row has at most.
const StripColumns = 68

// stripSteps are the lengths a column can have.
func stripSteps() []timecode.Ticks {
	s := timecode.Second
	return []timecode.Ticks{s / 4, s / 2, s, 2 * s, 5 * s, 10 * s, 15 * s, 30 * s, 60 * s, 120 * s, 300 * s, 600 * s}
}

// Strip draws a recording in at most six rows, with the length of a column.
func (l Listened) Strip() ([]StripRow, timecode.Ticks) {
	steps := stripSteps()
	step := steps[len(steps)-1]
	for _, s := range steps {
		if l.Heard.Duration <= 6*StripColumns*s {
			step = s
			break
		}
	}
	var rows []StripRow
	signs := l.Signs()
	top := story.EnvelopeSilent
	for _, v := range l.Heard.Envelope.RMS {
		top = max(top, v)
	}
	for at := timecode.Ticks(0); at < l.Heard.Duration; at += StripColumns * step {
		row := StripRow{Span: timecode.Span{In: at, Out: min(at+StripColumns*step, l.Heard.Duration)}}
		for c := at; c < row.Out; c += step {
			col := timecode.Span{In: c, Out: min(c+step, row.Out)}
			row.Levels = append(row.Levels, l.level(col, top))
			row.Who = append(row.Who, l.who(col, signs))
		}
		rows = append(rows, row)
	}
	return rows, step
}

// level puts the loudest 10 ms of a column between the noise floor and the
// loudest of the recording (top, in hundredths of a decibel).
func (l Listened) level(col timecode.Span, top int16) int {
	env := l.Heard.Envelope.RMS
	here := story.EnvelopeSilent
	from := int(col.In / story.EnvelopeStep)
	to := min(int((col.Out+story.EnvelopeStep-1)/story.EnvelopeStep), len(env))
	for i := from; i < to; i++ {
		here = max(here, env[i])
	}
	floor := max(l.Heard.FloorDBFS, -90)
	reach := float64(top)/100 - floor
	if reach <= 0 {
		return 0
	}
	share := (float64(here)/100 - floor) / reach
	return max(0, min(8, int(share*8+0.5)))
}

// who tells who has most of a column.
func (l Listened) who(col timecode.Span, signs map[string]rune) rune {
	var quiet timecode.Ticks
	for _, p := range l.Heard.Pauses {
		quiet += p.Intersect(col).Length()
	}
	if 2*quiet >= col.Length() {
		return '-'
	}
	share := map[string]timecode.Ticks{}
	for _, t := range l.Heard.Turns {
		share[t.Speaker] += t.Intersect(col).Length()
	}
	sign := ' '
	for name, n := range share {
		if 2*n < col.Length() {
			continue
		}
		if sign != ' ' {
			return '&'
		}
		sign = signs[name]
	}
	return sign
}

// Signs gives each speaker a letter: the initial if nobody else has it, the
// number of a voice without a name, else the next free letter.
func (l Listened) Signs() map[string]rune {
	signs := map[string]rune{}
	taken := map[rune]bool{'-': true, '&': true, ' ': true}
	for _, t := range story.TalkShares(l.Heard.Turns) {
		candidates := []rune{}
		letters := func(s string) {
			for _, r := range s {
				if unicode.IsLetter(r) || unicode.IsDigit(r) {
					candidates = append(candidates, unicode.ToUpper(r))
				}
			}
		}
		if rest, ok := strings.CutPrefix(t.Speaker, "Voice "); ok && utf8.RuneCountInString(rest) == 1 {
			letters(rest)
		}
		letters(t.Speaker)
		for r := 'A'; r <= 'Z'; r++ {
			candidates = append(candidates, r)
		}
		for _, r := range append(candidates, '?') {
			if !taken[r] || r == '?' {
				signs[t.Speaker] = r
				taken[r] = true
				break
			}
		}
	}
	return signs
}
