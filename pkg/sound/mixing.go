package sound

import (
	"context"
	"errors"
	"io"
	"math"
	"slices"

	"rushlight/pkg/timecode"
)

// Mixing is how the channels of a recording are made one. Channels count from
// 0, in order.
type Mixing struct {
	// Use are averaged, those of Turn among them with opposite polarity.
	Use, Turn []int
	// Leave are too quiet beside the others to be of any use.
	Leave []int
}

// What a channel must be beside the loudest one to be left out or turned:
// common practice, no source.
const (
	mixQuietDB  = 40.0
	mixOpposite = -0.5 // correlation
)

// MixingOf tells how the channels of a file are to be mixed so that its talk in
// some spans isn't weakened: a plain average is silent where two channels have
// opposite polarity, and loses 6 dB to a channel on which nothing is. Errors:
// those of OpenMedia and of reading.
func MixingOf(ctx context.Context, path string, spans []timecode.Span) (m Mixing, err error) {
	r, err := OpenMedia(ctx, path)
	if err != nil {
		return m, err
	}
	defer func() { err = errors.Join(err, r.Close()) }()
	r.SkipEssence()
	info := r.Info()
	s := newMixSums(info.Channels)
	for _, span := range spans {
		from := span.In.Samples(info.SampleRate, timecode.Nearest)
		to := span.Out.Samples(info.SampleRate, timecode.Nearest)
		if info.Channels < 2 || from < 0 || from >= info.Frames {
			continue
		}
		if err := s.read(ctx, r, from, to); err != nil {
			return m, err
		}
	}
	return s.mixing(), nil
}

// mixSums gathers what the channels have in common.
type mixSums struct {
	n     float64
	sum   []float64
	cross [][]float64 // of channel c with channels up to c
	step  int         // every so many frames count
}

func newMixSums(channels int) *mixSums {
	s := &mixSums{sum: make([]float64, channels), step: max(1, channels/2)}
	for c := range channels {
		s.cross = append(s.cross, make([]float64, c+1))
	}
	return s
}

func (s *mixSums) read(ctx context.Context, r Stream, from, to int64) error {
	if err := r.SeekFrame(from); err != nil {
		return err
	}
	for at := from; at < to; {
		if err := ctx.Err(); err != nil {
			return err
		}
		b, err := r.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		n := int(min(int64(len(b.Samples[0])), to-at))
		s.add(b.Samples, n)
		at += int64(n)
	}
	return nil
}

func (s *mixSums) add(samples [][]float64, n int) {
	for i := 0; i < n; i += s.step {
		s.n++
		for c, x := range samples {
			s.sum[c] += x[i]
			for d := range c + 1 {
				s.cross[c][d] += x[i] * samples[d][i]
			}
		}
	}
}

// covariance is without any constant offset.
func (s *mixSums) covariance(c, d int) float64 {
	if c < d {
		c, d = d, c
	}
	return s.cross[c][d] - s.sum[c]*s.sum[d]/max(s.n, 1)
}

func (s *mixSums) mixing() (m Mixing) {
	loudest := 0
	for c := range s.sum {
		if s.covariance(c, c) > s.covariance(loudest, loudest) {
			loudest = c
		}
	}
	most := 0.0
	if len(s.sum) > 0 {
		most = s.covariance(loudest, loudest)
	}
	for c := range s.sum {
		power := s.covariance(c, c)
		switch {
		case most > 0 && power < most*math.Pow(10, -mixQuietDB/10):
			m.Leave = append(m.Leave, c)
			continue
		case most > 0 && s.covariance(c, loudest) < mixOpposite*math.Sqrt(power*most):
			m.Turn = append(m.Turn, c)
		}
		m.Use = append(m.Use, c)
	}
	return m
}

// Average mixes a block into mono, which is used again if it is long enough.
func (m Mixing) Average(samples [][]float64, mono []float64) []float64 {
	mono = append(mono[:0], samples[m.Use[0]]...)
	if slices.Contains(m.Turn, m.Use[0]) {
		for i := range mono {
			mono[i] = -mono[i]
		}
	}
	for _, c := range m.Use[1:] {
		sign := 1.0
		if slices.Contains(m.Turn, c) {
			sign = -1
		}
		for i, v := range samples[c] {
			mono[i] += sign * v
		}
	}
	for i := range mono {
		mono[i] /= float64(len(m.Use))
	}
	return mono
}
