package listen

import (
	"context"
	"math"
	"sync"

	"rushlight/pkg/timecode"
)

// syncTries is how many places are looked at closely before two recordings
// are told to be strangers; four times as many where one is under a quarter of
// a minute, as its levels say little.
const syncTries = 6

// syncProgress tells progress by one goroutine at a time and never backwards.
type syncProgress struct {
	tell func(done float64)
	mu   sync.Mutex
	told float64
}

func (p *syncProgress) at(done float64) {
	if p.tell == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	if done >= p.told+0.002 || done >= 1 && p.told < 1 {
		p.told = min(done, 1)
		p.tell(p.told)
	}
}

// search looks for places where two recordings of these levels may belong
// together, and tries the likeliest. tried is what a guess gave.
func (m *matcher) search(ctx context.Context, a, b *bandLevels, p *syncProgress, tried matched) (matched, error) {
	m.lively = [2]liveliness{a.liveliness(), b.liveliness()}
	seen, err := sightings(ctx, a, b, func(share float64) { p.at(0.6 + 0.15*share) })
	if err != nil {
		return matched{}, err
	}
	best, tries := tried, syncTries
	if min(m.a.seconds(), m.b.seconds()) < shortOverlap {
		tries *= 4
	}
	for i, g := range hypotheses(seen, m.drift, tries) {
		if !m.worth(g) {
			continue
		}
		r, err := m.try(ctx, g)
		if err != nil {
			return matched{}, err
		}
		if r.found {
			return r, nil
		}
		if r.n > best.n || best.windows == nil {
			best = r
		}
		p.at(0.75 + 0.25*float64(i+1)/float64(tries))
	}
	return best, nil
}

// What two recordings of one event show in their levels grows with how long both
// talk: in 150 built pairs at 20 to −5 dB with 2.5 to 60 s of talk in common, a
// place that was then found had a height of 4.2 and more at 4 s, 5.1 at 10 s, 9.4
// at 12 s and 25 at 30 s. A short recording that lies in a long one as a whole
// stands out more: 5.6 and more at 2.5 s, 6.1 at 3 s, 7.5 at 6 s, 10.7 at 12 s
// (180 places). Strangers' best place is 4 to 8 high, at any length.
const (
	heightPerSecond           = 0.35
	wholeHeight, wholePerTalk = 4.5, 0.2
	heightEnough              = 8
)

// worth tells whether a place is worth a look at the samples: whether levels agree
// as they would if both were of one event there, with room for one that holds
// the event in a part only.
func (m *matcher) worth(g guess) bool {
	both := m.ground(syncLine{offset: g.apart})
	least := heightPerSecond * both.talk
	if short := min(m.a.seconds(), m.b.seconds()); short < shortOverlap && both.out-both.in > 0.9*short {
		least = wholeHeight + wholePerTalk*both.talk
	}
	return g.height >= min(heightEnough, least)
}

// sync is the result as it leaves.
func (r matched) sync(m *matcher, g *timecode.Ticks) Sync {
	s := Sync{Found: r.found}
	for i, w := range r.windows {
		s.Windows = append(s.Windows, SyncWindow{
			At:     timecode.FromSeconds(w.at),
			Offset: timecode.FromSeconds(w.apart),
			Peak:   math.Abs(w.peak),
			Used:   r.found && r.used[i],
		})
	}
	if !r.found {
		return s
	}
	s.Offset = timecode.FromSeconds(r.line.offset)
	s.DriftPPM = math.Round(r.line.delta*1e12) / 1e6
	s.Confidence = float64(r.n) / float64(r.sound) * (1 - math.Exp2(-float64(r.n)))
	b := timecode.Span{In: s.ToA(0), Out: s.ToA(timecode.FromSamples(m.b.frames, m.b.rate))}
	s.Overlap = b.Intersect(timecode.Span{Out: timecode.FromSamples(m.a.frames, m.a.rate)})
	if g != nil {
		wrong := *g - s.Offset
		s.GuessError = &wrong
	}
	return s
}
