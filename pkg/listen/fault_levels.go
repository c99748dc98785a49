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

	count   faultCount // of 100 ms levels
	recent  faultRecent
	blocks  int64
	seconds int64
	dead    faultList
	zero    faultZero
}

// faultZero follows the zero line: an offset stands still, rumble doesn't.
type faultZero struct {
	run    faultPlace // value is the mean of the means so far, with its sign
	offset [2]faultList
}

const (
	faultLevelBins  = 301    // −150 dBFS and less to 0
	faultDeadSwing  = 2e-4   // from lowest to highest sample of a second: −80 dBFS
	faultOffsetPart = 0.0045 // of full scale, −47 dBFS
	offsetFewest    = 4      // seconds, or all of a shorter recording
)

func newFaultLevels(rate int64) faultLevels {
	l := faultLevels{rate: rate, dead: faultList{gap: 1}}
	for i := range l.zero.offset {
		l.zero.offset[i].gap = 3 * rate
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
	l.recent.add(i)
	l.blocks++
	l.sum, l.square, l.n = 0, 0, 0
}

func (l *faultLevels) closeSecond() {
	p := faultPlace{from: l.ends - l.secondN, to: l.ends, n: 1}
	if l.high-l.low <= faultDeadSwing {
		l.dead.add(p)
	}
	p.value = l.secondSum / float64(l.secondN)
	l.zero.add(p)
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
	l.zero.close()
}

// add takes one second with its mean.
func (z *faultZero) add(p faultPlace) {
	r := &z.run
	if r.n > 0 && math.Abs(p.value-r.value) > math.Max(0.3*math.Abs(r.value), 0.001) {
		z.close()
	}
	if r.n == 0 {
		*r = p
		return
	}
	r.value += (p.value - r.value) / float64(r.n+1)
	r.to = p.to
	r.n++
}

// close ends a run of seconds with the same mean.
func (z *faultZero) close() {
	r := z.run
	z.run = faultPlace{}
	if math.Abs(r.value) < faultOffsetPart || r.n < offsetFewest && r.from > 0 {
		return
	}
	side := 0
	if r.value < 0 {
		side = 1
	}
	r.value = math.Abs(r.value)
	z.offset[side].add(r)
}

// floor is the level in dBFS (RMS of 100 ms) that the softest 5 % stay under:
// that of the noise, −150 where a channel is often silent.
func (l *faultLevels) floor() float64 {
	left := l.blocks / 20
	for i, n := range l.count {
		if left -= n; left < 0 {
			return float64(i)/2 - 150
		}
	}
	return -150
}

// talk is the level in dBFS (RMS of 100 ms) that the loudest 2 %, but at least
// two seconds or a quarter of a short recording, reach: that of talk if there
// is any. −150 if there is nothing.
func (l *faultLevels) talk() float64 {
	left := max(l.blocks/50, min(20, l.blocks/4))
	return l.count.upper(left)
}

// faultCount counts levels in half decibels from −150 dBFS on.
type faultCount [faultLevelBins]int64

// upper is the level in dBFS that all but left of the loudest lie at or under;
// −150 if there are no more.
func (c *faultCount) upper(left int64) float64 {
	for i := faultLevelBins - 1; i > 0; i-- {
		if left -= c[i]; left < 0 {
			return float64(i)/2 - 150
		}
	}
	return -150
}
