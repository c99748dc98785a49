package listen

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// faults puts into words what the ears and the comparison found.
func (f *faultFinder) faults() []Fault {
	var out []Fault
	for c, e := range f.ears {
		add := func(p faultPlace, x Fault) {
			x.Span, x.Channel, x.Other = f.span(p.from, p.to), c, -1
			if x.Span.Empty() {
				return
			}
			x.What = f.name(c) + ": " + x.What
			out = append(out, x)
		}
		talk := e.levels.talk()
		whole := f.dead(c, add)
		f.runs(e, add)
		if whole {
			continue
		}
		f.hum(e, talk, add)
		f.rumble(e, talk, add)
		f.offset(e, add)
		f.low(e, talk, add)
	}
	out = append(out, f.stretches()...)
	for _, q := range f.polarity.pairs {
		if share, ok := q.opposite(); ok {
			out = append(out, Fault{
				Kind: FaultPolarity, Span: f.span(0, f.frames), Channel: q.a, Other: q.b, Severity: FaultWarn, Value: 100 * share,
				What: fmt.Sprintf("%s and %s hear the same upside down, %.0f %% of the time that both hear something", f.name(q.a), f.name(q.b), 100*share),
				Do:   "turn one of them over before they are mixed; look for a cable wired the wrong way round",
			})
		}
	}
	return out
}

// name is what a channel is called in a message.
func (f *faultFinder) name(c int) string {
	if c < len(f.names) && f.names[c] != "" {
		return f.names[c]
	}
	return "channel " + strconv.Itoa(c+1)
}

func dbOf(v float64) float64 { return 20 * math.Log10(math.Max(v, 1e-10)) }

type addFault func(p faultPlace, x Fault)

// dead tells whether all of the channel is silent.
func (f *faultFinder) dead(c int, add addFault) bool {
	e := f.ears[c]
	for _, p := range e.levels.dead.places {
		length := p.to - p.from
		x := Fault{Kind: FaultDead, Value: float64(length) / float64(f.rate)}
		switch {
		case length >= f.frames:
			x.Severity, x.What = FaultStop, "no sound at all"
			x.Do = "check cable, power and what the track is armed for; record again"
			add(p, x)
			return true
		case length < faultHole*f.rate || e.runs.dropped(p):
			continue
		}
		x.Severity, x.What = FaultWarn, fmt.Sprintf("no sound for %.0f s", x.Value)
		x.Do = "check cable, battery and radio link; use another track for this stretch"
		add(p, x)
	}
	return false
}

// faultHole is the length in seconds from which on a hole is a dead channel.
const faultHole = 4

// dropped tells whether a dropout is this hole.
func (r *faultRuns) dropped(p faultPlace) bool {
	for _, d := range r.dropouts.places {
		if d.from <= p.from && d.to >= p.to && d.value >= float64(p.to-p.from) {
			return true
		}
	}
	return false
}

// runs: clipping, dropouts, stuck samples.
func (f *faultFinder) runs(e *faultEar, add addFault) {
	for _, p := range e.runs.clipped.places {
		x := Fault{Kind: FaultClipping, Severity: FaultNote, Value: dbOf(p.value)}
		part := float64(p.size) / float64(p.to-p.from)
		flat := float64(p.size) / float64(f.rate) // seconds
		switch {
		case p.n >= 100 && part >= 0.005, flat >= 0.5:
			x.Severity = FaultStop
		case p.n >= 10, flat >= 0.05:
			x.Severity = FaultWarn
		}
		x.What = fmt.Sprintf("%d tops cut flat at %s dBFS", p.n, levelText(x.Value, 1))
		x.Do = "turn the input down by 10 dB and ask again; if it can't be said again, declip in the edit"
		add(p, x)
	}
	for _, p := range e.runs.dropouts.places {
		add(p, f.holes(FaultDropout, p, "the sound drops to nothing",
			"copy the file again and compare; if it is on the card too, change card or radio channel and ask again"))
	}
	for _, p := range e.runs.stuck.places {
		add(p, f.holes(FaultStuck, p, "the samples stand still",
			"copy the file again and compare; if it is on the card too, change recorder or converter and ask again"))
	}
}

func (f *faultFinder) holes(kind FaultKind, p faultPlace, what, do string) Fault {
	ms := 1000 * p.value / float64(f.rate)
	x := Fault{Kind: kind, Severity: FaultWarn, Value: ms, Do: do}
	if ms >= 50 || p.n >= 10 {
		x.Severity = FaultStop
	}
	x.What = fmt.Sprintf("%s for %.1f ms", what, ms)
	if p.n > 1 {
		x.What = fmt.Sprintf("%s %d times, the longest %.1f ms", what, p.n, ms)
	}
	return x
}

