package bank

import (
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

func ticks(v int64) timecode.Ticks { return timecode.Ticks(v) }

// packHeard stores everything of h but its version, duration and envelope,
// which have columns of their own.
func packHeard(h story.Heard) []byte {
	w := writer{b: make([]byte, 0, 64+8*(len(h.Speech)+len(h.Pauses))+12*len(h.Turns))}
	for _, f := range []float64{h.FloorDBFS, h.LoudnessLUFS, h.PeakDBFS, h.ThresholdDBFS} {
		w.float(f)
	}
	for _, list := range [][]timecode.Span{h.Speech, h.Pauses} {
		w.uint(uint64(len(list)))
		var last timecode.Ticks
		for _, s := range list {
			last = w.span(s, last)
		}
	}
	w.uint(uint64(len(h.Turns)))
	names := map[string]uint64{}
	var last timecode.Ticks
	for _, t := range h.Turns {
		last = w.span(t.Span, last)
		w.int(int64(t.Channel))
		for _, s := range []string{t.Speaker, string(t.Source)} {
			// A name is written once, then counted.
			if n, ok := names[s]; ok {
				w.uint(n)
				continue
			}
			w.uint(uint64(len(names)))
			names[s] = uint64(len(names))
			w.string(s)
		}
	}
	w.uint(uint64(len(h.Clipped)))
	last = 0
	for _, c := range h.Clipped {
		last = w.span(c.Span, last)
		w.int(int64(c.Channel))
		w.int(int64(c.Samples))
	}
	return w.b
}

// unpackHeard is the reverse of packHeard.
func unpackHeard(b []byte) (*story.Heard, error) {
	s := scanner{b: b}
	h := &story.Heard{}
	for _, f := range []*float64{&h.FloorDBFS, &h.LoudnessLUFS, &h.PeakDBFS, &h.ThresholdDBFS} {
		*f = s.float()
	}
	for _, list := range []*[]timecode.Span{&h.Speech, &h.Pauses} {
		var last timecode.Ticks
		for range s.count() {
			x := s.span(last)
			last = x.In
			*list = append(*list, x)
		}
	}
	var names []string
	name := func() string {
		switch n := s.uint(); {
		case n < uint64(len(names)):
			return names[n]
		case n == uint64(len(names)):
			names = append(names, s.string())
			return names[n]
		}
		s.bad, s.b = true, nil
		return ""
	}
	var last timecode.Ticks
	for range s.count() {
		t := story.Turn{Span: s.span(last)}
		last = t.In
		t.Channel = int(s.int())
		t.Speaker, t.Source = name(), story.TurnSource(name())
		h.Turns = append(h.Turns, t)
	}
	last = 0
	for range s.count() {
		c := story.Clip{Span: s.span(last)}
		last = c.In
		c.Channel, c.Samples = int(s.int()), int(s.int())
		h.Clipped = append(h.Clipped, c)
	}
	return h, s.end("what was heard")
}
