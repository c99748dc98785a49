package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Synced is what came of lining up one picture reel: one for each sound reel
// that it belongs to, or one that says that it belongs to none.
type Synced struct {
	Picture string `json:"picture"`
	// Sync is how it lies on its sound reel; nil if it belongs to none.
	Sync *story.Sync `json:"sync"`
	// What says it for people.
	What string `json:"what"`
	// Clock says what is wrong with one of the clocks, nil if nothing is.
	Clock *ClockFault `json:"clock,omitempty"`
}

// ClockFault is a clock that doesn't count as the other does.
type ClockFault struct {
	What string `json:"what"`
	Do   string `json:"do"`
	ppm  float64
}

// clockFault is what a drift means, nil if nothing.
func clockFault(ppm float64) *ClockFault {
	f, bad := listen.ClockFault(ppm)
	if !bad {
		return nil
	}
	return &ClockFault{What: f.What, Do: f.Do, ppm: ppm}
}

// SyncOptions say which picture reels are lined up with which sound.
type SyncOptions struct {
	// Pictures are reels; none are all that look like a camera's.
	Pictures []string
	// Sound is the only sound reel to try, "" for all of the same day.
	Sound string
}

// Sync lines up camera scratch tracks with the recorder's files of the same
// event, by timecode first where both have it, and by sound.
func (d *Desk) Sync(ctx context.Context, opt SyncOptions) ([]Synced, error) {
	recs, err := d.bank.Recordings(ctx)
	if err != nil {
		return nil, err
	}
	pictures, sounds, err := d.syncPairs(ctx, recs, opt)
	if err != nil {
		return nil, err
	}
	out := []Synced{}
	for _, p := range pictures {
		s, err := d.syncOne(ctx, p, sounds, opt.Sound != "")
		if err != nil {
			return out, err
		}
		out = append(out, s...)
	}
	return out, d.freshen(ctx)
}

// syncPairs tells picture from sound: the reels named, or those that look
// like a camera's scratch track.
func (d *Desk) syncPairs(ctx context.Context, recs []story.Recording, opt SyncOptions) (pictures, sounds []story.Recording, err error) {
	for _, name := range opt.Pictures {
		rec, err := d.recording(ctx, name)
		if err != nil {
			return nil, nil, err
		}
		pictures = append(pictures, rec)
	}
	if len(opt.Pictures) == 0 {
		for _, r := range recs {
			if r.Essence != "" && scratch(r) {
				pictures = append(pictures, r)
			}
		}
	}
	if len(pictures) == 0 {
		return nil, nil, refuse("name them: rushlight sync REEL", "no reel looks like a camera's scratch track")
	}
	is := map[string]bool{}
	for _, p := range pictures {
		is[p.Reel] = true
	}
	if opt.Sound != "" {
		rec, err := d.recording(ctx, opt.Sound)
		switch {
		case err != nil:
			return nil, nil, err
		case is[rec.Reel]:
			return nil, nil, usage("name the recorder's reel", "%s can't be lined up with itself", rec.Reel)
		}
		return pictures, []story.Recording{rec}, heardFrom(rec)
	}
	for _, r := range recs {
		if r.Essence != "" && !is[r.Reel] {
			sounds = append(sounds, r)
		}
	}
	return pictures, sounds, nil
}

// scratch tells whether a recording looks like a camera's own sound: a file
// with picture; or without words of its own, and its name says so or no
// recorder has signed it.
func scratch(r story.Recording) bool {
	if pictured(r) {
		return true
	}
	if r.Transcript.Path != "" {
		return false
	}
	name := strings.ToLower(r.Reel)
	return strings.Contains(name, "cam") || strings.Contains(name, "scratch") || r.Originator == "" && r.Clock.Start == 0
}

// pictured tells whether a recording is a file with picture.
func pictured(r story.Recording) bool {
	switch strings.ToLower(filepath.Ext(r.Path)) {
	case ".mov", ".mp4", ".m4v", ".mxf", ".mkv", ".avi", ".mts", ".m2ts":
		return true
	}
	return false
}

// otherDay tells whether two recordings are surely of different days: by two
// dates, or by two labels. A recorder's "D2" may well be the day that a camera
// knows by its date.
func otherDay(a, b string) bool {
	dated := func(day string) bool { return !strings.HasPrefix(day, "D") }
	return a != "" && b != "" && a != b && dated(a) == dated(b)
}

// heardFrom refuses a reel whose sound can't be read.
func heardFrom(r story.Recording) error {
	switch {
	case r.Path == "":
		return refuse("ingest its recording", "%s has words only, no sound", r.Reel)
	case !exists(r.Path):
		return refuse("find it again with 'rushlight relink FOLDER'", "%s is not where it was: %s", r.Reel, r.Path)
	}
	return nil
}

