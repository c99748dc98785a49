package listen

import (
	"context"
	"fmt"
	"math"

	"rushlight/pkg/sound"
)

// speed is how many seconds a recording counts for one of the event, when a
// machine was set to another rate than the other.
type speed struct {
	num, den int64
	what     string
}

// otherSpeeds are the mistakes that happen (common practice, no source):
// frame rates a thousandth apart, and one sample rate written as the other.
func otherSpeeds() []speed {
	return []speed{
		{1001, 1000, "as 24 frames a second shown as 23.976, or 30 as 29.97"},
		{1000, 1001, "as 23.976 frames a second shown as 24, or 29.97 as 30"},
		{48000, 44100, "as 48000 samples a second written as 44100"},
		{44100, 48000, "as 44100 samples a second written as 48000"},
	}
}

func (s speed) ppm() float64 { return 1e6 * (float64(s.num)/float64(s.den) - 1) }

// atSpeeds lines up at one speed, then at the others until one holds.
func atSpeeds(ctx context.Context, a, b SyncSource, opt SyncOptions) (Sync, error) {
	tell, list := opt.Progress, otherSpeeds()
	part := func(n int) {
		if tell != nil {
			opt.Progress = func(done float64) { tell((float64(n) + done) / float64(1+len(list))) }
		}
	}
	part(0)
	first, err := lineUp(ctx, a, b, opt)
	if err != nil || first.Found {
		return first, err
	}
	for i, sp := range list {
		part(i + 1)
		r, err := b()
		if err != nil {
			return Sync{}, err
		}
		rate := r.Info().SampleRate
		if err := r.Close(); err != nil {
			return Sync{}, err
		}
		real := int(math.Round(float64(rate) * float64(sp.num) / float64(sp.den)))
		s, err := lineUp(ctx, a, func() (SyncReader, error) {
			r, err := b()
			if err == nil {
				skipEssence(r)
			}
			return paced{r, real}, err
		}, opt)
		if err != nil {
			return Sync{}, err
		}
		if s.Found {
			// What b counted by its real rate it counts longer by its own.
			s.DriftPPM = math.Round(1e12*((1+s.DriftPPM/1e6)*float64(real)/float64(rate)-1)) / 1e6
			return s, nil
		}
	}
	return first, nil
}

// paced is a recording at the sample rate that it really was made with.
type paced struct {
	SyncReader
	rate int
}

func (p paced) Info() sound.Info {
	info := p.SyncReader.Info()
	info.SampleRate = p.rate
	return info
}

// Drifts in ppm. Two recorders that are well stay together within some tens
// (common practice, no source).
const (
	healthyDrift = 100
	sameSpeed    = 200 // how far a drift may be from that of a wrong rate
)

// ClockFault is the fault that a drift between two recordings of one event
// means, in ppm as Sync has it for the second: none up to 100. Kind,
// Severity, What, Do and Value (the drift) are filled in.
func ClockFault(driftPPM float64) (Fault, bool) {
	f := Fault{Kind: FaultClock, Severity: FaultWarn, Channel: -1, Other: -1, Value: driftPPM}
	way := "fast"
	if driftPPM < 0 {
		way = "slow"
	}
	f.What = fmt.Sprintf("clock %.0f ppm %s", math.Abs(driftPPM), way)
	for _, sp := range otherSpeeds() {
		if math.Abs(driftPPM-sp.ppm()) > sameSpeed {
			continue
		}
		f.What = fmt.Sprintf("clock %.2f %% %s, %s", math.Abs(driftPPM)/1e4, way, sp.what)
		f.Do = "set camera and recorder to the same frame rate; in the edit, bring the sound to the picture's speed"
		if math.Abs(driftPPM) > 10_000 {
			f.Severity = FaultStop
			f.Do = "set camera and recorder to the same sample rate; for what is recorded, mend the rate in a copy of the file's header"
		}
		return f, true
	}
	if math.Abs(driftPPM) <= healthyDrift {
		return Fault{}, false
	}
	f.What += ", more than two clocks that are well drift apart"
	f.Do = "have the clocks looked at, or lock one to the other; in the edit, line up again at each take"
	return f, true
}
