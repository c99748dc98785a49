package listen

import (
	"context"
	"fmt"
	"sort"

	"rushlight/pkg/timecode"
)

// FaultKind is what is wrong.
type FaultKind string

// The kinds of faults.
const (
	// FaultClipping: tops cut flat, at full scale or below it.
	FaultClipping FaultKind = "clipping"
	// FaultHum: mains hum at 50 or 60 Hz and its harmonics.
	FaultHum FaultKind = "hum"
	// FaultRumble: wind, handling and other noise under the voice.
	FaultRumble FaultKind = "rumble"
	// FaultDropout: exact zeros in the middle of sound.
	FaultDropout FaultKind = "dropout"
	// FaultStuck: one value again and again in the middle of sound.
	FaultStuck FaultKind = "stuck samples"
	// FaultDead: a channel, or a stretch of one, without any sound.
	FaultDead FaultKind = "dead channel"
	// FaultPolarity: two channels hear the same thing upside down.
	FaultPolarity FaultKind = "opposite polarity"
	// FaultLow: nothing on the channel is loud enough to be used.
	FaultLow FaultKind = "level too low"
	// FaultClock: two recordings of one event don't count time alike; see
	// ClockFault.
	FaultClock FaultKind = "clock mismatch"
	// FaultShort: the file has less sound than its header claims.
	FaultShort FaultKind = "cut short"
	// FaultOffset: the zero line isn't at zero.
	FaultOffset FaultKind = "dc offset"
)

// FaultSeverity says how much a fault matters.
type FaultSeverity string

// The severities: FaultNote can be mended in the edit, FaultWarn should be
// listened to before the place is left, FaultStop is not usable as it is.
const (
	FaultNote FaultSeverity = "note"
	FaultWarn FaultSeverity = "warn"
	FaultStop FaultSeverity = "stop"
)

// Fault is one thing that is wrong with a recording, and where.
type Fault struct {
	Kind FaultKind
	timecode.Span
	// Channel counts from 0; −1 for all.
	Channel int
	// Other is the second channel of opposite polarity, else −1.
	Other    int
	Severity FaultSeverity
	// What says what was found, with Value and its unit, and on which track;
	// Do what can be done.
	What, Do string
	// Value is the figure that matters most: dBFS for clipping (where the tops
	// are cut), hum, rumble and low level; milliseconds (the longest) for
	// dropouts and stuck samples; percent of full scale for an offset; percent
	// of the moments that agree for polarity; seconds for a dead channel and
	// for what is missing; ppm for a clock.
	Value float64
}

// String is one line: place, kind, severity and what was found.
func (f Fault) String() string {
	return fmt.Sprintf("%s %s (%s): %s", f.Span, f.Kind, f.Severity, f.What)
}

// FaultOptions says what is known before. The zero value is usable.
type FaultOptions struct {
	// TrackNames holds a name for each channel; nil or "" where none is known.
	TrackNames []string
	// Progress, if set, is called about once for each second of sound.
	Progress func(done timecode.Ticks)
}

// Faults listens to src to its end and says what is wrong with it, in order of
// time, then channel. Findings of one kind that lie near each other are one,
// so that a ruined hour gives some dozens of lines at most. Memory is the same
// for a second and for ten hours, about 300 KB for a channel. It does not
// close src. Errors: as Hear.
//
// The limits are ours, chosen on real voices (common practice, no source),
// except where a source stands beside them.
func Faults(ctx context.Context, src Source, opt FaultOptions) ([]Fault, error) {
	info := src.Info()
	if err := checkSource(src); err != nil {
		return nil, err
	}
	f := newFaultFinder(info, opt)
	err := eachBlock(ctx, src, opt.Progress, func(samples [][]float64) bool {
		f.feed(samples)
		return true
	})
	if err != nil {
		return nil, err
	}
	f.finish()
	found := f.faults()
	sort.SliceStable(found, func(i, j int) bool {
		a, b := found[i], found[j]
		switch {
		case a.In != b.In:
			return a.In < b.In
		case a.Channel != b.Channel:
			return a.Channel < b.Channel
		}
		return a.Kind < b.Kind
	})
	return found, nil
}
