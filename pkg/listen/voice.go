package listen

import "math"

// The voice of the loudest channel is looked at each 20 ms while there is
// something to look at, and kept as one cell for each 60 ms or more.
const (
	framesPerLook = 2
	looksPerCell  = 3
	framesPerCell = framesPerLook * looksPerCell
	voicedCell    = 0.45    // periodicity of a look that tells whose voice it is
	mostCells     = 200_000 // 3.3 hours; longer recordings get longer cells
	cepstra       = 12
	melBands      = 20
	// cepstrumScale is steps for one unit of natural-log energy.
	cepstrumScale = 8
)

// windowOf is how many samples a look takes at an analysis rate, 32 ms where
// there are as many as 256, and the power of two that they are transformed in.
// A shorter window would miss the pitch of a low voice.
func windowOf(hz float64) (span, size int) {
	span = max(256, int(hz*0.032+0.5))
	for size = 256; size < span; size *= 2 {
	}
	return span, size
}

// cell is the voice colour of 60 ms of sound or more: mel cepstrum 1 to 12 and
// pitch, both of the voiced looks only. The zero cell means that nothing was
// looked at.
type cell struct {
	cepstrum [cepstra]int8
	// pitch is 40·log2(Hz/50), 0 if not voiced.
	pitch uint8
	// voiced and looks count the looks with a voice, and all.
	voiced, looks uint8
	// level is the speech-band level as level8 has it.
	level uint8
}

// voice finds periodicity and mel cepstrum of windows. Periodicity is the
// highest normalised autocorrelation, divided by the window's own (Boersma
// 1993); mel cepstrum after Davis & Mermelstein 1980.
type voice struct {
	spec             *spectrum
	size             int // of the transform; the window is as long or shorter
	window, buf, pow []float64
	auto, winAuto    []float64 // winAuto as its reciprocal
	lagMin, lagMax   int
	lineMin, lineMax int // lines used for periodicity: 180 to 2000 Hz
	melStart         []int
	melWeight        [][]float64
	dct              [][]float64
	hz               float64

	// The look before: a voice keeps its pitch from one to the next, noise
	// does not.
	lastPeriodic, lastHz float64

	sum   [cepstra]float64
	pitch float64
	lvl   float64
	now   cell
}

func newVoice(hz float64) *voice {
	span, size := windowOf(hz)
	v := &voice{spec: newSpectrum(size), size: size, hz: hz}
	v.window = make([]float64, span)
	for i := range v.window {
		v.window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(span))
	}
	v.buf = make([]float64, size)
	v.pow = make([]float64, size/2+1)
	line := func(f float64) int { return min(int(f*float64(size)/hz+0.5), size/2) }
	v.lineMin, v.lineMax = max(1, line(180)), line(2000)
	v.lagMin = max(2, int(hz/400))
	v.lagMax = min(int(hz/70), span*7/16)
	v.auto = make([]float64, v.lagMax+2)
	v.winAuto = make([]float64, v.lagMax+2)
	copy(v.buf, v.window)
	v.spec.power(v.buf, v.pow)
	for k, p := range v.pow { // the whole even sequence
		v.buf[k] = p
		v.buf[(size-k)%size] = p
	}
	v.spec.real(v.buf, v.winAuto, v.lagMax+1)
	for i := len(v.winAuto) - 1; i >= 0; i-- {
		v.winAuto[i] = v.winAuto[0] / v.winAuto[i]
	}
	v.mel()
	return v
}

