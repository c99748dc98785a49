package listen

import (
	"context"
	"encoding/binary"
	"fmt"
	"math"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// VoiceMeasure is what a voice is known by from one recording to the next:
// mean and covariance of mel cepstrum and pitch over its voiced cells of
// 60 ms. It can't be played or turned back into words, but it is personal data
// of who spoke.
type VoiceMeasure struct{ stats gauss }

// voiceForm numbers the form of a packed measure.
const voiceForm = 1

// Seconds is about how much voiced talk was measured.
func (m VoiceMeasure) Seconds() float64 {
	return m.stats.n * framesPerCell * story.EnvelopeStep.Seconds()
}

// Enough tells whether there is enough talk to say whose voice it is.
func (m VoiceMeasure) Enough() bool { return m.stats.n >= enoughVoice }

// enoughVoice is 3 s of voiced talk, about 6 s of talk.
const enoughVoice = 50

// MarshalBinary packs the measure into 425 bytes.
func (m VoiceMeasure) MarshalBinary() ([]byte, error) {
	b := []byte{voiceForm}
	put := func(v float64) { b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(v))) }
	put(m.stats.n)
	for _, v := range m.stats.sum {
		put(v / max(m.stats.n, 1))
	}
	c := m.stats.spread()
	for _, v := range c {
		put(v)
	}
	return b, nil
}

// UnmarshalBinary reads what MarshalBinary packs. Error: ErrSource for
// anything else.
func (m *VoiceMeasure) UnmarshalBinary(b []byte) error {
	var g gauss
	if want := 1 + 4*(1+len(g.sum)+len(g.out)); len(b) != want || b[0] != voiceForm {
		return fmt.Errorf("listen: %w: no measure of a voice in %d bytes", ErrSource, len(b))
	}
	at := 1
	get := func() float64 {
		v := math.Float32frombits(binary.LittleEndian.Uint32(b[at:]))
		at += 4
		return float64(v)
	}
	g.n = get()
	for i := range g.sum {
		g.sum[i] = get() * g.n
	}
	k := 0
	for i := range voiceDims {
		for j := 0; j <= i; j++ {
			g.out[k] = get()*g.n + g.sum[i]*g.sum[j]/max(g.n, 1)
			k++
		}
	}
	m.stats = g
	return nil
}

// spread is the covariance as it is.
func (g *gauss) spread() (c [voiceDims * (voiceDims + 1) / 2]float64) {
	n := max(g.n, 1)
	k := 0
	for i := range voiceDims {
		for j := 0; j <= i; j++ {
			c[k] = (g.out[k] - g.sum[i]*g.sum[j]/n) / n
			k++
		}
	}
	return c
}

// MeasureVoices listens to src to its end and measures the voice of each
// speaker of turns, where only that one talks. Speakers without any voiced
// talk are left out. Memory and errors as Hear; it doesn't close src.
func MeasureVoices(ctx context.Context, src Source, turns []story.Turn, progress func(done timecode.Ticks)) (map[string]VoiceMeasure, error) {
	info := src.Info()
	if err := checkSource(src); err != nil {
		return nil, err
	}
	a := newAnalysis(info, nil)
	_, by := analysisRate(info.SampleRate)
	slow := make([]*decimator, info.Channels)
	for c := range slow {
		slow[c] = newDecimator(by)
	}
	block := make([][]float64, info.Channels)
	frames := int64(0)
	err := eachBlock(ctx, src, progress, func(samples [][]float64) bool {
		for c, x := range samples {
			block[c] = slow[c].feed(block[c][:0], x)
		}
		a.feed(block)
		frames += int64(len(samples[0]))
		return true
	})
	if err != nil {
		return nil, err
	}
	a.finish(int((frames*100 + int64(info.SampleRate) - 1) / int64(info.SampleRate)))
	return a.measures(turns), nil
}

// measures gives each cell that one speaker alone talks over to that one.
func (a *analysis) measures(turns []story.Turn) map[string]VoiceMeasure {
	owner := make([]int, len(a.cells)) // speaker + 1, −1 for several
	number := map[string]int{}
	var names []string
	cellTime := timecode.Ticks(a.perCell) * story.EnvelopeStep
	for _, t := range turns {
		if t.Speaker == "" || t.Empty() {
			continue
		}
		n, ok := number[t.Speaker]
		if !ok {
			names = append(names, t.Speaker)
			n = len(names)
			number[t.Speaker] = n
		}
		for c := max(0, int(t.In/cellTime)); c < len(owner) && timecode.Ticks(c)*cellTime < t.Out; c++ {
			switch whole := timecode.Ticks(c)*cellTime >= t.In && timecode.Ticks(c+1)*cellTime <= t.Out; {
			case whole && (owner[c] == 0 || owner[c] == n):
				owner[c] = n
			default:
				owner[c] = -1
			}
		}
	}
	stats := make([]gauss, len(names))
	for c, n := range owner {
		if n < 1 || a.cells[c].voiced < 2 {
			continue
		}
		if v, ok := a.cells[c].vectorOf(); ok {
			stats[n-1].add(&v)
		}
	}
	out := map[string]VoiceMeasure{}
	for i, g := range stats {
		if g.n > 0 {
			out[names[i]] = VoiceMeasure{g}
		}
	}
	return out
}
