package listen

import (
	"math"
	"sort"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// What belongs to room tone (common practice, no source).
const (
	toneFromTalk  = 250 * timecode.Millisecond // from speech: breath and the room's tail
	toneFromNoise = 150 * timecode.Millisecond
	toneAbove     = 500  // hundredths of a dB over the quiet level: an event
	toneBelow     = 1200 // under it: a hole, not the room
	toneCrest     = 2000 // a peak so far over the quiet level: a click
)

// RoomTone finds stretches of at least min in which nobody speaks and nothing
// happens: before the first speech, in the pauses and after the last, where
// the level stays near that of the quiet. Best first: long and even. Digital
// silence is no room tone unless the whole recording is silent outside speech.
// Nil if there is none; min below 10 ms counts as 10 ms.
func RoomTone(h story.Heard, min timecode.Ticks) []timecode.Span {
	quiet, ok := toneQuiet(h)
	if !ok {
		return nil
	}
	var found []toneStretch
	for _, s := range toneGaps(h) {
		found = append(found, toneSteady(h.Envelope, s, quiet, min)...)
	}
	sort.SliceStable(found, func(i, j int) bool { return found[i].worth > found[j].worth })
	var out []timecode.Span
	for _, f := range found {
		out = append(out, f.Span)
	}
	return out
}

type toneStretch struct {
	timecode.Span
	worth float64
}

// toneGaps are the times without speech, away from its edges.
func toneGaps(h story.Heard) []timecode.Span {
	end := timecode.Ticks(len(h.Envelope.RMS)) * story.EnvelopeStep
	if h.Duration > 0 {
		end = min(end, h.Duration)
	}
	if len(h.Speech) == 0 {
		return []timecode.Span{{Out: end}}
	}
	var out []timecode.Span
	at := timecode.Ticks(0)
	for _, s := range h.Speech {
		if s.In-toneFromTalk > at {
			out = append(out, timecode.Span{In: at, Out: s.In - toneFromTalk})
		}
		at = max(at, s.Out+toneFromTalk)
	}
	if end > at {
		out = append(out, timecode.Span{In: at, Out: end})
	}
	return out
}

// toneQuiet is the level, in hundredths of dBFS, that the room has: the lower
// third of what is not speech, holes left out.
func toneQuiet(h story.Heard) (int, bool) {
	var all []int16
	silent := 0
	for _, s := range toneGaps(h) {
		for _, v := range toneSteps(h.Envelope.RMS, s) {
			if v <= story.EnvelopeSilent {
				silent++
				continue
			}
			all = append(all, v)
		}
	}
	switch {
	case len(all) > 0:
		sort.Slice(all, func(i, j int) bool { return all[i] < all[j] })
		return int(all[len(all)/3]), true
	case silent > 0:
		return int(story.EnvelopeSilent), true
	}
	return 0, false
}

// toneSteps are the values whose 10 ms lie within the span.
func toneSteps(v []int16, s timecode.Span) []int16 {
	from, to := toneRange(len(v), s)
	return v[from:to]
}

func toneRange(n int, s timecode.Span) (from, to int) {
	from = int((s.In + story.EnvelopeStep - 1) / story.EnvelopeStep)
	to = int(s.Out / story.EnvelopeStep)
	from = max(0, min(from, n))
	return from, max(from, min(to, n))
}

// toneSteady are the stretches of a gap in which the level is even.
func toneSteady(e story.Envelope, gap timecode.Span, quiet int, least timecode.Ticks) []toneStretch {
	from, to := toneRange(min(len(e.RMS), len(e.Peak)), gap)
	guard := int(toneFromNoise / story.EnvelopeStep)
	var out []toneStretch
	start := from
	for i := from; i <= to; i++ {
		if i < to && !toneEvent(e, i, from, to, quiet) {
			continue
		}
		end := i
		if i < to {
			end = i - guard
		}
		s := timecode.Span{In: timecode.Ticks(start) * story.EnvelopeStep, Out: timecode.Ticks(end) * story.EnvelopeStep}
		if s.Length() >= max(least, story.EnvelopeStep) {
			out = append(out, toneStretch{Span: s, worth: s.Length().Seconds() / (1 + toneUneven(e.RMS[start:end]))})
		}
		start = i + 1 + guard
	}
	return out
}

// toneEvent tells whether something happens in step i: the level of 50 ms, or
// a peak, stands out, or there is a hole.
func toneEvent(e story.Envelope, i, from, to, quiet int) bool {
	var sum float64
	n := 0
	for j := max(from, i-2); j <= min(to-1, i+2); j++ {
		sum += math.Pow(10, float64(e.RMS[j])/1000)
		n++
	}
	level := 1000 * math.Log10(sum/float64(n))
	return level > float64(quiet+toneAbove) || int(e.Peak[i]) > quiet+toneCrest || int(e.RMS[i]) < quiet-toneBelow
}

// toneUneven is how far the level of 100 ms strays, as a share of 3 dB.
func toneUneven(v []int16) float64 {
	const n = 10
	var sum, square, k float64
	for i := 0; i+n <= len(v); i += n {
		var p float64
		for _, x := range v[i : i+n] {
			p += math.Pow(10, float64(x)/1000)
		}
		l := 10 * math.Log10(p/n)
		sum += l
		square += l * l
		k++
	}
	if k < 2 {
		return 1
	}
	return math.Sqrt(math.Max(0, square/k-sum/k*sum/k)) / 3
}
