package listen

import (
	"context"
	"fmt"
	"math"
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

// atSpeeds lines up at one speed, then at the others until one holds. If none
// does it gives what the first said.
func (l *Lineup) atSpeeds(ctx context.Context, a, b SyncRecording, opt SyncOptions) (Sync, error) {
	tell, list := opt.Progress, otherSpeeds()
	if !opt.SpeedsOnly {
		list = append([]speed{{num: 1, den: 1}}, list...)
	}
	var first Sync
	for i, sp := range list {
		if tell != nil {
			opt.Progress = func(done float64) { tell((float64(i) + done) / float64(len(list))) }
		}
		s, err := l.lineUp(ctx, a, b, sp, opt)
		if err != nil || s.Found {
			return s, err
		}
		if i == 0 {
			first = s
		}
	}
	return first, nil
}

// pace reads the recording at the sample rate that it was really made with, to
// a whole number.
func (t *syncTrack) pace(s speed) {
	t.rate = int(math.Round(float64(t.rate) * float64(s.num) / float64(s.den)))
}

// ownDrift is a drift by the recording's own rate: what it counts by its real
// rate it counts longer by its own.
func (t *syncTrack) ownDrift(ppm float64, own int) float64 {
	if t.rate == own {
		return ppm
	}
	return math.Round(1e12*((1+ppm/1e6)*float64(t.rate)/float64(own)-1)) / 1e6
}

// stretched are the levels of the same sound by another clock: those at each
// ratio-th frame, between two frames in proportion. Bands stay as they were
// heard, which a tenth off is near enough.
func (l *bandLevels) stretched(ratio float64) *bandLevels {
	out := &bandLevels{}
	for b, x := range l {
		out[b] = make([]uint8, int(float64(len(x))/ratio))
		for i := range out[b] {
			place := float64(i) * ratio
			k := min(int(place), len(x)-1)
			v := float64(x[k])
			if k+1 < len(x) && x[k] > 0 && x[k+1] > 0 {
				v += (place - float64(k)) * (float64(x[k+1]) - v)
			}
			out[b][i] = uint8(math.Round(v))
		}
	}
	return out
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
