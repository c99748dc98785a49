package listen

import (
	"cmp"
	"context"
	"math"
	"slices"
	"sync"

	"gonum.org/v1/gonum/dsp/fourier"
)

const (
	// fineLow and fineHigh bound, in Hz, what is compared.
	fineLow, fineHigh = 200, 3400
	// hopePeak is what one of the first eight windows must reach, or the other
	// sixteen are not looked at; nor are they where six agree already.
	// firstPeak and lastPeak are how far, in standard deviations, a window's
	// peak must stand out to count, while the line isn't known and at the end.
	// Strangers' windows reach 4 to 5, very few 7 to 9; those of one talk at 10 dB
	// in two rooms 10 and more (measured: sync_strangers_test.go).
	hopePeak, firstPeak, lastPeak = 4.5, 6, 7
	// agreeWithin is how far, in seconds, a window may lie off the line.
	agreeWithin = 0.001
	// shortOverlap is under how many seconds of talk in common windows are few,
	// and each takes half of it.
	shortOverlap = 16
	// leastShare is the share of windows with sound that must agree;
	// leastShort where windows are few and overlap, so that one sound that both
	// hold (a beep, a jingle, a take used twice) doesn't make a line.
	leastShare, leastShort = 0.1, 0.5
)

// guess is a place to look at: at a place of a, both lie apart by so much, in
// seconds, give or take reach and drift. height is how far it stands out, as a
// sighting's, over all that speak for it; 0 if it wasn't seen in levels.
type guess struct{ at, apart, reach, height float64 }

// matcher compares short windows of two recordings.
type matcher struct {
	a, b  *syncTrack
	drift float64 // largest, in parts of one
	high  float64
	// lively says where to look; nil if not known.
	lively [2]liveliness
	closer *closer
}

// closer is what is needed to look closely, which takes most of the memory: one
// pair of recordings at a time. The zero value is ready.
type closer struct {
	mu sync.Mutex
	// One side for each recording: they are worked on at the same time.
	sides [2]side
}

// side is one recording's window and its spectrum.
type side struct {
	t     *syncTrack
	ffts  map[int]*fourier.FFT
	hann  map[int][]float64
	x     []float64
	lines []complex128
	sound bool
}

// load takes n grid samples from a place on, windowed, and their spectrum.
func (s *side) load(ctx context.Context, start, step float64, n int) error {
	if s.ffts == nil {
		s.ffts, s.hann = map[int]*fourier.FFT{}, map[int][]float64{}
	}
	if s.ffts[n] == nil {
		s.ffts[n] = fourier.NewFFT(n)
		h := make([]float64, n)
		for i := range h {
			h[i] = hann(2*(float64(i)+0.5)/float64(n) - 1)
		}
		s.hann[n] = h
	}
	if n > cap(s.x) {
		s.x, s.lines = make([]float64, n), make([]complex128, n/2+1)
	}
	s.x, s.lines = s.x[:n], s.lines[:n/2+1]
	if err := s.t.window(ctx, start, step, s.x); err != nil {
		return err
	}
	if s.sound = !silent(s.x); s.sound {
		for i, h := range s.hann[n] {
			s.x[i] *= h
		}
		s.ffts[n].Coefficients(s.lines, s.x)
	}
	return nil
}

func newMatcher(a, b *syncTrack, drift float64) *matcher {
	m := &matcher{a: a, b: b, drift: drift, closer: &closer{}}
	m.high = min(fineHigh, 0.42*float64(min(a.rate, b.rate)))
	return m
}

// compared is what one window says.
type compared struct {
	at, apart float64
	peak      float64 // signed: negative where polarity is opposite
	sound     bool
}

// matched is what came out of a guess.
type matched struct {
	line     syncLine
	windows  []compared
	used     []bool
	n, sound int // windows used, windows with sound in both
	found    bool
}

