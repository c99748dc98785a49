package listen

import "math"

// faultRumble looks for noise under the voice: wind on the microphone, hands
// on the boom, traffic. Between 6 and 45 Hz no voice has anything to say, and
// mains hum isn't there yet.
type faultRumble struct {
	from, to int   // bins
	by       int64 // samples for each low-rate one
	found    faultList
}

const (
	rumbleLowHz  = 6.0
	rumbleHighHz = 45.0
	rumbleLevel  = -56.0 // dBFS in a window of 1 s
	rumbleUnder  = -30.0 // dB under talk: what lies lower is left alone
	rumbleFewest = 4     // windows in a row: 1.8 s
)

func newFaultRumble(lowHz float64, by, rate int64) faultRumble {
	binHz := lowHz / faultWindow
	return faultRumble{
		from: max(3, int(math.Ceil(rumbleLowHz/binHz))), to: int(rumbleHighHz / binHz), by: by,
		found: faultList{gap: 2 * rate},
	}
}

// window takes the power spectrum of the window from low-rate sample from on.
func (r *faultRumble) window(p []float32, from int64) {
	var sum float64
	for _, v := range p[min(r.from, len(p)):min(r.to, len(p))] {
		sum += float64(v)
	}
	level := 10 * math.Log10(sum*16/(3*faultWindow*faultWindow)+1e-30)
	if level < rumbleLevel {
		return
	}
	// The middle half of the window is what weighs in it.
	at := from * r.by
	r.found.add(faultPlace{from: at + faultHop*r.by, to: at + 3*faultHop*r.by, n: 1, value: level})
}
