package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// lining is one run of lining up: each reel is heard at most once, however many
// it is compared with.
type lining struct {
	*Desk
	lineup listen.Lineup
	named  bool // the reels were named: what can't be heard is refused
	told   sync.Mutex
}

// camera is a picture reel while it is lined up.
type camera struct {
	story.Recording
	sounds []story.Recording // of its event, perhaps; the likeliest first
	syncs  []*story.Sync     // for each of these, nil if not found
	away   int               // sound reels that are not where they were
	apart  *ClockFault       // of a sound reel that runs at a speed too different
	at     int               // that reel
	broken error             // why it can't be heard
	deaf   []string          // sound reels that can't be heard
}

// all lines up picture reels with sound reels: first where timecode puts them,
// then by what is heard. What was found of a picture reel is in the bank before
// the next one is looked at.
func (l *lining) all(ctx context.Context, pictures, sounds []story.Recording, any bool) ([]Synced, error) {
	out := []Synced{}
	var list []*camera
	for _, p := range pictures {
		c := newCamera(p, sounds, any)
		if c.broken = heardFrom(p); c.broken != nil && l.named {
			return out, c.broken
		}
		list = append(list, c)
	}
	if err := l.byTimecode(ctx, list); err != nil {
		return out, err
	}
	if err := l.hear(ctx, list); err != nil {
		return out, err
	}
	for _, c := range list {
		s, err := l.one(ctx, c)
		out = append(out, s...)
		if err != nil {
			return out, err
		}
	}
	return out, nil
}

// newCamera finds the sound reels that a picture reel may belong to: the
// recorder may have been stopped while the camera ran on. Those of another day
// are passed over unless any will do.
func newCamera(p story.Recording, sounds []story.Recording, any bool) *camera {
	c := &camera{Recording: p}
	for _, s := range sounds {
		switch {
		case !any && otherDay(s.Day, p.Day):
		case !exists(s.Path):
			c.away++
		default:
			c.sounds = append(c.sounds, s)
		}
	}
	slices.SortStableFunc(c.sounds, func(a, b story.Recording) int { return cmp.Compare(apartBy(p, a), apartBy(p, b)) })
	c.syncs = make([]*story.Sync, len(c.sounds))
	return c
}

// pair is a picture reel and one of its sound reels.
type pair struct {
	*camera
	i int
}

// byTimecode tries the places where timecode puts reels, so that those that it
// puts right needn't be heard.
func (l *lining) byTimecode(ctx context.Context, list []*camera) error {
	var pairs []pair
	for _, c := range list {
		for i, s := range c.sounds {
			if c.broken == nil && bothTimed(c.Recording, s) && apartBy(c.Recording, s) == 0 {
				pairs = append(pairs, pair{c, i})
			}
		}
	}
	p := l.shares("comparing timecodes", slices.Repeat([]int64{1}, len(pairs)))
	defer p.end()
	return sideBySide(ctx, len(pairs), func(ctx context.Context, i int) error {
		err := l.lineUp(ctx, pairs[i], listen.SyncOptions{GuessOnly: true}, nil)
		p.reached(i, 1)
		if !l.named && err != nil && !stops(err) {
			return nil // hearing them tells which of the two is broken
		}
		return err
	})
}

// hear hears all reels that timecode didn't settle.
func (l *lining) hear(ctx context.Context, list []*camera) error {
	seen := map[string]int{}
	var recs []story.Recording
	var lengths []int64
	want := func(r story.Recording) {
		if _, known := seen[r.Path]; !known {
			seen[r.Path] = len(recs)
			recs, lengths = append(recs, r), append(lengths, int64(r.Duration))
		}
	}
	for _, c := range list {
		for i, s := range c.sounds {
			if c.broken == nil && c.syncs[i] == nil {
				want(c.Recording)
				want(s)
			}
		}
	}
	p := l.shares("hearing "+count(len(recs), "reel", "reels"), lengths)
	defer p.end()
	broken := make([]error, len(recs))
	err := sideBySide(ctx, len(recs), func(ctx context.Context, i int) error {
		err := l.lineup.Hear(ctx, syncFile(ctx, recs[i].Path), func(share float64) { p.reached(i, share) })
		if err != nil && (l.named || stops(err)) {
			return fmt.Errorf("%s: %w", recs[i].Reel, err)
		}
		broken[i] = err
		return nil
	})
	for _, c := range list {
		if i, heard := seen[c.Path]; heard && broken[i] != nil {
			c.broken = broken[i]
		}
		for i := len(c.sounds) - 1; i >= 0; i-- {
			if k, heard := seen[c.sounds[i].Path]; heard && broken[k] != nil {
				c.deaf = append(c.deaf, c.sounds[i].Reel)
				c.sounds, c.syncs = slices.Delete(c.sounds, i, i+1), slices.Delete(c.syncs, i, i+1)
			}
		}
		slices.Sort(c.deaf)
	}
	return err
}