// try follows a guess: short windows first, which drift doesn't blur, then
// longer ones along the line they gave.
func (m *matcher) try(ctx context.Context, g guess) (matched, error) {
	m.closer.mu.Lock()
	defer m.closer.mu.Unlock()
	first, err := m.look(ctx, g)
	if err != nil {
		return matched{}, err
	}
	t, apart, signs := standing(first, firstPeak)
	set := agree(t, apart, agreeWithin, m.steepest())
	if len(set) < 2 {
		return matched{windows: first}, nil
	}
	sign := 0.0
	for _, s := range chosen(signs, set) {
		sign += s
	}
	t, apart = chosen(t, set), chosen(apart, set)
	// A few long windows mend the line, so that drift blurs none of the many.
	const few = 8
	for range 2 {
		line := fitLine(t, apart)
		r, err := m.refine(ctx, line, sign, t, few)
		moved := math.Abs(r.line.delta - line.delta)
		if err != nil || r.n >= 3 && moved < 3e-6 && len(r.windows) < few {
			return r, err // more windows wouldn't find room
		}
		if r.n >= 3 {
			t, apart = r.points()
		}
		if r.n < 3 || moved < 20e-6 {
			break
		}
	}
	return m.refine(ctx, fitLine(t, apart), sign, t, 32)
}

// look compares short windows around a guess: eight, and if these neither
// agree nor are hopeless, sixteen more.
func (m *matcher) look(ctx context.Context, g guess) ([]compared, error) {
	line := syncLine{offset: g.apart}
	ground := m.ground(line)
	// Short enough that drift moves the ends by no more than half a millisecond.
	n := windowLength(ground.talk, 3, min(32768, 0.001/m.drift*gridRate))
	if n == 0 {
		return nil, nil
	}
	length := float64(n) / gridRate
	reach := func(t float64) float64 { return g.reach + m.drift*math.Abs(t-g.at) }
	some, others := everyThird(ground.places(length, 24))
	first, err := m.windows(ctx, line, some, n, 0, reach)
	if err != nil {
		return nil, err
	}
	t, apart, _ := standing(first, firstPeak)
	hope, _, _ := standing(first, hopePeak)
	if (len(hope) > 0 || len(some) < 8) && len(agree(t, apart, agreeWithin, m.steepest())) < 6 {
		more, err := m.windows(ctx, line, others, n, 0, reach)
		if err != nil {
			return nil, err
		}
		first = append(first, more...)
	}
	slices.SortFunc(first, func(a, b compared) int { return cmp.Compare(a.at, b.at) })
	return first, nil
}

// points are the windows used.
func (r matched) points() (t, apart []float64) {
	for i, u := range r.used {
		if u {
			t, apart = append(t, r.windows[i].at), append(apart, r.windows[i].apart)
		}
	}
	return t, apart
}

// steepest is the largest drift allowed, with room for what windows say.
func (m *matcher) steepest() float64 { return m.drift*1.05 + 2e-6 }

// refine compares long windows, most at most, along a line that was found at
// places known.
func (m *matcher) refine(ctx context.Context, line syncLine, sign float64, known []float64, most int) (matched, error) {
	var r matched
	ground := m.ground(line)
	n := windowLength(ground.talk, 4, 131072)
	if n == 0 {
		return r, nil
	}
	places := ground.places(float64(n)/gridRate, most)
	lo, hi := known[0], known[0]
	for _, k := range known {
		lo, hi = min(lo, k), max(hi, k)
	}
	slack := min(2*m.drift, 2*agreeWithin/max(hi-lo, 0.1))
	var err error
	r.windows, err = m.windows(ctx, line, places, n, sign, func(t float64) float64 {
		return 0.008 + slack*max(0, lo-t, t-hi)
	})
	if err != nil {
		return r, err
	}
	t, apart, _ := standing(r.windows, lastPeak)
	set := agree(t, apart, agreeWithin, m.steepest())
	r.line = fitLine(chosen(t, set), chosen(apart, set))
	r.used = make([]bool, len(r.windows))
	from, to := math.Inf(1), math.Inf(-1)
	for i, w := range r.windows {
		if w.sound {
			r.sound++
		}
		if math.Abs(w.peak) >= lastPeak && math.Abs(w.apart-r.line.apart(w.at)) <= agreeWithin {
			r.used[i] = true
			r.n++
			from, to = min(from, w.at), max(to, w.at)
		}
	}
	least := leastShare
	if ground.talk < shortOverlap {
		least = leastShort
	}
	// Two windows at least must have nothing in common.
	apartEnough := to-from >= 0.99*float64(n)/gridRate
	r.found = r.n >= 3 && apartEnough && float64(r.n) >= least*float64(r.sound) && math.Abs(r.line.delta) <= m.steepest()
	return r, nil
}

// standing is those windows whose peak stands out.
func standing(w []compared, peak float64) (t, apart, signs []float64) {
	for _, c := range w {
		if math.Abs(c.peak) >= peak {
			t, apart, signs = append(t, c.at), append(apart, c.apart), append(signs, math.Copysign(1, c.peak))
		}
	}
	return t, apart, signs
}

