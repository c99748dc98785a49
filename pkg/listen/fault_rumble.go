package listen

import "math"

// faultRumble looks for noise under the voice: wind on the microphone, hands
// on the boom, traffic. Between 6 and 45 Hz no voice has anything to say, and
// mains hum isn't there yet.
type faultRumble struct {
	from, to int    // bins
	beside   [4]int // bins 52 to 58 and 62 to 75 Hz, where mains hum isn't either
	by       int64  // samples for each low-rate one
	found    faultList
}

const (
	rumbleLowHz  = 6.0
	rumbleHighHz = 45.0
	rumbleLevel  = -56.0 // dBFS in a window of 1 s
	rumbleUnder  = -26.0 // dB under talk: what lies lower is left alone
	rumbleGrows  = 3.0   // times the power in a hertz of what is beside
	rumbleFewest = 4     // windows in a row: 1.8 s
)

func newFaultRumble(lowHz float64, by, rate int64) faultRumble {
	binHz := lowHz / faultWindow
	bin := func(hz float64) int { return int(math.Round(hz / binHz)) }
	return faultRumble{
		from: max(3, int(math.Ceil(rumbleLowHz/binHz))), to: int(rumbleHighHz / binHz), by: by,
		beside: [4]int{bin(52), bin(58), bin(62), bin(75)}, found: faultList{gap: 6 * rate},
	}
}

// window takes the power spectrum of the window from low-rate sample from on.
func (r *faultRumble) window(p []float32, from int64) {
	var sum float64
	for _, v := range p[min(r.from, len(p)):min(r.to, len(p))] {
		sum += float64(v)
	}
	// Even noise isn't rumble: that grows towards the bottom.
	var next, n float64
	for i := 0; i < len(r.beside); i += 2 {
		for _, v := range p[min(r.beside[i], len(p)):min(r.beside[i+1], len(p))] {
			next += float64(v)
			n++
		}
	}
	if n > 0 && sum/float64(r.to-r.from) < rumbleGrows*next/n {
		return
	}
	level := 10 * math.Log10(sum*16/(3*faultWindow*faultWindow)+1e-30)
	if level < rumbleLevel {
		return
	}
	// The middle half of the window is what weighs in it.
	at := from * r.by
	r.found.add(faultPlace{from: at + faultHop*r.by, to: at + 3*faultHop*r.by, n: 1, value: level})
}