// one lines up one picture reel with all its sound reels and stores what came
// of it. What was known of reels that are not tried stays.
func (l *lining) one(ctx context.Context, c *camera) ([]Synced, error) {
	if c.broken != nil {
		return []Synced{{Picture: c.Reel, What: "can't be heard: " + c.broken.Error()}}, nil
	}
	if err := l.bySound(ctx, c, len(c.sounds), "lining up "+c.Reel, listen.SyncOptions{}); err != nil {
		return nil, err
	}
	if !slices.ContainsFunc(c.syncs, func(s *story.Sync) bool { return s != nil }) {
		most := len(c.sounds)
		if c.Duration < shortCamera {
			most = min(most, speedsTried)
		}
		if err := l.bySound(ctx, c, most, "lining up "+c.Reel+" at other speeds", listen.SyncOptions{Speeds: true, SpeedsOnly: true}); err != nil {
			return nil, err
		}
	}
	found := slices.DeleteFunc(slices.Clone(c.syncs), func(s *story.Sync) bool { return s == nil })
	out := synced(c.Reel, found)
	out[0].What += c.without(len(found))
	if len(found) == 0 && c.apart != nil {
		out[0].Clock = c.apart
	}
	var what string
	for _, s := range out {
		what += "; " + s.What
	}
	_, err := l.change(ctx, "sync", c.Reel+" "+what[2:], func(tx *bank.Tx) error {
		for _, s := range c.sounds {
			if err := tx.RemoveSync(c.Reel, s.Reel); err != nil && !errors.Is(err, bank.ErrNotFound) {
				return err
			}
		}
		for _, s := range found {
			if err := tx.PutSync(*s); err != nil {
				return err
			}
		}
		return nil
	})
	return out, err
}

// shortCamera is what a camera must have recorded for its levels to say at
// other speeds, too, which of many sound reels it belongs to.
const shortCamera = 16 * timecode.Second

// without says what a camera lies on where it lies on none, and what couldn't be
// compared with it.
func (c *camera) without(found int) string {
	text := ""
	switch {
	case found > 0:
	case c.apart != nil:
		text = "is of the same event as " + c.sounds[c.at].Reel + ", but too far apart to be cut with it"
	case len(c.sounds) == 1:
		text = "doesn't belong to " + c.sounds[0].Reel
	case len(c.sounds) == 0:
		text = "has no sound reel of its day to be lined up with"
	default:
		text = fmt.Sprintf("belongs to none of the %d sound reels of its day", len(c.sounds))
	}
	if c.away > 0 {
		text += fmt.Sprintf("; %s of its day not where they were: 'rushlight relink FOLDER'", count(c.away, "sound reel", "sound reels"))
	}
	if len(c.deaf) > 0 {
		text += "; can't be heard: " + joinAnd(c.deaf)
	}
	return text
}

// bySound compares a picture reel with the first most of its sound reels that it
// wasn't found on.
func (l *lining) bySound(ctx context.Context, c *camera, most int, job string, opt listen.SyncOptions) error {
	var pairs []pair
	for i := range most {
		if c.syncs[i] == nil {
			pairs = append(pairs, pair{c, i})
		}
	}
	p := l.shares(job, slices.Repeat([]int64{1000}, len(pairs)))
	defer p.end()
	return sideBySide(ctx, len(pairs), func(ctx context.Context, i int) error {
		return l.lineUp(ctx, pairs[i], opt, func(share float64) { p.reached(i, share) })
	})
}

// lineUp compares a sound reel with a picture reel and notes how they lie if they
// belong together, or that they run at speeds too different.
func (l *lining) lineUp(ctx context.Context, x pair, opt listen.SyncOptions, done func(share float64)) error {
	p, s := x.Recording, x.sounds[x.i]
	out := story.Sync{Picture: p.Reel, Sound: s.Reel, By: story.SyncBySound, HasTimecode: bothTimed(p, s)}
	guess := p.Clock.Start - s.Clock.Start
	if out.HasTimecode && (opt.GuessOnly || opt.Speeds) {
		opt.Guess = &guess
	}
	opt.Progress = done
	found, err := l.lineup.Synchronise(ctx, syncFile(ctx, s.Path), syncFile(ctx, p.Path), opt)
	if err != nil {
		return fmt.Errorf("%s and %s: %w", s.Reel, p.Reel, err)
	}
	if !found.Found {
		return nil
	}
	out.Offset = found.Offset
	out.DriftPPB = int64(math.Round(found.DriftPPM * 1000))
	out.Confidence = int(math.Round(1000 * found.Confidence))
	if out.HasTimecode {
		out.Disagreement = guess - found.Offset
	}
	l.told.Lock()
	defer l.told.Unlock()
	if out.Valid() != nil {
		// Of several, the first in order, whichever was done first.
		if x.apart == nil || x.i < x.at {
			x.apart, x.at = clockFault(found.DriftPPM), x.i
		}
		return nil
	}
	x.syncs[x.i] = &out
	return nil
}

// bothTimed tells whether two recordings have timecode.
func bothTimed(a, b story.Recording) bool { return a.Clock.Start != 0 && b.Clock.Start != 0 }
