package listen

import (
	"context"
	"math"
	"sort"

	"rushlight/pkg/timecode"
)

// MeasureSpans measures each span of src, in one pass; spans may overlap and
// come in any order, and the result has theirs. Edges are taken to the nearest
// 10 ms. A span shorter than 400 ms has no loudness, one shorter than 3 s no
// short-term loudness and no range; one beyond the sound has nothing at all.
// src is read from where it stands, which must be its start, to the end of the
// last span.
//
// Memory: a few kilobytes for each span that is open at one time, at most
// 320 KB for those of more than three minutes. Errors: as Hear.
func MeasureSpans(ctx context.Context, src Source, spans []timecode.Span) ([]Measured, error) {
	info := src.Info()
	if err := checkSource(src); err != nil {
		return nil, err
	}
	m := newMeterSpans(spans)
	s := newMeterSteps(info.SampleRate, info.Channels, info.ChannelMask)
	m.open(0)
	more := func() bool { return len(m.active) > 0 || m.next < len(m.order) }
	if more() {
		err := eachBlock(ctx, src, nil, func(samples [][]float64) bool {
			s.feed(samples, m)
			return more()
		})
		if err != nil {
			return nil, err
		}
	}
	rest := 0.0
	if len(m.active) > 0 {
		rest = s.rest()
	}
	for len(m.active) > 0 {
		t := &m.active[0].tally
		t.peak = math.Max(t.peak, rest)
		m.close(0)
	}
	return m.out, nil
}

// meterSpans holds the spans that are being measured.
type meterSpans struct {
	spans  []timecode.Span
	order  []int // by In
	next   int   // the first of order not yet open
	active []*meterOpen
	out    []Measured
	gate   gate
}

type meterOpen struct {
	index int
	end   int64 // step at which it ends
	tally meterTally
}

func newMeterSpans(spans []timecode.Span) *meterSpans {
	m := &meterSpans{spans: spans, out: make([]Measured, len(spans))}
	empty := newMeterTally()
	nothing := empty.measured(&m.gate)
	for i, s := range spans {
		m.out[i] = nothing
		if meterStep(s.Out) > meterStep(s.In) {
			m.order = append(m.order, i)
		}
	}
	sort.SliceStable(m.order, func(i, j int) bool { return spans[m.order[i]].In < spans[m.order[j]].In })
	return m
}

// meterStep is the nearest 10 ms step, not below 0.
func meterStep(t timecode.Ticks) int64 {
	const step = 10 * timecode.Millisecond
	return max(0, int64((t+step/2)/step))
}

// open opens the spans that begin at this step or before.
func (m *meterSpans) open(step int64) {
	for m.next < len(m.order) {
		i := m.order[m.next]
		if meterStep(m.spans[i].In) > step {
			return
		}
		m.next++
		m.active = append(m.active, &meterOpen{index: i, end: meterStep(m.spans[i].Out), tally: newMeterTally()})
	}
}

// known is the lowest peak of the open spans.
func (m *meterSpans) known() float64 {
	low := math.Inf(1)
	for _, a := range m.active {
		low = math.Min(low, a.tally.peak)
	}
	return low
}

// take gives the step that was just closed to all open spans.
func (m *meterSpans) take(s *meterSteps) {
	for i := 0; i < len(m.active); {
		a := m.active[i]
		a.tally.take(s)
		if s.step >= a.end {
			m.close(i)
			continue
		}
		i++
	}
	m.open(s.step)
}

func (m *meterSpans) close(i int) {
	a := m.active[i]
	m.out[a.index] = a.tally.measured(&m.gate)
	m.active[i] = m.active[len(m.active)-1]
	m.active = m.active[:len(m.active)-1]
}
