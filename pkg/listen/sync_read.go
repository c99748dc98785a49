package listen

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
)

// gridRate is the common rate, in Hz, at which windows are compared: voices
// say enough under 4 kHz, and a peak is placed far finer than a sample.
const gridRate = 8000

// syncFacts are what has to be known of a recording to read it.
type syncFacts struct {
	rate    int
	frames  int64
	weights []float64 // of channels, 0 leaves out
	// patience is how many frames further on are quicker read than sought.
	patience int64
}

// syncTrack is one recording while it is lined up: one channel made of those
// worth hearing, readable as a stream of levels or in short windows.
type syncTrack struct {
	syncFacts
	src      SyncSource
	r        SyncReader // nil until something is read
	by       int        // decimation before resampling; rate/by is 8 kHz to 16 kHz
	fir      []float64  // odd, symmetric, low-pass for by; nil for 1
	kernel   *phaseTable
	at       int64       // frame that Next gives next, −1 if unknown
	block    [][]float64 // that Next gave last, from frame start on; nil if none
	start    int64
	raw      []float64
	low      []float64 // what decimated gave last, from lowFirst on
	lowFirst int64
}

// newSyncTrack is a recording of which all is known that is needed.
func newSyncTrack(src SyncSource, f syncFacts) *syncTrack {
	return &syncTrack{syncFacts: f, src: src, at: -1}
}

// openSyncTrack opens a recording and looks what there is. Close it.
func openSyncTrack(ctx context.Context, name string, src SyncSource) (*syncTrack, error) {
	t := newSyncTrack(src, syncFacts{})
	if err := t.open(); err != nil {
		return nil, err
	}
	if err := t.look(ctx, name); err != nil {
		return nil, errors.Join(err, t.close())
	}
	return t, nil
}

// look finds out the facts.
func (t *syncTrack) look(ctx context.Context, name string) (err error) {
	info := t.r.Info()
	if info.SampleRate < gridRate/2 || info.Channels < 1 {
		return fmt.Errorf("%w: recording %s: got %d Hz, %d channels, want 4000 Hz or more, 1 channel or more", ErrSync, name, info.SampleRate, info.Channels)
	}
	t.rate, t.frames, t.patience = info.SampleRate, info.Frames, int64(info.SampleRate)
	if info.Codec != "" { // a decoder would have to be started anew
		t.patience *= 60
	}
	t.weights = make([]float64, info.Channels)
	t.weights[0] = 1
	if info.Channels > 1 {
		t.weights, err = t.chooseChannels(ctx, info.Channels)
	}
	return err
}

// open opens the source if it isn't.
func (t *syncTrack) open() error {
	if t.r != nil {
		return nil
	}
	r, err := t.src()
	if err != nil {
		return err
	}
	skipEssence(r)
	t.r, t.at = r, -1
	return nil
}

// close closes the source if it is open.
func (t *syncTrack) close() error {
	if t.r == nil {
		return nil
	}
	r := t.r
	t.r = nil
	return r.Close()
}

// ready sets up what windows and levels at the recording's rate need.
func (t *syncTrack) ready() {
	if t.by > 0 {
		return
	}
	t.by = max(1, t.rate/gridRate)
	t.fir = lowPass(t.by)
	t.kernel = newPhaseTable(float64(t.rate) / float64(t.by) / gridRate)
}

// skipEssence saves the time of hashing where the source would.
func skipEssence(r SyncReader) {
	if s, ok := r.(interface{ SkipEssence() }); ok {
		s.SkipEssence()
	}
}

// seconds is the length by the recording's own clock.
func (t *syncTrack) seconds() float64 { return float64(t.frames) / float64(t.rate) }

// next gives the next block's samples with its first frame, io.EOF at the end.
func (t *syncTrack) next(ctx context.Context) (start int64, x [][]float64, err error) {
	if err := ctx.Err(); err != nil {
		return 0, nil, err
	}
	t.block = nil
	b, err := t.r.Next()
	if err != nil {
		return 0, nil, err
	}
	n := int64(0)
	if len(b.Samples) > 0 {
		n = int64(len(b.Samples[0]))
	}
	t.block, t.start, t.at = b.Samples, b.Start, b.Start+n
	return b.Start, b.Samples, nil
}

func (t *syncTrack) seek(frame int64) error {
	if err := t.open(); err != nil {
		return err
	}
	if t.at == frame {
		return nil
	}
	t.at, t.block = frame, nil
	return t.r.SeekFrame(frame)
}

// mix writes the weighted sum of the channels' samples to dst. What is no
// number becomes 0.
func (t *syncTrack) mix(dst []float64, x [][]float64, from int) {
	first := true
	for c, w := range t.weights {
		if w == 0 || c >= len(x) {
			continue
		}
		s := x[c][from : from+len(dst)]
		if first {
			for i, v := range s {
				dst[i] = w * v
			}
			first = false
			continue
		}
		for i, v := range s {
			dst[i] += w * v
		}
	}
	if first {
		clear(dst)
	}
}

