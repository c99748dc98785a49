package desk

import (
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

// Synced is what came of lining up one picture reel.
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
		s, err := d.syncOne(ctx, p, sounds)
		if err != nil {
			return out, err
		}
		out = append(out, s)
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
		return pictures, []story.Recording{rec}, err
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
	switch strings.ToLower(filepath.Ext(r.Path)) {
	case ".mov", ".mp4", ".m4v", ".mxf", ".mkv", ".avi", ".mts", ".m2ts":
		return true
	}
	if r.Transcript.Path != "" {
		return false
	}
	name := strings.ToLower(r.Reel)
	return strings.Contains(name, "cam") || strings.Contains(name, "scratch") || r.Originator == "" && r.Clock.Start == 0
}

func (d *Desk) syncOne(ctx context.Context, p story.Recording, sounds []story.Recording) (Synced, error) {
	out := Synced{Picture: p.Reel}
	if !exists(p.Path) {
		return out, refuse("find it again with 'rushlight relink FOLDER'", "%s is not where it was: %s", p.Reel, p.Path)
	}
	sounds = slices.DeleteFunc(slices.Clone(sounds), func(s story.Recording) bool {
		return s.Day != p.Day && s.Day != "" && p.Day != "" || !exists(s.Path)
	})
	var best *story.Sync
	var apart *ClockFault
	event := ""
	for _, s := range sounds {
		found, _, err := d.lineUp(ctx, s, p, false)
		if err != nil {
			return out, err
		}
		if found != nil && (best == nil || found.Confidence > best.Confidence) {
			best = found
		}
	}
	for i := 0; i < len(sounds) && best == nil && apart == nil; i++ {
		var err error
		if best, apart, err = d.lineUp(ctx, sounds[i], p, true); err != nil {
			return out, err
		}
		event = sounds[i].Reel
	}
	out.What = fmt.Sprintf("belongs to none of the %s of its day", count(len(sounds), "sound reel", "sound reels"))
	switch {
	case best != nil:
		out.Sync, out.What, out.Clock = best, describeSync(*best), clockFault(float64(best.DriftPPB)/1000)
	case apart != nil:
		out.What, out.Clock = "is of the same event as "+event+", but too far apart to be cut with it", apart
	}
	_, err := d.change(ctx, "sync", p.Reel+" "+out.What, func(tx *bank.Tx) error {
		if err := tx.RemoveSync(p.Reel); err != nil && !errors.Is(err, bank.ErrNotFound) {
			return err
		}
		if best == nil {
			return nil
		}
		return tx.PutSync(*best)
	})
	return out, err
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
		text += fmt.Sprintf("; its timecode says %s otherwise", s.Disagreement)
	}
	return text
}

// Syncs lists what was lined up.
func (d *Desk) Syncs(ctx context.Context) ([]Synced, error) {
	list, err := d.bank.Syncs(ctx)
	out := []Synced{}
	for _, s := range list {
		out = append(out, Synced{
			Picture: s.Picture, Sync: &s, What: describeSync(s), Clock: clockFault(float64(s.DriftPPB) / 1000),
		})
	}
	return out, err
}

// Picture is where a saying is seen: the camera's reel and its own times.
type Picture struct {
	Reel string          `json:"reel"`
	In   timecode.Moment `json:"in"`
	Out  timecode.Moment `json:"out"`
	span timecode.Span
}

// picture finds where a stretch of a sound reel is seen; nil if no camera
// that ran then was lined up.
func (d *Desk) picture(ctx context.Context, reel string, span timecode.Span) (*Picture, error) {
	s, err := d.bank.SyncOf(ctx, reel)
	if errors.Is(err, bank.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	recs, err := d.recordings(ctx)
	if err != nil {
		return nil, err
	}
	cam := recs[s.Picture]
	at := timecode.Span{In: s.ToPicture(span.In), Out: s.ToPicture(span.Out)}
	if at.In < 0 || at.Out > cam.Duration {
		return nil, nil
	}
	return &Picture{Reel: s.Picture, In: cam.Clock.In(at.In), Out: cam.Clock.Out(at.Out), span: at}, nil
}

// addPicture gives each piece of a cut that a camera saw a second event with
// the picture, of the same frames.
func (d *Desk) addPicture(ctx context.Context, cut *story.Cut, notes *[]string) error {
	recs, err := d.recordings(ctx)
	if err != nil {
		return err
	}
	var events []story.Event
	for i, e := range cut.Events {
		p, err := d.picture(ctx, e.Reel, e.Source)
		if err != nil {
			return err
		}
		if p == nil || e.Gap {
			// A camera's own reel has its picture with it.
			if !e.Gap && !scratch(recs[e.Reel]) {
				e.Track = lane(e)
				*notes = append(*notes, fmt.Sprintf("item %d (%s): no picture was lined up with %s there", i+1, e.Code, e.Reel))
			}
			events = append(events, e)
			continue
		}
		cam := recs[p.Reel]
		v := e
		v.Reel, v.Path, v.Clock, v.Available, v.Channels, v.Markers = cam.Reel, cam.Path, cam.Clock, cam.Duration, cam.Channels, nil
		v.Source.In = cut.Base.Rate.Snap(p.span.In, timecode.Nearest)
		v.Source.Out = v.Source.In + e.Record.Length()
		v.Track, e.Track = "V", lane(e)
		events = append(events, v, e)
	}
	cut.Events = events
	return nil
}

// lane is the sound lane of an event: one channel, or several.
func lane(e story.Event) string {
	if e.Channels == 1 {
		return "A"
	}
	return "AA"
}
