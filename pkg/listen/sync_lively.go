package listen

import "math"

// liveliness is how far, on the mean, each second of a recording stands more
// than 6 dB above its floor, in half decibels: where there is talk to compare.
type liveliness []float32

func (l *bandLevels) liveliness() liveliness {
	out := make(liveliness, l.frames()/scanHop+1)
	for b := range l {
		floor := bandFloor(l[b])
		for i, v := range l[b] {
			if rise := int(v) - floor - 12; v > 0 && rise > 0 {
				out[i/scanHop] += float32(rise) / (scanHop * float32(scanBands))
			}
		}
	}
	return out
}

// bandFloor is the level that three tenths of what isn't silent lie at or under; 0
// where all is silent.
func bandFloor(l []uint8) int {
	var count [256]int
	for _, v := range l {
		count[v]++
	}
	total := len(l) - count[0]
	if total == 0 {
		return 0
	}
	floor, below := 0, 0
	for below <= total*3/10 {
		floor++
		below += count[floor]
	}
	return floor
}

// ground is what both recorded on a's time, in seconds, and where in it
// something is to be compared.
type ground struct {
	in, out float64
	// talk is how much of it is lively; all of it where that is not known.
	talk float64
	// mass is how lively both are up to the end of each second from in on, with
	// a tenth for all places alike; nil if not known.
	mass []float64
}

// ground is that of a line. A second is as lively as the duller recording's.
func (m *matcher) ground(l syncLine) ground {
	g := ground{in: max(0, l.offset), out: min(m.a.seconds(), l.offset+m.b.seconds()/(1+l.delta))}
	g.talk = g.out - g.in
	if m.lively[0] == nil || !(g.talk >= shortOverlap) {
		return g
	}
	both := make([]float64, int(g.talk))
	var sum, squares float64
	for k := range both {
		t := g.in + float64(k) + 0.5
		i, j := int(t), int(l.toB(t))
		if i >= 0 && i < len(m.lively[0]) && j >= 0 && j < len(m.lively[1]) {
			both[k] = float64(min(m.lively[0][i], m.lively[1][j]))
		}
		sum += both[k]
		squares += both[k] * both[k]
	}
	if sum == 0 {
		return g
	}
	g.talk = min(g.talk, sum*sum/squares)
	mean := sum / float64(len(both))
	sum = 0
	for k, v := range both {
		sum += v + 0.1*mean
		both[k] = sum
	}
	g.mass = both
	return g
}

// places are the middles of at most so many windows of a length, in order, half
// overlapping where there is room for no more, by three quarters where there is
// little: spread evenly over what is lively.
func (g ground) places(length float64, most int) []float64 {
	n := min(most, int(2*g.talk/length)-1)
	if g.talk < shortOverlap {
		n = min(most, int(4*g.talk/length)-3)
	}
	n = max(n, 3)
	var at []float64
	k := 0
	for i := range n {
		t := g.in + length/2 + max(0, g.out-g.in-length)*float64(i)/float64(n-1)
		if g.mass != nil {
			part := g.mass[len(g.mass)-1] * (float64(i) + 0.5) / float64(n)
			before := 0.0
			for ; g.mass[k] < part; k++ {
			}
			if k > 0 {
				before = g.mass[k-1]
			}
			t = g.in + float64(k) + (part-before)/(g.mass[k]-before)
			t = max(g.in+length/2, min(g.out-length/2, t))
		}
		at = append(at, t)
	}
	return at
}

// everyThird takes every third place out of the others.
func everyThird(places []float64) (some, others []float64) {
	for i, p := range places {
		if i%3 == 1 {
			some = append(some, p)
		} else {
			others = append(others, p)
		}
	}
	return some, others
}

// windowLength is a length in grid samples, without large factors, for windows
// of a part of the seconds of talk in common, or half where these are few; 0 where
// that is under a quarter of a second.
func windowLength(common, part, longest float64) int {
	if common < shortOverlap {
		part = 2
	}
	if common/part < 0.25 {
		return 0
	}
	most := math.Min(common/part*gridRate, longest)
	n := 1024
	for 2*float64(n) <= most {
		n *= 2
	}
	if 1.5*float64(n) <= most {
		n += n / 2
	}
	return n
}
