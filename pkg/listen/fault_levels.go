package listen

import "math"

// faultLevels follows level, zero line and silence of one channel.
type faultLevels struct {
	rate int64

	// Sums of the present 100 ms and of the present second.
	sum, square float64
	n           int64
	secondSum   float64
	secondN     int64
	high, low   float64
	secondOver  bool
	ends        int64 // sample at which the sums end

	count   [faultLevelBins]int64 // of 100 ms levels, half decibels
	blocks  int64
	seconds int64
	dead    faultList
	offset  [2]faultList // zero line above, below zero
}

const (
	faultLevelBins  = 301    // −150 dBFS and less to 0
	faultDeadSwing  = 2e-4   // from lowest to highest sample of a second: −80 dBFS
	faultOffsetPart = 0.0045 // of full scale, −47 dBFS
)

func newFaultLevels(rate int64) faultLevels {
	l := faultLevels{rate: rate, dead: faultList{gap: 1}}
	for i := range l.offset {
		l.offset[i].gap = 3 * rate
	}
	return l
}

// add takes the figures of n samples that end at sample end.
func (l *faultLevels) add(n int, sum, square, high, low float64, end int64) {
	if l.secondN == 0 {
		l.high, l.low = high, low
	}
	l.high, l.low = math.Max(l.high, high), math.Min(l.low, low)
	l.sum += sum
	l.square += square
	l.n += int64(n)
	l.secondSum += sum
	l.secondN += int64(n)
	l.ends = end
	if l.n*10 >= l.rate {
		l.closeBlock()
	}
	l.secondOver = l.secondN >= l.rate
}

func (l *faultLevels) closeBlock() {
	mean := l.sum / float64(l.n)
	ms := l.square/float64(l.n) - mean*mean
	i := 0
	if ms > 1e-15 {
		i = int(math.Max(0, math.Min(faultLevelBins-1, 2*(10*math.Log10(ms)+150))))
	}
	l.count[i]++
	l.blocks++
	l.sum, l.square, l.n = 0, 0, 0
}

func (l *faultLevels) closeSecond() {
	p := faultPlace{from: l.ends - l.secondN, to: l.ends, n: 1}
	if l.high-l.low <= faultDeadSwing {
		l.dead.add(p)
	}
	if mean := l.secondSum / float64(l.secondN); math.Abs(mean) >= faultOffsetPart {
		side := 0
		if mean < 0 {
			side = 1
		}
		p.value = math.Abs(mean)
		l.offset[side].add(p)
	}
	l.secondSum, l.secondN, l.secondOver = 0, 0, false
	l.seconds++
}

func (l *faultLevels) finish() {
	if l.n > 0 {
		l.closeBlock()
	}
	if l.secondN > 0 {
		l.closeSecond()
	}
}

// talk is the level in dBFS (RMS of 100 ms) that the loudest 2 %, but at least
// two seconds or a quarter of a short recording, reach: that of talk if there
// is any. −150 if there is nothing.
func (l *faultLevels) talk() float64 {
	left := max(l.blocks/50, min(20, l.blocks/4))
	for i := faultLevelBins - 1; i > 0; i-- {
		if left -= l.count[i]; left < 0 {
			return float64(i)/2 - 150
		}
	}
	return -150
}