// syncOne lines up one picture reel with all sound reels of its event: the
// recorder may have been stopped while the camera ran on. Those of another day
// are passed over unless they were named. What was known of reels that are not
// tried stays.
func (d *Desk) syncOne(ctx context.Context, p story.Recording, sounds []story.Recording, named bool) ([]Synced, error) {
	if err := heardFrom(p); err != nil {
		return nil, err
	}
	away := 0
	sounds = slices.DeleteFunc(slices.Clone(sounds), func(s story.Recording) bool {
		other := !named && otherDay(s.Day, p.Day)
		if !other && !exists(s.Path) {
			away++
		}
		return other || !exists(s.Path)
	})
	slices.SortStableFunc(sounds, func(a, b story.Recording) int { return cmp.Compare(apartBy(p, a), apartBy(p, b)) })
	var found []*story.Sync
	var apart *ClockFault
	event := ""
	for _, s := range sounds {
		one, _, err := d.lineUp(ctx, s, p, false)
		if err != nil {
			return nil, err
		}
		if one != nil {
			found = append(found, one)
		}
	}
	// Other speeds take long: only with the likeliest.
	for i := 0; i < min(len(sounds), speedsTried) && len(found) == 0 && apart == nil; i++ {
		one, other, err := d.lineUp(ctx, sounds[i], p, true)
		if err != nil {
			return nil, err
		}
		if one != nil {
			found = append(found, one)
		}
		apart, event = other, sounds[i].Reel
	}
	out := synced(p.Reel, found)
	switch {
	case len(found) > 0:
	case apart != nil:
		out[0].What, out[0].Clock = "is of the same event as "+event+", but too far apart to be cut with it", apart
	case len(sounds) == 1:
		out[0].What = "doesn't belong to " + sounds[0].Reel
	case len(sounds) == 0:
		out[0].What = "has no sound reel of its day to be lined up with"
	default:
		out[0].What = fmt.Sprintf("belongs to none of the %d sound reels of its day", len(sounds))
	}
	if away > 0 {
		out[0].What += fmt.Sprintf("; %s of its day not where they were: 'rushlight relink FOLDER'", count(away, "sound reel", "sound reels"))
	}
	var what []string
	for _, s := range out {
		what = append(what, s.What)
	}
	_, err := d.change(ctx, "sync", p.Reel+" "+strings.Join(what, "; "), func(tx *bank.Tx) error {
		for _, s := range sounds {
			if err := tx.RemoveSync(p.Reel, s.Reel); err != nil && !errors.Is(err, bank.ErrNotFound) {
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

// synced says how a picture reel lies on each of its sound reels, the surest
// first; with none it gives one that says nothing yet.
func synced(picture string, list []*story.Sync) []Synced {
	if len(list) == 0 {
		return []Synced{{Picture: picture}}
	}
	slices.SortStableFunc(list, func(a, b *story.Sync) int { return cmp.Compare(b.Confidence, a.Confidence) })
	var out []Synced
	for _, s := range list {
		out = append(out, Synced{Picture: picture, Sync: s, What: describeSync(*s), Clock: clockFault(float64(s.DriftPPB) / 1000)})
	}
	return out
}

// syncSource opens a recording for lining up.
func syncSource(ctx context.Context, path string) listen.SyncSource {
	return func() (listen.SyncReader, error) {
		rd, err := sound.OpenMedia(ctx, path)
		if err == nil {
			rd.SkipEssence()
		}
		return rd, err
	}
}

// lineUp compares one sound reel with one picture reel; nil if they don't
// belong together, or run at speeds too different: then the clock is told.
// Other speeds than the one are only tried if wanted.
func (d *Desk) lineUp(ctx context.Context, s, p story.Recording, speeds bool) (*story.Sync, *ClockFault, error) {
	out := story.Sync{Picture: p.Reel, Sound: s.Reel, By: story.SyncBySound, HasTimecode: p.Clock.Start != 0 && s.Clock.Start != 0}
	opt := listen.SyncOptions{Speeds: speeds}
	guess := p.Clock.Start - s.Clock.Start
	if out.HasTimecode {
		opt.Guess = &guess
	}
	pr := d.progress()
	pr.Begin("lining up "+p.Reel+" with "+s.Reel, 1000)
	defer pr.End()
	opt.Progress = func(done float64) { pr.Reached(int64(1000 * done)) }
	found, err := listen.Synchronise(ctx, syncSource(ctx, s.Path), syncSource(ctx, p.Path), opt)
	if err != nil {
		return nil, nil, fmt.Errorf("%s and %s: %w", s.Reel, p.Reel, err)
	}
	if !found.Found {
		return nil, nil, nil
	}
	out.Offset = found.Offset
	out.DriftPPB = int64(math.Round(found.DriftPPM * 1000))
	out.Confidence = int(math.Round(1000 * found.Confidence))
	if out.HasTimecode {
		out.Disagreement = guess - found.Offset
	}
	if out.Valid() != nil {
		return nil, clockFault(found.DriftPPM), nil
	}
	return &out, nil, nil
}

// describeSync says "begins 0:07.4 before D2-INT2, clock 40.1 ppm fast,
// sure 98 %".
func describeSync(s story.Sync) string {
	where := fmt.Sprintf("begins %s after %s", s.Offset, s.Sound)
	if s.Offset < 0 {
		where = fmt.Sprintf("begins %s before %s", -s.Offset, s.Sound)
	}
	drift := fmt.Sprintf("clock %.1f ppm fast", float64(s.DriftPPB)/1000)
	if s.DriftPPB < 0 {
		drift = fmt.Sprintf("clock %.1f ppm slow", -float64(s.DriftPPB)/1000)
	}
	text := fmt.Sprintf("%s, %s, sure %d %%", where, drift, (s.Confidence+5)/10)
	if s.HasTimecode && (s.Disagreement > 20*timecode.Millisecond || s.Disagreement < -20*timecode.Millisecond) {
		d, way := s.Disagreement, "later"
		if d < 0 {
			d, way = -d, "earlier"
		}
		text += fmt.Sprintf("; its timecode puts it %s %s", d, way)
	}
	return text
}

// Syncs lists what was lined up.
func (d *Desk) Syncs(ctx context.Context) ([]Synced, error) {
	list, err := d.bank.Syncs(ctx)
	out := []Synced{}
	for _, s := range list {
		out = append(out, synced(s.Picture, []*story.Sync{&s})...)
	}
	return out, err
}