func (f *faultFinder) hum(e *faultEar, talk float64, add addFault) {
	for m := range humMains {
		for _, p := range e.hum.found[m].places {
			if p.value < -92 || p.value < talk-humUnder {
				continue
			}
			x := Fault{Kind: FaultHum, Severity: FaultNote, Value: p.value}
			switch {
			case p.value > talk-20:
				x.Severity = FaultStop
			case p.value > talk-38:
				x.Severity = FaultWarn
			}
			x.What = fmt.Sprintf("mains hum at %.1f Hz and its multiples, %s dBFS, %.0f dB under the talk", e.hum.base[m], levelText(p.value, 0), talk-p.value)
			x.Do = "look for mains cables beside the microphone's, ground loops, fridges and transformers; in the edit, notch out these lines"
			add(p, x)
		}
	}
}

func (f *faultFinder) rumble(e *faultEar, talk float64, add addFault) {
	for _, p := range e.rumble.places(talk) {
		if p.value < talk-3 && e.runs.explains(p) {
			continue
		}
		x := Fault{Kind: FaultRumble, Severity: FaultNote, Value: p.value}
		switch {
		case p.value > talk+3:
			x.Severity = FaultStop
		case p.value > talk-12:
			x.Severity = FaultWarn
		}
		x.What = fmt.Sprintf("rumble under 45 Hz (wind, handling, traffic), up to %s dBFS, talk at %s", levelText(p.value, 0), levelText(talk, 0))
		x.Do = "windshield, shock mount, low cut at the microphone; in the edit, a high-pass at 80 Hz"
		add(p, x)
	}
}

// explains tells whether clipping or a hole in the sound makes what was found:
// both shift the zero line and rumble.
func (r *faultRuns) explains(p faultPlace) bool {
	var covered int64
	for _, c := range r.clipped.places {
		if c.n >= 10 {
			covered += max(0, min(p.to, c.to+r.clipped.gap)-max(p.from, c.from-r.clipped.gap))
		}
	}
	if 2*covered >= p.to-p.from {
		return true
	}
	if p.n > 8 {
		return false
	}
	for _, l := range [][]faultPlace{r.dropouts.places, r.stuck.places} {
		for _, c := range l {
			if c.from < p.to && p.from < c.to {
				return true
			}
		}
	}
	return false
}

func (f *faultFinder) offset(e *faultEar, add addFault) {
	for side, sign := range []float64{1, -1} {
		for _, p := range e.levels.zero.offset[side].places {
			if p.to-p.from < min(offsetFewest*f.rate, f.frames) || p.to-p.from < f.rate || e.runs.explains(p) {
				continue
			}
			x := Fault{Kind: FaultOffset, Severity: FaultNote, Value: 100 * sign * p.value}
			if p.value >= 0.05 {
				x.Severity = FaultWarn
			}
			x.What = fmt.Sprintf("the zero line lies at %s %% of full scale", strings.Replace(fmt.Sprintf("%+.1f", x.Value), "-", "−", 1))
			x.Do = "a high-pass at 20 Hz mends it; have the converter looked at"
			add(p, x)
		}
	}
}

// Levels in dBFS that talk must reach (common practice, no source: talk is
// recorded between −30 and −12 dBFS; with −60 dBFS of preamplifier noise,
// what lies 35 dB under that stays noisy).
const (
	lowNote = -46.0
	lowWarn = -53.0
	lowStop = -62.0
)

func (f *faultFinder) low(e *faultEar, talk float64, add addFault) {
	if talk >= lowNote || f.frames < f.rate {
		return
	}
	x := lowFault(talk)
	x.What = fmt.Sprintf("the loudest sound reaches only %s dBFS", levelText(talk, 0))
	add(faultPlace{from: 0, to: f.frames}, x)
}

// lowFault is the fault of talk at this level.
func lowFault(talk float64) Fault {
	x := Fault{Kind: FaultLow, Severity: FaultNote, Value: talk}
	switch {
	case talk < lowStop:
		x.Severity = FaultStop
	case talk < lowWarn:
		x.Severity = FaultWarn
	}
	x.Do = "turn the input up or come closer; check that this microphone is the one that was meant"
	return x
}

// levelText is a level with so many decimals as people write it: with a minus
// sign, and none before a zero.
func levelText(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return strings.Replace(s, "-", "−", 1)
}
