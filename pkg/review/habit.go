package review

import (
	"cmp"
	"math"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Habit is how one person usually talks in one reel: medians over their
// quotes of at least four words. What is not known is not set.
type Habit struct {
	// Pace is in words per second, 0 if not known.
	Pace float64
	// LevelDBFS is the level while they talk; Heard tells whether it is known.
	LevelDBFS float64
	Heard     bool
}

// habitWords is the least number of words of a quote that tells a habit.
const habitWords = 4

// Habits finds the habit of each speaker of one reel. heard may be nil.
func Habits(quotes []story.Quote, heard *story.Heard) map[string]Habit {
	paces, levels := map[string][]float64{}, map[string][]float64{}
	for _, q := range quotes {
		n := cut(q.Text).count()
		if n < habitWords || q.Empty() {
			continue
		}
		paces[q.Speaker] = append(paces[q.Speaker], float64(n)/talking(q.Span, heard).Seconds())
		if level, ok := levelOf(q.Span, heard); ok {
			levels[q.Speaker] = append(levels[q.Speaker], level)
		}
	}
	out := map[string]Habit{}
	for who, p := range paces {
		h := Habit{Pace: median(p)}
		if l := levels[who]; len(l) > 0 {
			h.LevelDBFS, h.Heard = median(l), true
		}
		out[who] = h
	}
	return out
}

// talking is how much of a span somebody speaks: heard speech, or all of it
// where no speech was heard. It is never 0 for a span with a length.
func talking(span timecode.Span, heard *story.Heard) timecode.Ticks {
	if heard == nil {
		return span.Length()
	}
	i, _ := slices.BinarySearchFunc(heard.Speech, span.In, func(s timecode.Span, t timecode.Ticks) int { return cmp.Compare(s.Out, t) })
	var sum timecode.Ticks
	for ; i < len(heard.Speech) && heard.Speech[i].In < span.Out; i++ {
		sum += heard.Speech[i].Intersect(span).Length()
	}
	if sum <= 0 {
		return span.Length()
	}
	return sum
}

// median is the middle of at least one value; of an even number, the mean of
// the two in the middle. It sorts v.
func median(v []float64) float64 {
	slices.Sort(v)
	return (v[(len(v)-1)/2] + v[len(v)/2]) / 2
}

// levelOf is the level of a span in dBFS: the mean power of its 10 ms values
// that are above the speech threshold, of all if none is. False where nothing
// was heard of it.
func levelOf(span timecode.Span, heard *story.Heard) (float64, bool) {
	rms, _ := window(span, heard)
	if len(rms) == 0 {
		return 0, false
	}
	var loud, all float64
	n := 0
	for _, v := range rms {
		db := float64(v) / 100
		p := math.Pow(10, db/10)
		all += p
		if db >= heard.ThresholdDBFS {
			loud += p
			n++
		}
	}
	mean := all / float64(len(rms))
	if n > 0 {
		mean = loud / float64(n)
	}
	if mean <= 0 {
		return float64(story.EnvelopeSilent) / 100, true
	}
	return 10 * math.Log10(mean), true
}

// window is the part of the envelope that a span covers: RMS and peak.
func window(span timecode.Span, heard *story.Heard) (rms, peak []int16) {
	if heard == nil || span.Empty() {
		return nil, nil
	}
	e := heard.Envelope
	n := timecode.Ticks(min(len(e.RMS), len(e.Peak)))
	from := min(max(span.In/story.EnvelopeStep, 0), n)
	to := min(max((span.Out+story.EnvelopeStep-1)/story.EnvelopeStep, from), n)
	return e.RMS[from:to], e.Peak[from:to]
}
