package listen

import (
	"fmt"

	"rushlight/pkg/sound"
)

// faultStretch finds half minutes in which somebody talks and no channel is loud
// enough, in a recording that is loud enough elsewhere: an input that was turned
// down, a microphone that was carried away. All channels are heard together:
// who only listens is soft on his own microphone, and that is right.
type faultStretch struct {
	next int64 // sample at which the half minute ends
	long int64
	low  faultList
}

const (
	stretchSeconds = 30
	stretchFewest  = 3   // half minutes
	stretchSwing   = 8.0 // dB from the softest tenth to the loudest fifth: talk
)

func newFaultStretch(info sound.Info) faultStretch {
	long := stretchSeconds * int64(info.SampleRate)
	return faultStretch{next: long, long: long, low: faultList{gap: 2 * long}}
}

// stretch looks at the half minute that is over, if one is; at the end of the
// recording at what is left, if it is as much as half of one.
func (f *faultFinder) stretch(done int64, end bool) {
	s := &f.soft
	from := s.next - s.long
	if done < s.next && (!end || 2*(done-from) < s.long) {
		return
	}
	best, swing := -150.0, 0.0
	for _, e := range f.ears {
		m := &e.levels.recent
		if talk := m.upper(0.02); talk > best {
			best, swing = talk, m.upper(0.2)-m.upper(0.9)
		}
		*m = faultRecent{}
	}
	if best < lowNote && swing >= stretchSwing {
		s.low.add(faultPlace{from: from, to: done, n: 1, value: best})
	}
	s.next = done + s.long
}

// stretches says where the level was too low in part.
func (f *faultFinder) stretches() (out []Fault) {
	talk := -150.0
	for _, e := range f.ears {
		talk = max(talk, e.levels.talk())
	}
	for _, p := range f.soft.low.places {
		if p.n < stretchFewest || talk < lowNote {
			continue
		}
		x := lowFault(p.value)
		x.Span, x.Channel, x.Other = f.span(p.from, p.to), -1, -1
		x.What = fmt.Sprintf("for %s the loudest sound on any channel reaches only %s dBFS, elsewhere %s",
			x.Length().Short(), levelText(p.value, 0), levelText(talk, 0))
		out = append(out, x)
	}
	return out
}

// faultRecent counts the levels of half a minute.
type faultRecent struct {
	count faultCount
	all   int64
}

func (m *faultRecent) add(bin int) {
	m.count[bin]++
	m.all++
}

// upper is the level in dBFS that this share of it reaches.
func (m *faultRecent) upper(share float64) float64 {
	return m.count.upper(int64(share * float64(m.all)))
}
