package listen

import (
	"context"
	"errors"
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

// search hears both recordings from end to end, looks for places where they
// may belong together, and tries the likeliest. tried is what a guess gave.
func (m *matcher) search(ctx context.Context, p *syncProgress, tried matched) (matched, error) {
	a, b, err := m.scanBoth(ctx, p)
	if err != nil {
		return matched{}, err
	}
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

// scanBoth hears both recordings at the same time.
func (m *matcher) scanBoth(ctx context.Context, p *syncProgress) (a, b *bandLevels, err error) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	total := float64(m.a.frames)/float64(m.a.rate) + float64(m.b.frames)/float64(m.b.rate)
	var mu sync.Mutex
	var heard [2]float64
	tell := func(i int, t *syncTrack) func(int64) {
		return func(frames int64) {
			mu.Lock()
			heard[i] = float64(frames) / float64(t.rate)
			sum := heard[0] + heard[1]
			mu.Unlock()
			p.at(0.6 * sum / max(total, 1e-9))
		}
	}
	var errB error
	done := make(chan struct{})
	go func() {
		defer close(done)
		if b, errB = m.b.scan(ctx, tell(1, m.b)); errB != nil {
			stop()
		}
	}()
	if a, err = m.a.scan(ctx, tell(0, m.a)); err != nil {
		stop()
	}
	<-done
	// One that was only stopped because the other failed has nothing to say.
	if errors.Is(err, context.Canceled) && errB != nil {
		err = errB
	}
	if err == nil {
		err = errB
	}
	return a, b, err
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
