package listen

import (
	"context"
	"errors"
	"sync"
)

// SyncRecording is a recording among those that a Lineup lines up.
type SyncRecording struct {
	// Name tells it from the others: one name is one sound.
	Name string
	Open SyncSource
}

// Lineup lines up many recordings with each other. Of each it keeps the levels
// that Synchronise looks for places with, so that it is heard from end to end
// only once however many it is compared with, at whatever speed, and opened
// again only where a place is worth a closer look. Levels are 0.9 MB for each hour;
// what is over 8 MiB lies in a temporary file (see levelShelf).
//
// The zero value is ready. Close it. Several goroutines may use it.
type Lineup struct {
	mu     sync.Mutex
	known  map[string]*syncHeard
	shelf  levelShelf
	closer closer
}

// syncHeard is what is known of a recording.
type syncHeard struct {
	syncFacts
	opened bool // syncFacts are filled in
	heard  bool // levels are on the shelf
	levels shelved
	mu     sync.Mutex
}

// Close gives back what is kept. The Lineup can be used anew afterwards.
func (l *Lineup) Close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.known = nil
	return l.shelf.close()
}

func (l *Lineup) of(r SyncRecording) *syncHeard {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.known == nil {
		l.known = map[string]*syncHeard{}
	}
	h := l.known[r.Name]
	if h == nil {
		h = &syncHeard{}
		l.known[r.Name] = h
	}
	return h
}

// track is a recording ready for reading. It is only opened now if nothing is
// known of it yet. The caller closes it.
func (l *Lineup) track(ctx context.Context, name string, r SyncRecording) (*syncTrack, error) {
	h := l.of(r)
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.opened {
		return newSyncTrack(r.Open, h.syncFacts), nil
	}
	t, err := openSyncTrack(ctx, name, r.Open)
	if err == nil {
		h.syncFacts, h.opened = t.syncFacts, true
	}
	return t, err
}

// Hear hears a recording from end to end, if that wasn't done, so that
// lining it up takes little more. done, if not nil, is told the share heard.
// Errors are those of Synchronise.
func (l *Lineup) Hear(ctx context.Context, r SyncRecording, done func(share float64)) (err error) {
	t, err := l.track(ctx, r.Name, r)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, t.close()) }()
	_, err = l.levels(ctx, r, t, func(frames int64) {
		if done != nil {
			done(min(1, float64(frames)/float64(max(1, t.frames))))
		}
	})
	return err
}

// levels are those of a recording: from the shelf, or heard, from t where that
// has the recording's own speed.
func (l *Lineup) levels(ctx context.Context, r SyncRecording, t *syncTrack, done func(frames int64)) (x *bandLevels, err error) {
	h := l.of(r)
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.heard {
		done(t.frames)
		return l.shelf.get(h.levels)
	}
	if t.rate != h.rate {
		t = newSyncTrack(r.Open, h.syncFacts)
		defer func() { err = errors.Join(err, t.close()) }()
	}
	if x, err = t.scan(ctx, done); err != nil {
		return nil, err
	}
	h.levels, h.heard = l.shelf.put(x), true
	return x, nil
}

// bothLevels hears those of two recordings that weren't, at the same time.
func (l *Lineup) bothLevels(ctx context.Context, a, b SyncRecording, m *matcher, p *syncProgress) (la, lb *bandLevels, err error) {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	total := m.a.seconds() + m.b.seconds()
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
		if lb, errB = l.levels(ctx, b, m.b, tell(1, m.b)); errB != nil {
			stop()
		}
	}()
	if la, err = l.levels(ctx, a, m.a, tell(0, m.a)); err != nil {
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
	return la, lb, err
}

// Synchronise is the function of that name, for two recordings of many.
func (l *Lineup) Synchronise(ctx context.Context, a, b SyncRecording, opt SyncOptions) (Sync, error) {
	if opt.Speeds {
		return l.atSpeeds(ctx, a, b, opt)
	}
	return l.lineUp(ctx, a, b, speed{num: 1, den: 1}, opt)
}

// lineUp is Synchronise at one speed.
func (l *Lineup) lineUp(ctx context.Context, a, b SyncRecording, sp speed, opt SyncOptions) (s Sync, err error) {
	drift := opt.MaxDrift
	if !(drift > 0) {
		drift = 200
	}
	p := &syncProgress{tell: opt.Progress}
	ta, err := l.track(ctx, "a", a)
	if err != nil {
		return Sync{}, err
	}
	defer func() { err = errors.Join(err, ta.close()) }()
	tb, err := l.track(ctx, "b", b)
	if err != nil {
		return Sync{}, err
	}
	defer func() { err = errors.Join(err, tb.close()) }()
	own := tb.rate
	tb.pace(sp)
	m := newMatcher(ta, tb, min(drift, 1000)/1e6)
	m.closer = &l.closer
	var r matched
	if opt.Guess != nil {
		g := opt.Guess.Seconds()
		both := m.ground(syncLine{offset: g})
		if r, err = m.try(ctx, guess{at: (both.in + both.out) / 2, apart: g, reach: 1}); err != nil {
			return Sync{}, err
		}
	}
	if !r.found && !opt.GuessOnly {
		la, lb, err := l.bothLevels(ctx, a, b, m, p)
		if err != nil {
			return Sync{}, err
		}
		if tb.rate != own {
			lb = lb.stretched(float64(tb.rate) / float64(own))
		}
		if r, err = m.search(ctx, la, lb, p, r); err != nil {
			return Sync{}, err
		}
	}
	p.at(1)
	s = r.sync(m, opt.Guess)
	if s.Found {
		s.DriftPPM = tb.ownDrift(s.DriftPPM, own)
	}
	return s, nil
}