// mel lays out triangular bands evenly on the mel scale, 120 to 3700 Hz.
func (v *voice) mel() {
	top := math.Min(3700, v.hz*0.46)
	toMel := func(f float64) float64 { return 2595 * math.Log10(1+f/700) }
	lo, hi := toMel(120), toMel(top)
	edge := func(i int) float64 {
		m := lo + (hi-lo)*float64(i)/(melBands+1)
		return (math.Pow(10, m/2595) - 1) * 700 * float64(v.size) / v.hz
	}
	for b := range melBands {
		l, c, r := edge(b), edge(b+1), edge(b+2)
		l, r = math.Min(l, c-1), math.Max(r, c+1)         // at least a line wide
		first := max(0, min(int(math.Ceil(l)), v.size/2)) // at few samples a second there are no such lines
		var w []float64
		for k := first; float64(k) < r && k <= v.size/2; k++ {
			x := (float64(k) - l) / (c - l)
			if float64(k) > c {
				x = (r - float64(k)) / (r - c)
			}
			w = append(w, max(0, x))
		}
		v.melStart, v.melWeight = append(v.melStart, first), append(v.melWeight, w)
	}
	for n := 1; n <= cepstra; n++ {
		row := make([]float64, melBands)
		for b := range row {
			row[b] = math.Sqrt(2.0/melBands) * math.Cos(math.Pi*float64(n)*(float64(b)+0.5)/melBands)
		}
		v.dct = append(v.dct, row)
	}
}

// look takes one window of samples (as long as the window) of the given level and
// returns its periodicity, 0 to 255: the lesser of this look and the one
// before, halved if the pitch jumped between them.
func (v *voice) look(x []float64, level uint8) uint8 {
	for i, w := range v.window {
		v.buf[i] = x[i] * w
	}
	clear(v.buf[len(v.window):])
	v.spec.power(v.buf, v.pow)
	// Amplitudes, not powers, so that one strong line of a rumble is no voice.
	clear(v.buf)
	for k := v.lineMin; k <= v.lineMax; k++ {
		r := math.Sqrt(v.pow[k])
		v.buf[k], v.buf[v.size-k] = r, r
	}
	v.spec.real(v.buf, v.auto, v.lagMax+1)
	periodic, hz := v.periodicity()
	steady := math.Min(periodic, v.lastPeriodic)
	if hz < 0.85*v.lastHz || hz > v.lastHz/0.85 {
		steady *= 0.5
	}
	v.lastPeriodic, v.lastHz = periodic, hz
	periodic = steady
	v.now.looks++
	v.lvl += float64(level)
	if periodic > voicedCell {
		v.now.voiced++
		v.addCepstrum()
		v.pitch += math.Log2(hz/50) * 40
	}
	return uint8(max(0, min(255, periodic*255)))
}

// periodicity is the height of the best autocorrelation peak and its pitch.
func (v *voice) periodicity() (best, hz float64) {
	a := v.auto
	if !(a[0] > 1e-15) {
		return 0, 0
	}
	scale := 1 / a[0]
	for l, w := range v.winAuto {
		a[l] *= scale * w
	}
	lag := 0
	for l := v.lagMin; l <= v.lagMax; l++ {
		if a[l] >= a[l-1] && a[l] >= a[l+1] && a[l] > best {
			best, lag = a[l], l
		}
	}
	// The shortest period that is nearly as good avoids an octave too low.
	for l := v.lagMin; l < lag; l++ {
		if a[l] >= a[l-1] && a[l] >= a[l+1] && a[l] > 0.9*best {
			lag = l
			break
		}
	}
	if lag == 0 {
		return 0, 0
	}
	return math.Min(best, 1), v.hz / float64(lag)
}

func (v *voice) addCepstrum() {
	var mel [melBands]float64
	for b, w := range v.melWeight {
		p := v.pow[v.melStart[b]:]
		e := 1e-10
		for i, x := range w {
			e += x * p[i]
		}
		mel[b] = math.Log(e)
	}
	for n, row := range v.dct {
		var c float64
		for b, x := range row {
			c += x * mel[b]
		}
		v.sum[n] += c
	}
}

// close returns the cell gathered since the last close.
func (v *voice) close() cell {
	c := v.now
	if c.looks > 0 {
		c.level = uint8(v.lvl/float64(c.looks) + 0.5)
	}
	if n := float64(c.voiced); n > 0 {
		for i, s := range v.sum {
			c.cepstrum[i] = int8(max(-127, min(127, math.Round(s/n*cepstrumScale))))
		}
		c.pitch = uint8(max(1, min(255, math.Round(v.pitch/n))))
	}
	v.now, v.pitch, v.lvl = cell{}, 0, 0
	clear(v.sum[:])
	return c
}
