package listen

import (
	"rushlight/pkg/sound"
)

// analysis keeps what speech and turns are found from: four band levels each
// 10 ms and channel (in a levelStore), periodicity each 20 ms and a voice cell
// each 60 ms (more in recordings over 3 hours) of the loudest channel.
type analysis struct {
	num, den int64 // samples of 10 ms at the analysis rate: num/den
	channels []hearing
	store    *levelStore
	voice    *voice
	seen     int64 // analysis samples fed
	step     int64
	ends     int64

	periodic []uint8
	cells    []cell
	perCell  int // steps in a cell

	wanted []uint8 // voiced looks that make a voice, for each step

	// What decode needs for each cell, kept from one round to the next.
	tops   []int8
	turned []uint16
}

// hearing is one channel at the analysis rate.
type hearing struct {
	bands  *bands
	levels *levels   // nil if none are kept
	recent []float64 // the last samples of a look, oldest first
	now    uint8
	low    quietest
	// Known once all is heard: loud is the level that voiced sound seldom
	// passes, in half decibels; near is how many voiced looks make a voice
	// close to it.
	loud float64
	near int
}

// newAnalysis keeps band levels in store, which may be nil.
func newAnalysis(info sound.Info, store *levelStore) *analysis {
	hz, by := analysisRate(info.SampleRate)
	a := &analysis{num: int64(info.SampleRate), den: 100 * int64(by), store: store, voice: newVoice(hz)}
	steps := stepsIn(info.Frames, info.SampleRate)
	span, _ := windowOf(hz)
	for c := range info.Channels {
		h := hearing{bands: newBands(hz), recent: make([]float64, span)}
		if store != nil {
			h.levels = &store.channels[c]
		}
		a.channels = append(a.channels, h)
	}
	a.periodic = make([]uint8, 0, steps/framesPerLook+1)
	a.perCell = framesPerCell * (1 + steps/(framesPerCell*mostCells))
	a.cells = make([]cell, 0, steps/a.perCell+1)
	a.ends = a.stepEnd(0)
	return a
}

// steps is how many steps have levels, once all is heard.
func (a *analysis) steps() int { return a.channels[0].levels.steps }

func (a *analysis) stepEnd(step int64) int64 { return ((step+1)*a.num + a.den - 1) / a.den }

// feed takes equal lengths of samples of each channel.
func (a *analysis) feed(x [][]float64) {
	n := len(x[0])
	for at := 0; at < n; {
		end := min(n, at+int(a.ends-a.seen))
		for c := range a.channels {
			h := &a.channels[c]
			s := x[c][at:end]
			h.bands.feed(s)
			h.keep(s)
		}
		a.seen += int64(end - at)
		at = end
		if a.seen == a.ends {
			a.closeStep()
		}
	}
}

func (h *hearing) keep(s []float64) {
	span := len(h.recent)
	if len(s) >= span {
		copy(h.recent, s[len(s)-span:])
		return
	}
	copy(h.recent, h.recent[len(s):])
	copy(h.recent[span-len(s):], s)
}

func (a *analysis) closeStep() {
	loudest, excess := 0, -1
	for c := range a.channels {
		h := &a.channels[c]
		lv := h.bands.frame()
		if h.levels != nil {
			h.levels.add(lv)
		}
		h.now = total(lv[:])
		h.low.add(h.now)
		if over := int(h.now) - int(h.low.value()); over > excess && h.now > 0 {
			loudest, excess = c, over
		}
	}
	a.step++
	a.ends = a.stepEnd(a.step)
	if a.step%framesPerLook == 0 {
		var p uint8
		const worthALook = 12 // half decibels above the quietest of late
		h := &a.channels[loudest]
		if excess >= worthALook || a.step < 100 && h.now > 0 {
			p = a.voice.look(h.recent, h.now)
		}
		a.periodic = append(a.periodic, p)
	}
	if a.step%int64(a.perCell) == 0 {
		a.cells = append(a.cells, a.voice.close())
	}
}

// finish closes a last step so that there are exactly steps of them.
func (a *analysis) finish(steps int) {
	for int(a.step) < steps {
		a.closeStep()
	}
	for _, h := range a.channels {
		if h.levels != nil {
			h.levels.steps = steps
		}
	}
	if a.step%int64(a.perCell) != 0 {
		a.cells = append(a.cells, a.voice.close())
	}
}

// quietest follows the lowest level of the last 6 to 8 seconds.
type quietest struct {
	past [4]uint8
	low  uint8
	n    int
	used int
}

func (q *quietest) add(v uint8) {
	if q.n == 0 || v < q.low {
		q.low = v
	}
	if q.n++; q.n == 200 {
		copy(q.past[1:], q.past[:3])
		q.past[0] = q.low
		q.used = min(q.used+1, len(q.past))
		q.n = 0
	}
}

func (q *quietest) value() uint8 {
	v := q.low
	if q.n == 0 {
		v = q.past[0]
	}
	for _, p := range q.past[:q.used] {
		v = min(v, p)
	}
	return v
}
