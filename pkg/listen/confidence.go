package listen

import (
	"math"
	"slices"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Confidence says for each stretch of h.Speech how sure it is that somebody
// speaks there, 0 to 1: by how far its louder half stands out of the silence
// on both sides, how much its level moves (syllables do, an engine does not),
// and how long it is. It is a rank, not a share of stretches that are right:
// in real meetings a stretch with speech ranks above one without in 78 of 100
// pairs (TestConfidence). Nil if there is no speech.
func Confidence(h story.Heard) []float64 {
	var out []float64
	for i, s := range h.Speech {
		out = append(out, confidence(h, i, s))
	}
	return out
}

const (
	sureReach = 200  // steps of silence on each side that are compared
	sureRise  = 15.0 // dB above the silence where it is even,
	sureSlope = 3.0  // and for each of these it is e times likelier
	sureMoves = 4.5  // dB that levels of speech move about their mean,
	sureStep  = 1.0  // as above
	sureShort = 0.15 // seconds at which length makes it even
)

func confidence(h story.Heard, i int, s timecode.Span) float64 {
	steps := len(h.Envelope.RMS)
	step := func(t timecode.Ticks) int { return min(steps, int(t/story.EnvelopeStep)) }
	from, to := step(s.In), step(s.Out)
	if to <= from {
		return 0
	}
	lo, hi := 0, steps
	if i > 0 {
		lo = step(h.Speech[i-1].Out)
	}
	if i+1 < len(h.Speech) {
		hi = step(h.Speech[i+1].In)
	}
	quiet := append([]int16{}, h.Envelope.RMS[max(lo, from-sureReach):from]...)
	quiet = append(quiet, h.Envelope.RMS[to:max(to, min(hi, to+sureReach))]...)
	floor := h.FloorDBFS
	if len(quiet) > 0 {
		slices.Sort(quiet)
		floor = math.Max(floor, float64(quiet[len(quiet)/2])/100)
	}
	levels := slices.Clone(h.Envelope.RMS[from:to])
	slices.Sort(levels)
	rise := float64(levels[len(levels)*3/4])/100 - floor
	var sum, square float64
	for _, v := range levels[len(levels)/5:] { // without fades and holes
		x := float64(v) / 100
		sum += x
		square += x * x
	}
	n := float64(len(levels) - len(levels)/5)
	moves := math.Sqrt(max(0, square/n-sum/n*sum/n))
	likely := math.Min((rise-sureRise)/sureSlope, (moves-sureMoves)/sureStep+1)
	long := s.Length().Seconds() / sureShort
	return 1 / (1 + math.Exp(-likely)) * long / (1 + long)
}
