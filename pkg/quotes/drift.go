package quotes

import (
	"context"
	"math"
	"slices"

	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// Drift is how a transcript's clock runs beside the recording's: what it calls
// t is at Offset + t·(1 + PPM/1e6) in the recording's own time.
type Drift struct {
	// PPM is above 0 where the transcript's clock is slow.
	PPM float64
	// Error is the standard error of PPM.
	Error  float64
	Offset timecode.Ticks
	// Times is how many times of the transcript lie where speech begins.
	Times int
	// Sure tells that the drift is beyond chance and moves the times by more
	// than they are precise.
	Sure bool
}

// Constants of the search; values chosen on built talks (see the tests).
const (
	driftMost    = 12_000.0 // ppm; more is a wrong frame rate (see rateHint)
	driftTimes   = 8        // times that must fit
	driftSamples = 400      // times that are looked at
	driftPause   = 300 * timecode.Millisecond
	driftReach   = 2 * timecode.Second // of the offset
	driftGrid    = 20 * timecode.Millisecond
	driftNear    = 0.6  // s from an onset at which a time counts for the line
	driftGain    = 0.15 // of all times that fit better than without drift
	driftShare   = 0.5  // of all times must fit
)

// ClockDrift estimates how the clock of a transcript drifts against the sound,
// from where its cues begin and where speech begins after a pause: the straight
// line on which most of them agree, then least squares over those that do. ok
// is false where too few times agree on anything, nothing was heard, or ctx
// ended the work.
func ClockDrift(ctx context.Context, src Source) (d Drift, ok bool) {
	if src.Document == nil || src.Heard == nil {
		return Drift{}, false
	}
	f := newFlow(ctx, src)
	if f.takeCues() != nil {
		return Drift{}, false
	}
	c := fitting{near: nearOnset(f.onsets()), width: 250 * timecode.Millisecond}
	if f.rounded {
		c.width = 600 * timecode.Millisecond
	}
	for _, q := range f.cues {
		if len(c.times) == 0 || q.In > c.times[len(c.times)-1] {
			c.times = append(c.times, q.In)
		}
	}
	c.thin()
	if len(c.times) < driftTimes || len(c.near) == 0 {
		return Drift{}, false
	}
	return c.fit(ctx)
}

// onsets are where speech begins after a pause.
func (f *flow) onsets() []timecode.Ticks {
	var out []timecode.Ticks
	at := timecode.Ticks(-timecode.Hour)
	for _, s := range f.src.Heard.Speech {
		if s.In-at >= driftPause {
			out = append(out, s.In)
		}
		at = s.Out
	}
	return out
}

// nearOnset says for each step of driftGrid how far it is to the next onset,
// in hundredths of a second to 2.5 s, before it as less than 0.
func nearOnset(onsets []timecode.Ticks) []int16 {
	if len(onsets) == 0 {
		return nil
	}
	out := make([]int16, onsets[len(onsets)-1]/driftGrid+125)
	k := 0
	for i := range out {
		t := timecode.Ticks(i) * driftGrid
		for k+1 < len(onsets) && onsets[k+1]-t < t-onsets[k] {
			k++
		}
		out[i] = int16(max(-250, min(250, (onsets[k]-t)*100/timecode.Second)))
	}
	return out
}

// fitting looks for the line.
type fitting struct {
	near  []int16
	times []timecode.Ticks
	width timecode.Ticks
}

// thin keeps so many times, spread evenly.
func (c *fitting) thin() {
	if n := len(c.times); n > driftSamples {
		for i := range driftSamples {
			c.times[i] = c.times[i*n/driftSamples]
		}
		c.times = c.times[:driftSamples]
	}
}

// miss is how far a time lies from the nearest onset, in seconds, on a line.
func (c *fitting) miss(t timecode.Ticks, ppm float64, offset timecode.Ticks) float64 {
	at := t + offset + timecode.Ticks(float64(t)*ppm/1e6)
	if i := at / driftGrid; at >= 0 && int(i) < len(c.near) {
		return float64(c.near[i]) / 100
	}
	return 2.5
}

// score is how well the times fit a line: 1 for each on an onset.
func (c *fitting) score(ppm float64, offset timecode.Ticks) (sum float64) {
	w := c.width.Seconds()
	for _, t := range c.times {
		sum += max(0, 1-math.Abs(c.miss(t, ppm, offset))/w)
	}
	return sum
}

// fit finds the best line and how sure it is.
func (c *fitting) fit(ctx context.Context) (Drift, bool) {
	length := c.times[len(c.times)-1].Seconds()
	step := max(1, c.width.Seconds()/2/length*1e6)
	var all []float64
	var best Drift
	top, still := -1.0, -1.0
	turns := math.Ceil(driftMost / step)
	for k := -turns; k <= turns; k++ {
		if ctx.Err() != nil {
			return Drift{}, false
		}
		highest := -1.0
		for offset := -driftReach; offset <= driftReach; offset += c.width / 2 {
			s := c.score(k*step, offset)
			if s > top {
				top, best.PPM, best.Offset = s, k*step, offset
			}
			highest = max(highest, s)
		}
		all = append(all, highest)
		if k == 0 {
			still = highest
		}
	}
	for range 4 {
		c.refine(&best)
	}
	slices.Sort(all)
	n := float64(len(c.times))
	// By chance the score of a line is that of the middle line, and scatters.
	chance := all[len(all)/2]
	clear := top-chance > 4*math.Sqrt(max(1, chance*(1-chance/n)))/2
	moved := math.Abs(best.PPM) / 1e6 * length
	fits := best.Times >= driftTimes && float64(best.Times) >= driftShare*n
	best.Sure = fits && clear && top-still > driftGain*n && math.Abs(best.PPM) > 4*best.Error && moved > c.width.Seconds()
	return best, fits && (clear || best.Sure)
}

// refine fits a line by least squares through the times near an onset.
func (c *fitting) refine(d *Drift) {
	var n, st, se, stt, ste, see float64
	for _, t := range c.times {
		m := c.miss(t, d.PPM, d.Offset)
		if math.Abs(m) > driftNear {
			continue
		}
		x, e := t.Seconds(), m+d.Offset.Seconds()+t.Seconds()*d.PPM/1e6
		n, st, se, stt, ste = n+1, st+x, se+e, stt+x*x, ste+x*e
	}
	spread := n*stt - st*st
	if n < 3 || spread <= 0 {
		return
	}
	slope := (n*ste - st*se) / spread
	offset := (se - slope*st) / n
	for _, t := range c.times {
		if m := c.miss(t, d.PPM, d.Offset); math.Abs(m) <= driftNear {
			r := m + d.Offset.Seconds() + t.Seconds()*d.PPM/1e6 - offset - slope*t.Seconds()
			see += r * r
		}
	}
	d.PPM, d.Offset, d.Times = slope*1e6, timecode.FromSeconds(offset), int(n)
	d.Error = math.Sqrt(see/(n-2)*n/spread) * 1e6
}

// Correct gives the document with its times moved to the sound's clock. The
// document itself isn't changed.
func (d Drift) Correct(src Source) *timedtext.Document {
	doc := *src.Document
	shift := shiftOf(src.Document, src.Recording.Clock, src.duration())
	move := func(t timecode.Ticks) timecode.Ticks {
		if t == timedtext.NoTime {
			return t
		}
		own := t + shift
		return max(0, t+d.Offset+timecode.Ticks(float64(own)*d.PPM/1e6))
	}
	doc.Cues = slices.Clone(doc.Cues)
	for i := range doc.Cues {
		c := &doc.Cues[i]
		c.In, c.Out = move(c.In), move(c.Out)
		c.Lines = slices.Clone(c.Lines)
		for k := range c.Lines {
			c.Lines[k] = slices.Clone(c.Lines[k])
			for r := range c.Lines[k] {
				run := &c.Lines[k][r]
				run.Words = slices.Clone(run.Words)
				for w := range run.Words {
					run.Words[w].In, run.Words[w].Out = move(run.Words[w].In), move(run.Words[w].Out)
				}
			}
		}
	}
	return &doc
}
