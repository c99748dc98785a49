package listen

import (
	"context"
	"errors"
	"math"
	"math/bits"

	"rushlight/pkg/timecode"
)

// ErrSync is wrapped by every error of Synchronise that is about the sound
// handed to it; that two recordings don't belong together is no error.
var ErrSync = errors.New("can't line up")

// SyncReader is a Source that can go back; *sound.Reader is one. SeekFrame
// takes a frame from 0 to the end.
type SyncReader = interface {
	Source
	SeekFrame(frame int64) error
	Close() error
}

// SyncSource opens a recording anew for reading; it is called more than once,
// and by two goroutines.
type SyncSource func() (SyncReader, error)

// SyncOptions says what is known before. The zero value is usable.
type SyncOptions struct {
	// Guess is where b's first sample lies on a's time, from timecode; nil if
	// unknown. It is looked at first and never trusted: what isn't heard there
	// is looked for everywhere.
	Guess *timecode.Ticks
	// GuessOnly looks nowhere else.
	GuessOnly bool
	// MaxDrift is the largest drift looked for, in ppm; 0 is 200, the most is
	// 1000.
	MaxDrift float64
	// Speeds also looks, where nothing is found at one speed, at those of a
	// machine that was set to another rate: see ClockFault.
	Speeds bool
	// SpeedsOnly leaves out the one speed, where Speeds is set: it was tried.
	SpeedsOnly bool
	// Progress, if set, is called with the share of the work that is done, 0
	// to 1, never backwards and by one goroutine at a time.
	Progress func(done float64)
}

// Sync is how recording b lies on recording a's time. A place t on a's time
// and the place u of the same moment in b, each counted by its own clock from
// its own first sample, obey
//
//	u = (t − Offset) · (1 + DriftPPM/1,000,000).
type Sync struct {
	// Found tells that both hold the same event. Where false, only Windows,
	// the best that was tried, may say something.
	Found bool
	// Offset is where b's first sample lies on a's time; negative where b
	// started earlier.
	Offset timecode.Ticks
	// DriftPPM is b's clock against a's, in millionths and rounded to a
	// millionth of these: positive where b runs fast, that is, counts more
	// seconds (and so has more samples, and plays longer) for the same event.
	// It is 0 where the windows used lie under five seconds apart.
	DriftPPM float64
	// Confidence is 0 where not found; else the share of the windows with
	// sound in both recordings that agree with the result to a millisecond,
	// times 1 − 2^−n for the n windows that do.
	Confidence float64
	// Windows are the places compared, in order.
	Windows []SyncWindow
	// Overlap is what both recorded, on a's time.
	Overlap timecode.Span
	// GuessError is the guess minus Offset; nil without guess or result.
	GuessError *timecode.Ticks
}

// SyncWindow is one pair of short stretches compared.
type SyncWindow struct {
	// At is the middle of the window on a's time.
	At timecode.Ticks
	// Offset is At minus the place in b of the same moment: where b would
	// start if both clocks ran alike.
	Offset timecode.Ticks
	// Peak is the height of the correlation's peak in standard deviations of
	// all the rest of it, or of the rest within 50 ms where these are larger; 0
	// where one of the two is silent. Strangers reach 4 to 5.
	Peak float64
	// Used tells that the window agrees with the result.
	Used bool
}

// perTrillion is DriftPPM as whole trillionths.
func (s Sync) perTrillion() int64 { return int64(math.Round(s.DriftPPM * 1e6)) }

const trillion = 1_000_000_000_000

// ToB takes a place on a's time to the place of the same moment in b, which
// may lie before its beginning or behind its end. Rounded to the nearest tick.
func (s Sync) ToB(t timecode.Ticks) timecode.Ticks {
	d := int64(t - s.Offset)
	return timecode.Ticks(scale(d, trillion+s.perTrillion(), trillion))
}

// ToA takes a place in b to the place of the same moment on a's time; ToA(ToB(t))
// is at most one tick from t.
func (s Sync) ToA(u timecode.Ticks) timecode.Ticks {
	return s.Offset + timecode.Ticks(scale(int64(u), trillion, trillion+s.perTrillion()))
}

// scale is v·num/den rounded to the nearest, halves away from 0, by a 128-bit
// product; num and den > 0. What is beyond 64 bits stays at the last value.
func scale(v, num, den int64) int64 {
	if num <= 0 || den <= 0 {
		return 0
	}
	sign, m := int64(1), uint64(v)
	if v < 0 {
		sign, m = -1, -uint64(v)
	}
	hi, lo := bits.Mul64(m, uint64(num))
	lo, carry := bits.Add64(lo, uint64(den)/2, 0)
	hi += carry
	if hi >= uint64(den) {
		return sign * math.MaxInt64
	}
	q, _ := bits.Div64(hi, lo, uint64(den))
	return sign * int64(min(q, math.MaxInt64))
}

// Synchronise lines up two recordings of one event, such as a camera's scratch
// track and the recorder's file. It reads both once as streams (not at all
// where the guess proves right), keeping five bytes for each 20 ms, then short
// windows again. Channels are mixed; those that carry no living sound
// (timecode, hum, nothing) are left out.
//
// The place is looked for with the levels of five bands (so that rooms and
// drift don't matter) and, where these agree as far as the talk in common lets
// expect, proved sample by sample: generalised
// cross-correlation with phase transform (Knapp & Carter 1976) in windows, a
// robust line (Theil 1950, Sen 1968) through what they say.
//
// Silence, unrelated or too short recordings (under about three seconds of talk
// in common) give Found false and no error. Errors: of the sources, of ctx, and
// ErrSync for a sample rate under 4 kHz or no channels.
func Synchronise(ctx context.Context, a, b SyncSource, opt SyncOptions) (s Sync, err error) {
	var l Lineup
	defer func() { err = errors.Join(err, l.Close()) }()
	return l.Synchronise(ctx, SyncRecording{"a", a}, SyncRecording{"b", b}, opt)
}
