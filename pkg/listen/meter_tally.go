package listen

import "math"

// meterTally gathers the figures of one span from the steps in it.
type meterTally struct {
	steps           int64
	blocks, shorts  meterBlocks
	momentary, slow float64 // highest mean energies
	peak            float64
}

func newMeterTally() meterTally { return meterTally{} }

// take adds the step that was just closed.
func (t *meterTally) take(s *meterSteps) {
	t.steps++
	t.peak = math.Max(t.peak, s.peak)
	if t.steps >= meterMomentary {
		e := s.mean(meterMomentary)
		t.momentary = math.Max(t.momentary, e)
		if (t.steps-meterMomentary)%meterHop == 0 {
			t.blocks.add(e)
		}
	}
	if t.steps >= meterShort {
		e := s.mean(meterShort)
		t.slow = math.Max(t.slow, e)
		if (t.steps-meterShort)%meterHop == 0 {
			t.shorts.add(e)
		}
	}
}

// measured draws the figures; scratch is emptied first.
func (t *meterTally) measured(scratch *gate) Measured {
	m := Measured{
		MomentaryMaxLUFS: loudnessOf(t.momentary),
		ShortTermMaxLUFS: loudnessOf(t.slow),
		TruePeakDBTP:     20 * math.Log10(t.peak),
	}
	m.IntegratedLUFS = t.blocks.in(scratch).integrated()
	m.RangeLU = loudnessRange(t.shorts.in(scratch))
	return m
}

// meterBlocks keeps block energies: a few as they are, many as a histogram,
// so that thousands of quotes need little and ten hours no more than that.
type meterBlocks struct {
	few  []float64
	many *gate
}

const meterFew = 2048 // 3.4 minutes of gating blocks

func (b *meterBlocks) add(energy float64) {
	switch {
	case b.many != nil:
		b.many.add(energy)
	case len(b.few) < meterFew:
		b.few = append(b.few, energy)
	default:
		b.many = b.in(&gate{})
		b.many.add(energy)
		b.few = nil
	}
}

// in gives all as a histogram: scratch, or its own.
func (b *meterBlocks) in(scratch *gate) *gate {
	if b.many != nil {
		return b.many
	}
	clear(scratch.sum)
	clear(scratch.count)
	for _, e := range b.few {
		scratch.add(e)
	}
	return scratch
}

// Gates and percentiles of the loudness range (EBU Tech 3342 clause 2).
const (
	rangeGate = -20.0 // LU below the mean of what passes the absolute gate
	rangeLow  = 0.10
	rangeHigh = 0.95
)

// loudnessRange is the spread between the 10th and the 95th percentile of
// short-term loudness, gated at −70 LUFS and at 20 LU below the mean. 0 if
// nothing passes.
func loudnessRange(g *gate) float64 {
	var sum float64
	var n int64
	for i := range g.sum {
		sum += g.sum[i]
		n += g.count[i]
	}
	if n == 0 {
		return 0
	}
	edge := loudnessOf(sum/float64(n)) + rangeGate
	from := max(0, int(math.Ceil((edge-absoluteGate)*100)))
	n = 0
	for _, c := range g.count[min(from, len(g.count)):] {
		n += c
	}
	rank := func(p float64) float64 {
		left := int64(math.Round(p*float64(n-1))) + 1
		for i := from; i < len(g.count); i++ {
			if left -= g.count[i]; left <= 0 {
				return loudnessOf(g.sum[i] / float64(g.count[i]))
			}
		}
		return 0
	}
	if n < 1 {
		return 0
	}
	return rank(rangeHigh) - rank(rangeLow)
}