// read fills dst with the mixed samples from a frame on; 0 outside.
func (t *syncTrack) read(ctx context.Context, from int64, dst []float64) error {
	clear(dst)
	to := min(from+int64(len(dst)), t.frames)
	at := max(from, 0)
	if at >= to {
		return nil
	}
	for at < to {
		if at < t.start || at >= t.at || t.block == nil {
			if t.at < 0 || t.at > at || at-t.at > t.patience {
				if err := t.seek(at); err != nil {
					return err
				}
			}
			start, _, err := t.next(ctx)
			if errors.Is(err, io.EOF) {
				t.at = -1
				return nil
			}
			if err != nil {
				return err
			}
			if start > at {
				return fmt.Errorf("%w: block at frame %d, want %d", ErrSync, start, at)
			}
			continue
		}
		n := min(t.at, to) - at
		t.mix(dst[at-from:at-from+n], t.block, int(at-t.start))
		at += n
	}
	for i, v := range dst {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			dst[i] = 0
		}
	}
	return nil
}

// window fills dst with the recording resampled to the grid: dst[i] is its
// place start + i·step, both in its own samples. step is about rate/gridRate.
func (t *syncTrack) window(ctx context.Context, start, step float64, dst []float64) error {
	t.ready()
	by, h := int64(t.by), int64(t.kernel.half)
	first := int64(math.Floor(start/float64(by))) - h
	last := int64(math.Ceil((start+step*float64(len(dst)))/float64(by))) + h + 1
	low, err := t.decimated(ctx, first, last)
	if err != nil {
		return err
	}
	if place := start/float64(by) - float64(first); step == float64(by) && math.Abs(place-math.Round(place)) < 1e-6 {
		copy(dst, low[int(math.Round(place)):])
		return nil
	}
	for i := range dst {
		dst[i] = t.kernel.at(low, (start+step*float64(i))/float64(by)-float64(first))
	}
	return nil
}

// decimated gives each by-th sample behind the low-pass, from the first-th on.
// What the call before gave is used again, so that windows that overlap in order
// are read on. The samples are valid until the next call.
func (t *syncTrack) decimated(ctx context.Context, first, last int64) ([]float64, error) {
	k := int64(0) // how many there are
	if old := t.lowFirst + int64(len(t.low)); first >= t.lowFirst && first < old && last >= old {
		k = int64(copy(t.low, t.low[first-t.lowFirst:]))
	}
	t.low = slices.Grow(t.low[:k], int(last-first-k))[:last-first]
	low := t.low
	t.low, t.lowFirst = nil, first // until it is filled
	if t.by == 1 {
		if err := t.read(ctx, first+k, low[k:]); err != nil {
			return nil, err
		}
		t.low = low
		return low, nil
	}
	// By parts, each with the end of the one before in front of it.
	const part = 4096
	by, fh := int64(t.by), int64(len(t.fir)/2)
	if k == 0 {
		t.raw = slices.Grow(t.raw[:0], int(part*by+2*fh))[:part*by+2*fh]
		if err := t.read(ctx, first*by-fh, t.raw[:2*fh]); err != nil {
			return nil, err
		}
	}
	for k < last-first {
		n := min(part, last-first-k)
		if err := t.read(ctx, (first+k)*by+fh, t.raw[2*fh:2*fh+n*by]); err != nil {
			return nil, err
		}
		for i := range n {
			low[k+i] = dot(t.fir, t.raw[i*by:])
		}
		copy(t.raw[:2*fh], t.raw[n*by:])
		k += n
	}
	t.low = low
	return low, nil
}

// dot is the inner product of a and the beginning of b.
func dot(a, b []float64) float64 {
	b = b[:len(a)]
	var s0, s1 float64
	i := 0
	for ; i+1 < len(a); i += 2 {
		s0 += a[i] * b[i]
		s1 += a[i+1] * b[i+1]
	}
	if i < len(a) {
		s0 += a[i] * b[i]
	}
	return s0 + s1
}

// lowPass is a Hann-windowed sinc of four zero crossings a side for keeping
// each by-th sample; nil where by is 1.
func lowPass(by int) []float64 {
	if by == 1 {
		return nil
	}
	h := 4 * by
	f := make([]float64, 2*h+1)
	var sum float64
	for i := range f {
		f[i] = sinc(float64(i-h)/float64(by)) * hann(float64(i-h)/float64(h+1))
		sum += f[i]
	}
	for i := range f {
		f[i] /= sum
	}
	return f
}

// sinc is sin(πx)/πx.
func sinc(x float64) float64 {
	if x == 0 {
		return 1
	}
	return math.Sin(math.Pi*x) / (math.Pi * x)
}

// hann is 1 at 0 and 0 at ±1.
func hann(x float64) float64 { return 0.5 + 0.5*math.Cos(math.Pi*x) }

// phaseTable reads between samples: a windowed sinc, tabled for phases.
type phaseTable struct {
	half int
	taps [][]float64 // [phase][2·half]
}

const tablePhases = 512

// newPhaseTable serves reading at every ratio-th sample.
func newPhaseTable(ratio float64) *phaseTable {
	cut := 1 / max(1, ratio)
	k := &phaseTable{half: int(math.Ceil(8 / cut))}
	for p := range tablePhases + 1 {
		taps := make([]float64, 2*k.half)
		frac := float64(p) / tablePhases
		for i := range taps {
			x := float64(i-k.half+1) - frac
			if math.Abs(x) < float64(k.half) {
				taps[i] = cut * sinc(x*cut) * hann(x/float64(k.half))
			}
		}
		k.taps = append(k.taps, taps)
	}
	return k
}

// at is x at a place between its samples, at least half from both ends.
func (k *phaseTable) at(x []float64, place float64) float64 {
	i := int(place)
	p := int(math.Round((place - float64(i)) * tablePhases))
	return dot(k.taps[p], x[i-k.half+1:])
}