func (m *matcher) windows(ctx context.Context, l syncLine, places []float64, n int, sign float64, reach func(t float64) float64) ([]compared, error) {
	var out []compared
	for _, at := range places {
		c, err := m.compare(ctx, l, at, n, sign, reach(at))
		if err != nil {
			return nil, err
		}
		out = append(out, c)
	}
	return out, nil
}

// compare looks in windows of n grid samples, around a place of a and where
// the line puts it in b, how far the line is off: at most reach seconds. sign
// is the polarity, 0 if unknown.
func (m *matcher) compare(ctx context.Context, l syncLine, at float64, n int, sign, reach float64) (compared, error) {
	half := float64(n/2) / gridRate
	ra, rb := float64(m.a.rate), float64(m.b.rate)
	// On a whole sample of a, where nothing has to be interpolated at 48 kHz.
	m.a.ready()
	by := float64(m.a.by)
	at = math.Round((at-half)*ra/by)*by/ra + half
	c := compared{at: at, apart: l.apart(at)}
	x, y := &m.closer.sides[0], &m.closer.sides[1]
	x.t, y.t = m.a, m.b
	done := make(chan error, 1)
	go func() { done <- y.load(ctx, l.toB(at-half)*rb, rb/gridRate*(1+l.delta), n) }()
	err := x.load(ctx, (at-half)*ra, ra/gridRate, n)
	if err = cmp.Or(err, <-done); err != nil || !x.sound || !y.sound {
		return c, err
	}
	c.sound = true
	m.whiten(x.lines, y.lines, n)
	r := x.ffts[n].Sequence(x.x, x.lines)
	lag, peak := highest(r, min(n/2-2, int(math.Ceil(reach*gridRate))), sign)
	c.peak = peak
	c.apart -= lag * (1 + l.delta) / gridRate
	return c, nil
}

// whiten makes p the phase transform of conj(p)·q: within the band, every
// line weighs alike but those that hardly hold anything.
func (m *matcher) whiten(p, q []complex128, n int) {
	lo, hi := int(fineLow*float64(n)/gridRate), int(m.high*float64(n)/gridRate)
	var mean float64
	for k := lo; k < hi; k++ {
		p[k] = complex(real(p[k]), -imag(p[k])) * q[k]
		mean += math.Hypot(real(p[k]), imag(p[k]))
	}
	floor := 0.001*mean/float64(hi-lo) + 1e-300
	clear(p[:lo])
	clear(p[hi:])
	for k := lo; k < hi; k++ {
		w := 1 / (math.Hypot(real(p[k]), imag(p[k])) + floor)
		p[k] = complex(real(p[k])*w, imag(p[k])*w)
	}
}

// highest is where, within reach of 0 on a circle, r stands out most, between
// samples by a parabola, and how far in standard deviations of the rest, or of
// the rest within a twentieth of a second where these are larger: two short
// sounds in long windows agree nowhere else than near each other.
func highest(r []float64, reach int, sign float64) (lag, peak float64) {
	n := len(r)
	at := func(i int) float64 { return r[(i+n)%n] }
	best, top := 0, 0.0
	var power float64
	for _, v := range r {
		power += v * v
	}
	for i := -reach; i <= reach; i++ {
		v := math.Abs(at(i))
		if sign != 0 {
			v = at(i) * math.Copysign(1, sign)
		}
		if v > top {
			best, top = i, v
		}
	}
	if top == 0 {
		return 0, 0
	}
	const near, around = gridRate / 500, gridRate / 20
	var close float64
	for i := best - around; i <= best+around; i++ {
		switch v := at(i); {
		case i < best-near || i > best+near:
			close += v * v
		default:
			power -= v * v
		}
	}
	sigma := math.Sqrt(max(power/float64(n-2*near-1), close/(2*(around-near)), 1e-12*top*top))
	l, c, u := at(best-1), at(best), at(best+1)
	lag = float64(best)
	if d := l - 2*c + u; d != 0 {
		lag += max(-0.5, min(0.5, (l-u)/(2*d)))
	}
	return lag, c / sigma
}

// silent tells digital silence: nothing over −140 dBFS RMS.
func silent(x []float64) bool {
	var e float64
	for _, v := range x {
		e += v * v
	}
	return e <= 1e-14*float64(len(x))
}
