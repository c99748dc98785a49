package listen

import (
	"math"
	"slices"
)

// faultRumble looks for noise under the voice: wind on the microphone, hands
// on the boom, traffic. Between 6 and 45 Hz no voice has anything to say, and
// mains hum isn't there yet.
type faultRumble struct {
	from, to int    // bins
	beside   [4]int // bins 52 to 58 and 62 to 75 Hz, where mains hum isn't either
	above    [2]int // bins 350 to 500 Hz
	by       int64  // samples for each low-rate one
	found    faultList
	// loud holds what is only far over what lies above: wind after a low cut
	// is even up to 100 Hz. It counts if it is nearly as loud as talk.
	loud faultList
}

const (
	rumbleLowHz  = 6.0
	rumbleHighHz = 45.0
	rumbleLevel  = -56.0 // dBFS in a window of 1 s
	rumbleUnder  = -26.0 // dB under talk: what lies lower is left alone
	rumbleGrows  = 3.0   // times the power in a hertz of what is beside
	rumbleAbove  = 4.0   // times the power in a hertz of 350 to 500 Hz
	rumbleLoud   = -12.0 // dB under talk, from where that is enough
	rumbleFewest = 4     // windows in a row: 1.8 s
)

func newFaultRumble(lowHz float64, by, rate int64) faultRumble {
	binHz := lowHz / faultWindow
	bin := func(hz float64) int { return int(math.Round(hz / binHz)) }
	return faultRumble{
		from: max(3, int(math.Ceil(rumbleLowHz/binHz))), to: int(rumbleHighHz / binHz), by: by,
		beside: [4]int{bin(52), bin(58), bin(62), bin(75)}, above: [2]int{bin(350), bin(500)},
		found: faultList{gap: 6 * rate}, loud: faultList{gap: 6 * rate},
	}
}

// window takes the power spectrum of the window from low-rate sample from on.
func (r *faultRumble) window(p []float32, from int64) {
	sum, n := powerIn(p, r.from, r.to)
	level := 10 * math.Log10(sum*16/(3*faultWindow*faultWindow)+1e-30)
	if level < rumbleLevel {
		return
	}
	// The middle half of the window is what weighs in it.
	at := from * r.by
	place := faultPlace{from: at + faultHop*r.by, to: at + 3*faultHop*r.by, n: 1, value: level}
	// Even noise isn't rumble: that grows towards the bottom.
	left, a := powerIn(p, r.beside[0], r.beside[1])
	right, b := powerIn(p, r.beside[2], r.beside[3])
	if a+b == 0 || sum/n >= rumbleGrows*(left+right)/(a+b) {
		r.found.add(place)
	}
	if over, c := powerIn(p, r.above[0], r.above[1]); c > 0 && sum/n >= rumbleAbove*over/c {
		r.loud.add(place)
	}
}

// powerIn is the power in bins from up to to, as far as there are any, and how
// many there are.
func powerIn(p []float32, from, to int) (sum, n float64) {
	for _, v := range p[min(from, len(p)):min(to, len(p))] {
		sum += float64(v)
		n++
	}
	return sum, n
}

// places are what is told of a channel whose talk has that level in dBFS.
func (r *faultRumble) places(talk float64) []faultPlace {
	var out []faultPlace
	for _, p := range r.loud.places {
		if p.n >= rumbleFewest && p.value >= talk+rumbleLoud {
			out = append(out, p)
		}
	}
	loud := out
	for _, p := range r.found.places {
		told := slices.ContainsFunc(loud, func(l faultPlace) bool { return l.from < p.to && p.from < l.to })
		if !told && p.n >= rumbleFewest && p.value >= talk+rumbleUnder {
			out = append(out, p)
		}
	}
	return out
}
