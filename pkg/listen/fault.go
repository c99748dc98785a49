package listen

import (
	"context"
	"errors"

	"rushlight/pkg/timecode"
)

// FaultKind is what is wrong.
type FaultKind string

// The kinds of faults.
const (
	FaultClipping FaultKind = "clipping"
	FaultHum      FaultKind = "hum"
	FaultRumble   FaultKind = "rumble"
	FaultDropout  FaultKind = "dropout"
	FaultStuck    FaultKind = "stuck samples"
	FaultDead     FaultKind = "dead channel"
	FaultPolarity FaultKind = "opposite polarity"
	FaultLow      FaultKind = "level too low"
	FaultOffset   FaultKind = "dc offset"
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
	// What says in words what was found, with its figure and unit; Do what
	// can be done.
	What, Do string
	// Value is the figure in What.
	Value float64
}

// FaultOptions says what is known before. The zero value is usable.
type FaultOptions struct {
	// TrackNames holds a name for each channel; nil or "" where none is known.
	TrackNames []string
	// Progress, if set, is called about once for each second of sound.
	Progress func(done timecode.Ticks)
}

// Faults looks for faults in src.
func Faults(ctx context.Context, src Source, opt FaultOptions) ([]Fault, error) {
	return nil, errors.New("listen: faults: not built yet")
}
