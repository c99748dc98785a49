package listen

import (
	"math"

	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// ear takes sample blocks in and keeps what is measured of them. Levels,
// loudness and clipping are measured at the full rate in one loop; speech is
// looked for by analysis, on a second goroutine, at 8 to 16 kHz.
type ear struct {
	rate   int64
	tracks []track
	env    story.Envelope
	frames int64 // samples heard on each channel
	// step is the number of the present 10 ms, ends the sample at which it
	// is over.
	step, ends int64

	hops    [4]float64 // weighted K energy of the last four 100 ms
	hop     float64
	hopN    int64
	hopLen  [4]int64
	hopSeen int
	gate    gate
	peak    float64

	full  float64 // a sample at or above this stands at full scale
	still bool    // and only if it is the same as the one before: floats go on
	clips []story.Clip
}

// track is one channel at the full rate.
type track struct {
	k       kWeight
	weight  float64
	decimal *decimator

	square, peak float64 // of the present 10 ms
	k2           float64 // K-weighted square sum of the present 10 ms
	run          int     // samples at full scale without a break
	top          float64 // the last of them
	lastClip     int     // index+1 of the channel's last stretch
}

func newEar(info sound.Info) *ear {
	e := &ear{rate: int64(info.SampleRate), tracks: make([]track, info.Channels)}
	weights := channelWeights(info.ChannelMask, info.Channels)
	_, by := analysisRate(info.SampleRate)
	for i := range e.tracks {
		e.tracks[i] = track{k: newKWeight(info.SampleRate), weight: weights[i], decimal: newDecimator(by)}
	}
	e.full, e.still = fullScale(info)
	steps := stepsIn(info.Frames, info.SampleRate)
	e.env.RMS = make([]int16, 0, steps)
	e.env.Peak = make([]int16, 0, steps)
	e.ends = e.stepEnd(0)
	return e
}

// fullScale is the highest level that a file's samples reach. Floats have none
// (still): what lies over 1 is whole, and only samples that stand still there
// were cut before. Whole numbers that were decoded to floats are told by their
// bits.
func fullScale(info sound.Info) (full float64, still bool) {
	valid := info.ValidBits
	if valid == 0 && !info.Float {
		valid = info.Bits
	}
	if valid <= 1 || valid > 64 || info.Float && valid >= 32 {
		return 1, info.Float
	}
	return 1 - math.Ldexp(1, 1-valid), false
}

// stepsIn is the number of 10 ms steps that so many samples begin.
func stepsIn(frames int64, rate int) int {
	if frames <= 0 {
		return 0
	}
	return int((frames*100+int64(rate)-1)/int64(rate)) + 1
}

func (e *ear) stepEnd(step int64) int64 { return ((step+1)*e.rate + 99) / 100 }

// hear takes one block in and appends the decimated samples of each channel
// to out. The blocks of all channels have equal lengths.
func (e *ear) hear(samples [][]float64, out [][]float64) {
	n := len(samples[0])
	for c := range e.tracks {
		out[c] = e.tracks[c].decimal.feed(out[c], samples[c][:n])
	}
	for at := 0; at < n; {
		end := min(n, at+int(e.ends-e.frames))
		for c := range e.tracks {
			e.tracks[c].measure(samples[c][at:end])
			if e.tracks[c].peak >= e.full || e.tracks[c].run > 0 {
				e.clipping(c, samples[c][at:end])
			}
		}
		e.frames += int64(end - at)
		at = end
		if e.frames == e.ends {
			e.closeStep()
		}
	}
}

// measure adds samples to the sums of the present 10 ms: squares, highest
// sample and K-weighted squares in one loop, so that the long chain of the
// filters runs beside the rest.
func (t *track) measure(x []float64) {
	k := t.k
	square, peak, weighted := t.square, t.peak, t.k2
	for _, v := range x {
		square += v * v
		if a := math.Abs(v); a > peak {
			peak = a
		}
		y := k.b0*v + k.z1
		k.z1 = (k.b1*v + k.z2) - k.a1*y // the sum first: y comes late
		k.z2 = k.b2*v - k.a2*y
		u := y + k.w1
		k.w1 = k.w2 - 2*y - k.c1*u
		k.w2 = y - k.c2*u
		weighted += u * u
	}
	t.square, t.peak, t.k2 = square, peak, weighted
	t.k = k
}

func (e *ear) closeStep() {
	n := float64(e.frames - e.stepStart())
	var square, peak, weighted float64
	for c := range e.tracks {
		t := &e.tracks[c]
		square += t.square
		peak = math.Max(peak, t.peak)
		weighted += t.k2 * t.weight
		t.square, t.peak, t.k2 = 0, 0, 0
		t.k.settle()
	}
	e.env.RMS = append(e.env.RMS, centi(square/(n*float64(len(e.tracks)))))
	e.env.Peak = append(e.env.Peak, centi(peak*peak))
	e.peak = math.Max(e.peak, peak)
	e.hop += weighted
	e.hopN += int64(n)
	e.step++
	e.ends = e.stepEnd(e.step)
	if e.step%10 == 0 {
		e.closeHop()
	}
}

func (e *ear) stepStart() int64 {
	if e.step == 0 {
		return 0
	}
	return e.stepEnd(e.step - 1)
}

// closeHop ends 100 ms; the last four make a 400 ms block that overlaps the
// one before by 75 % (BS.1770-5 annex 1).
func (e *ear) closeHop() {
	i := e.hopSeen % 4
	e.hops[i], e.hopLen[i] = e.hop, e.hopN
	e.hop, e.hopN = 0, 0
	e.hopSeen++
	if e.hopSeen < 4 {
		return
	}
	var sum float64
	var n int64
	for j := range e.hops {
		sum += e.hops[j]
		n += e.hopLen[j]
	}
	e.gate.add(sum / float64(n))
}

// finish closes a last step that is shorter than 10 ms.
func (e *ear) finish() {
	if e.frames > e.stepStart() {
		e.closeStep()
	}
}

const (
	clipRun = 3 // samples at full scale in a row that count as clipping
	// manyClips is the number of stretches from which on those of one
	// channel that lie within 100 ms become one, so that a ruined recording
	// does not fill the memory.
	manyClips = 10_000
)

// clipping looks for runs of samples at full scale on channel c; x begins at
// sample e.frames.
func (e *ear) clipping(c int, x []float64) {
	t := &e.tracks[c]
	for i, v := range x {
		if math.Abs(v) < e.full {
			t.run = 0
			continue
		}
		if e.still && v != t.top {
			t.run, t.top = 0, v
		}
		t.run++
		at := e.frames + int64(i)
		switch {
		case t.run == clipRun:
			e.openClip(c, at+1-clipRun)
		case t.run > clipRun:
			last := &e.clips[t.lastClip-1]
			last.Samples++
			last.Out = timecode.FromSamples(at+1, int(e.rate))
		}
	}
}

func (e *ear) openClip(c int, start int64) {
	t := &e.tracks[c]
	span := timecode.Span{
		In:  timecode.FromSamples(start, int(e.rate)),
		Out: timecode.FromSamples(start+clipRun, int(e.rate)),
	}
	if len(e.clips) >= manyClips && t.lastClip > 0 {
		last := &e.clips[t.lastClip-1]
		if span.In-last.Out < 100*timecode.Millisecond {
			last.Out = span.Out
			last.Samples += clipRun
			return
		}
	}
	e.clips = append(e.clips, story.Clip{Span: span, Channel: c, Samples: clipRun})
	t.lastClip = len(e.clips)
}
