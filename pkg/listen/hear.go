package listen

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"

	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// ErrSource is wrapped by the error about a source that cannot be heard:
// without channels, or without a sample rate.
var ErrSource = errors.New("nothing to hear")

// Hear listens to src to its end and says what is in it. It does not close
// src. An hour takes about 4 MB whatever the channels and the sample rate; band
// levels beyond 4 MiB lie in a file in the system's folder for temporary
// files, 1.4 MiB for each hour of each channel, until Hear returns. An empty,
// silent or tiny source gives a Heard without speech.
//
// Errors: what src.Next returns (wrapped, with the place), ctx's error,
// ErrSource, and one about the temporary file if it can't be read again (if it
// can't be written, more is kept in memory). Hear itself runs on two goroutines
// and returns when both are done.
func Hear(ctx context.Context, src Source, opt Options) (story.Heard, error) {
	if err := checkSource(src); err != nil {
		return story.Heard{}, err
	}
	return hearWith(ctx, src, opt, newLevelStore(src.Info().Channels, pagesInMind))
}

// hearWith is Hear with the band levels in store, which it closes.
func hearWith(ctx context.Context, src Source, opt Options, store *levelStore) (story.Heard, error) {
	defer store.close()
	info := src.Info()
	e, a := newEar(info), newAnalysis(info, store)
	if err := stream(ctx, src, opt, e, a); err != nil {
		return story.Heard{}, err
	}
	e.finish()
	a.finish(len(e.env.RMS))
	h := conclude(e, a, info, opt)
	if store.err != nil {
		return story.Heard{}, store.err
	}
	return h, nil
}

// parcel is a block at the analysis rate on its way to the second goroutine.
type parcel [][]float64

// stream passes all blocks through both halves.
func stream(ctx context.Context, src Source, opt Options, e *ear, a *analysis) error {
	const ahead = 4
	work, free := make(chan parcel, ahead), make(chan parcel, ahead+1)
	for range ahead + 1 {
		free <- make(parcel, len(e.tracks))
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		for p := range work {
			a.feed(p)
			free <- p
		}
	}()
	defer func() {
		close(work)
		<-done
	}()
	told := int64(0)
	for {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("listen: stopped at %s: %w", e.at(), err)
		}
		b, err := src.Next()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("listen: at %s: %w", e.at(), err)
		}
		if len(b.Samples) != len(e.tracks) {
			return fmt.Errorf("listen: at %s: %w: block with %d channels, want %d", e.at(), ErrSource, len(b.Samples), len(e.tracks))
		}
		p := <-free
		for c := range p {
			p[c] = p[c][:0]
		}
		e.hear(b.Samples, p)
		work <- p
		if opt.Progress != nil && e.frames-told >= e.rate {
			told = e.frames
			opt.Progress(e.at())
		}
	}
}

// at is the time heard so far.
func (e *ear) at() timecode.Ticks { return timecode.FromSamples(e.frames, int(e.rate)) }

// conclude draws everything else from what was measured.
func conclude(e *ear, a *analysis, info sound.Info, opt Options) story.Heard {
	h := story.Heard{
		Version:      Version,
		Duration:     e.at(),
		LoudnessLUFS: e.gate.integrated(),
		PeakDBFS:     20 * math.Log10(e.peak),
		Envelope:     e.env,
		Clipped:      e.clips,
	}
	slices.SortStableFunc(h.Clipped, func(x, y story.Clip) int {
		if x.In != y.In {
			return int(max(-1, min(1, x.In-y.In)))
		}
		return x.Channel - y.Channel
	})
	talk := a.detect()
	h.FloorDBFS, h.ThresholdDBFS = floorOf(e.env.RMS, talk)
	for i, s := range talk {
		h.Speech = append(h.Speech, spanOf(s, h.Duration))
		if i > 0 {
			h.Pauses = append(h.Pauses, spanOf(stretch{talk[i-1].to, s.from}, h.Duration))
		}
	}
	h.Turns = a.turns(talk, opt, h.Duration)
	return h
}

// spanOf is a stretch as time, held within the recording.
func spanOf(s stretch, end timecode.Ticks) timecode.Span {
	return timecode.Span{
		In:  min(timecode.Ticks(s.from)*story.EnvelopeStep, end),
		Out: min(timecode.Ticks(s.to)*story.EnvelopeStep, end),
	}
}

// floorOf is the noise floor, the middle level of what is not speech (the
// 5 % rank of all where everything is), and the level speech rises above:
// floor plus 6 dB, but not lower than 45 dB under loud speech.
func floorOf(rms []int16, talk []stretch) (floor, threshold float64) {
	quiet, loud := rankOf(rms, quietSteps(len(rms), talk), 0.5), rankOf(rms, talk, 0.98)
	if math.IsNaN(quiet) {
		quiet = rankOf(rms, []stretch{{0, len(rms)}}, 0.05)
	}
	if math.IsNaN(quiet) {
		quiet = float64(story.EnvelopeSilent) / 100
	}
	threshold = quiet + 6
	if !math.IsNaN(loud) {
		threshold = max(threshold, loud-belowPeak)
	}
	return quiet, threshold
}

// rankOf is the level in dBFS below which the part p of the values lies; NaN
// if there are none.
func rankOf(v []int16, in []stretch, p float64) float64 {
	count := make([]int32, 1<<16)
	n := 0
	for _, s := range in {
		for _, x := range v[s.from:min(s.to, len(v))] {
			count[int(x)+1<<15]++
			n++
		}
	}
	left := int(p * float64(n))
	for i, c := range count {
		if left -= int(c); left < 0 {
			return float64(i-1<<15) / 100
		}
	}
	return math.NaN()
}
