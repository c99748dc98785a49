package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

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
	defer frugal()()
	l := lining{Desk: d, named: len(opt.Pictures) > 0 || opt.Sound != ""}
	out, err := l.all(ctx, pictures, sounds, opt.Sound != "")
	if err = errors.Join(err, l.lineup.Close()); err != nil {
		return out, err
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
	switch heard := slices.IndexFunc(recs, func(r story.Recording) bool { return r.Essence != "" && !scratch(r) }) >= 0; {
	case len(pictures) == 0:
		return nil, nil, refuse("name them: rushlight sync REEL", "no reel looks like a camera's scratch track")
	case len(opt.Pictures) > 0 || opt.Sound != "" || heard || len(pictures) == 1:
	case slices.IndexFunc(pictures, filmed) < 0:
		return nil, nil, refuse("name the camera's: rushlight sync REEL", "nothing tells which reels are a camera's: none is signed by a recorder or has timecode")
	default: // no recorder signs what it writes
		pictures = slices.DeleteFunc(pictures, func(r story.Recording) bool { return !filmed(r) })
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
	var others []story.Recording // of other cameras
	for _, r := range recs {
		switch {
		case r.Essence == "" || is[r.Reel]:
		case filmed(r):
			others = append(others, r)
		default:
			sounds = append(sounds, r)
		}
	}
	if len(sounds) == 0 {
		sounds = others // the sound of one camera for the picture of another
	}
	return pictures, sounds, nil
}

// scratch tells whether a recording looks like a camera's own sound: a file
// with picture; or without words of its own, and its name says so or no
// recorder has signed it.
func scratch(r story.Recording) bool {
	return filmed(r) || r.Transcript.Path == "" && r.Originator == "" && r.Clock.Start == 0
}

// filmed tells whether a recording surely is a camera's: it is a file with
// picture, or has no words of its own and a name that says so.
func filmed(r story.Recording) bool {
	if pictured(r) {
		return true
	}
	name := strings.ToLower(r.Reel)
	return r.Transcript.Path == "" && (strings.Contains(name, "cam") || strings.Contains(name, "scratch"))
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

// syncFile is a recording for lining up.
func syncFile(ctx context.Context, path string) listen.SyncRecording {
	return listen.SyncRecording{Name: path, Open: func() (listen.SyncReader, error) {
		rd, err := sound.OpenMedia(ctx, path)
		if err == nil {
			rd.SkipEssence()
		}
		return rd, err
	}}
}

// describeSync says "begins 00:00:07.400 before D2-INT2, clock 40.1 ppm fast,
// sure 98 %".
func describeSync(s story.Sync) string {
	offset := timecode.FromMillis(s.Offset.Millis(timecode.Nearest))
	where := fmt.Sprintf("begins %s after %s", offset, s.Sound)
	if offset < 0 {
		where = fmt.Sprintf("begins %s before %s", -offset, s.Sound)
	}
	drift := fmt.Sprintf("clock %.1f ppm fast", float64(s.DriftPPB)/1000)
	switch {
	case s.DriftPPB > -50 && s.DriftPPB < 50:
		drift = "clocks alike"
	case s.DriftPPB < 0:
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
