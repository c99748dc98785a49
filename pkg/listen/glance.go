package listen

import (
	"context"
	"math"
	"slices"
	"sync"

	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Constants of Glance, in hundredths of a decibel and steps of 10 ms.
const (
	glanceReach = 800  // steps before and after that the floor is taken from
	glanceBlock = 100  // steps for which one floor holds
	glanceRank  = 0.15 // part of the steps below the floor
	glanceEnter = 1000 // a stretch needs a step this far above the floor
	glanceLeave = 600  // and reaches as far as its steps stay this far above
	glanceTop   = 4500 // how far under loud talk a stretch may reach
)

// Glance listens by level alone: the envelope, noise floor, peak, and where
// sound stands above the floor, with the pauses between. It takes a
// fraction of Hear's time, for a first look on location: a door is speech to
// it, and it tells no turns, loudness or clipping (LoudnessLUFS is −Inf).
// Errors as Hear.
func Glance(ctx context.Context, src Source, opt Options) (story.Heard, error) {
	if err := checkSource(src); err != nil {
		return story.Heard{}, err
	}
	info := src.Info()
	g := newGlimpse(info.Channels, int64(info.SampleRate), stepsIn(info.Frames, info.SampleRate))
	if s, ok := src.(stepSource); ok {
		if known, err := g.atOnce(ctx, s, info.Frames, opt); known || err != nil {
			return g.conclude(), err
		}
	}
	err := eachBlock(ctx, src, opt.Progress, func(samples [][]float64) bool {
		g.hear(samples)
		return true
	})
	if err != nil {
		return story.Heard{}, err
	}
	return g.conclude(), nil
}

// stepSource measures whole numbers by itself, on all processors; *sound.Reader
// is one.
type stepSource interface {
	Steps(ctx context.Context, ends func(n int64) int64, tell func(n int64, s sound.Step)) (ok bool, err error)
}

// atOnce takes the envelope of a source that can measure it by itself; false
// if it can't.
func (g *glimpse) atOnce(ctx context.Context, src stepSource, frames int64, opt Options) (bool, error) {
	var mu sync.Mutex // over highest and what was told of
	var heard, told int64
	steps := int((frames*100 + g.rate - 1) / g.rate)
	g.env.RMS, g.env.Peak = make([]int16, steps), make([]int16, steps)
	ok, err := src.Steps(ctx, g.stepEnd, func(n int64, s sound.Step) {
		if n >= int64(steps) {
			return
		}
		g.env.RMS[n], g.env.Peak[n] = centi(s.Squares/float64(s.Frames*int64(g.channels))), centi(s.Top)
		mu.Lock()
		defer mu.Unlock()
		g.highest = max(g.highest, s.Highest())
		if heard += s.Frames; opt.Progress != nil && heard-told >= g.rate {
			told = heard
			opt.Progress(timecode.FromSamples(heard, int(g.rate)))
		}
	})
	if !ok || err != nil {
		g.env.RMS, g.env.Peak = g.env.RMS[:0], g.env.Peak[:0]
		return ok, err
	}
	g.start, g.frames = frames, frames
	return true, nil
}

// glimpse measures square sum and highest sample of each 10 ms.
type glimpse struct {
	rate, frames int64
	start, ends  int64 // samples at which the present step begins and ends
	step         int64
	channels     int
	square, peak float64
	highest      float64
	env          story.Envelope
}

func newGlimpse(channels int, rate int64, steps int) *glimpse {
	g := &glimpse{rate: rate, channels: channels}
	g.env.RMS = make([]int16, 0, steps)
	g.env.Peak = make([]int16, 0, steps)
	g.ends = g.stepEnd(0)
	return g
}

// stepEnd is the sample at which a step is over.
func (g *glimpse) stepEnd(step int64) int64 { return ((step+1)*g.rate + 99) / 100 }

func (g *glimpse) at() timecode.Ticks { return timecode.FromSamples(g.frames, int(g.rate)) }

func (g *glimpse) hear(samples [][]float64) {
	n := len(samples[0])
	for at := 0; at < n; {
		end := min(n, at+int(g.ends-g.frames))
		for _, x := range samples {
			s, p := squares(x[at:end])
			g.square += s
			g.peak = max(g.peak, p)
		}
		g.frames += int64(end - at)
		at = end
		if g.frames == g.ends {
			g.close()
		}
	}
}

// squares is the sum of squares and the highest absolute sample. Four sums
// run side by side, so that none waits for the other.
func squares(x []float64) (sum, peak float64) {
	var a, b, c, d float64
	var high, low float64
	for len(x) >= 4 {
		v := x[:4:4]
		a += v[0] * v[0]
		b += v[1] * v[1]
		c += v[2] * v[2]
		d += v[3] * v[3]
		high = max(high, max(max(v[0], v[1]), max(v[2], v[3])))
		low = min(low, min(min(v[0], v[1]), min(v[2], v[3])))
		x = x[4:]
	}
	for _, v := range x {
		a += v * v
		high, low = max(high, v), min(low, v)
	}
	return a + b + c + d, math.Max(high, -low)
}

func (g *glimpse) close() {
	n := float64((g.frames - g.start) * int64(g.channels))
	g.env.RMS = append(g.env.RMS, centi(g.square/n))
	g.env.Peak = append(g.env.Peak, centi(g.peak*g.peak))
	g.highest = max(g.highest, g.peak)
	g.square, g.peak = 0, 0
	g.step++
	g.start, g.ends = g.frames, g.stepEnd(g.step)
}

func (g *glimpse) conclude() story.Heard {
	if g.frames > g.start {
		g.close()
	}
	h := story.Heard{
		Version: Version, Duration: g.at(), LoudnessLUFS: math.Inf(-1),
		PeakDBFS: 20 * math.Log10(g.highest), Envelope: g.env,
	}
	talk := byLevel(g.env.RMS)
	h.FloorDBFS, h.ThresholdDBFS = floorOf(g.env.RMS, talk)
	for i, s := range talk {
		h.Speech = append(h.Speech, spanOf(s, h.Duration))
		if i > 0 {
			h.Pauses = append(h.Pauses, spanOf(stretch{talk[i-1].to, s.from}, h.Duration))
		}
	}
	return h
}

// byLevel finds the stretches that stand above the floor about them: with
// hysteresis, gaps under shortestGap closed, stretches under shortest left
// out.
func byLevel(rms []int16) []stretch {
	if len(rms) == 0 {
		return nil
	}
	loud := int(100 * rankOf(rms, []stretch{{0, len(rms)}}, 0.95))
	var out []stretch
	var floor int
	var near nearby
	open, enough := -1, false
	for i, v := range rms {
		if i%glanceBlock == 0 {
			near.move(rms, max(0, i-glanceReach), min(len(rms), i+glanceBlock+glanceReach))
			floor = max(int(100*near.rank()), loud-glanceTop-glanceLeave)
		}
		above := int(v) - floor
		if above >= glanceLeave {
			if open < 0 {
				open, enough = i, false
			}
			enough = enough || above >= glanceEnter
			continue
		}
		if open >= 0 && enough {
			out = append(out, stretch{open, i})
		}
		open = -1
	}
	if open >= 0 && enough {
		out = append(out, stretch{open, len(rms)})
	}
	return tidyStretches(out)
}

// nearby counts the levels of the steps from from to to, in classes of 0.8 dB.
type nearby struct {
	count    [256]int
	from, to int
}

// move goes on to later steps.
func (n *nearby) move(v []int16, from, to int) {
	class := func(x int16) int { return min(255, max(0, (int(x)+20000)/80)) }
	for _, x := range v[n.to:to] {
		n.count[class(x)]++
	}
	for _, x := range v[n.from:from] {
		n.count[class(x)]--
	}
	n.from, n.to = from, to
}

// rank is the level in dBFS below which glanceRank of the steps lies.
func (n *nearby) rank() float64 {
	left := int(glanceRank * float64(n.to-n.from))
	for i, c := range n.count {
		if left -= c; left < 0 {
			return float64(i*80-20000+40) / 100
		}
	}
	return -200
}

// tidyStretches closes short gaps and drops short stretches.
func tidyStretches(in []stretch) []stretch {
	var out []stretch
	for _, s := range in {
		if n := len(out); n > 0 && s.from-out[n-1].to < shortestGap {
			out[n-1].to = s.to
			continue
		}
		out = append(out, s)
	}
	return slices.DeleteFunc(out, func(s stretch) bool { return s.to-s.from < shortest })
}
