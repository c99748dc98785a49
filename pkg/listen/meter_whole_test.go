package listen

import "math"

// Meter measures loudness and true peak of sound as it passes, with the steps
// and the tally that listening has; in one goroutine.
type Meter struct {
	steps meterSteps
	tally meterTally
}

// NewMeter makes a meter for sound of sampleRate Hz; mask is the file's
// channel mask, which says what weight each channel has (0 if there is none:
// five and six channels are then taken as 5.0 and 5.1).
func NewMeter(sampleRate, channels int, mask uint32) *Meter {
	m := &Meter{tally: newMeterTally()}
	m.steps = newMeterSteps(sampleRate, channels, mask)
	return m
}

// Write takes samples[channel][i], full scale ±1.0, all channels equally long.
// What is no number, or beyond +80 dBFS, counts as 0. Channels beyond those
// the meter was made for are left out.
func (m *Meter) Write(samples [][]float64) {
	m.steps.feed(samples, m)
}

func (m *Meter) known() float64     { return m.tally.peak }
func (m *Meter) take(s *meterSteps) { m.tally.take(s) }

// Measured is what came so far; loudness counts whole steps of 10 ms. More can
// be written afterwards.
func (m *Meter) Measured() Measured {
	t := m.tally
	t.peak = math.Max(t.peak, m.steps.rest())
	return t.measured(&gate{})
}
