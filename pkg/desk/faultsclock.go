package desk

import (
	"cmp"
	"context"
	"fmt"
	"path/filepath"
	"slices"

	"rushlight/pkg/listen"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

const (
	// speedsTried is with how many recordings of a card a camera's is compared
	// at other speeds, if it is heard in none at its own.
	speedsTried = 3
	// timecodeApart is how far timecode may be from what is heard before it is
	// worth a word: about two frames.
	timecodeApart = 80 * timecode.Millisecond
)

// clockFaults compares each camera file of a card with the recorder's files of
// the same event, and adds what is wrong between their clocks to the camera's.
func clockFaults(ctx context.Context, files []FileFaults, opt Options) error {
	var cameras, sounds []*FileFaults
	for i := range files {
		f := &files[i]
		switch {
		case f.Problem != "":
		case scratch(f.Recording):
			cameras = append(cameras, f)
		default:
			sounds = append(sounds, f)
		}
	}
	if len(sounds) == 0 {
		return nil
	}
	p := (&Desk{opt: opt}).progress()
	p.Begin("comparing clocks with the cameras'", int64(len(cameras)))
	defer p.End()
	var lineup listen.Lineup
	defer lineup.Close() // of a temporary file that nobody reads again
	for i, c := range cameras {
		if err := clockFaultOf(ctx, &lineup, c, alongside(c.Recording, sounds)); err != nil {
			return err
		}
		p.Reached(int64(i + 1))
	}
	return nil
}

// alongside are the recordings that may be of a camera's event, the likeliest
// first: those of its day, and by timecode those that run at its time.
func alongside(c story.Recording, sounds []*FileFaults) []*FileFaults {
	var out []*FileFaults
	far := func(f *FileFaults) timecode.Ticks { return apartBy(c, f.Recording) }
	for _, f := range sounds {
		if !otherDay(f.Recording.Day, c.Day) && far(f) < timecode.Hour {
			out = append(out, f)
		}
	}
	slices.SortStableFunc(out, func(a, b *FileFaults) int { return cmp.Compare(far(a), far(b)) })
	return out
}

// apartBy is how long by timecode neither of two recordings ran between them; 0
// if they overlap, or one has no timecode.
func apartBy(a, b story.Recording) timecode.Ticks {
	if a.Clock.Start == 0 || b.Clock.Start == 0 {
		return 0
	}
	return max(b.Clock.Start-a.Clock.Start-a.Duration, a.Clock.Start-b.Clock.Start-b.Duration, 0)
}

// clockFaultOf finds the recording of a camera's event and adds what their
// clocks disagree in. A camera that is heard in none has no fault by that.
func clockFaultOf(ctx context.Context, lineup *listen.Lineup, c *FileFaults, sounds []*FileFaults) error {
	for _, speeds := range []bool{false, true} {
		if speeds {
			sounds = sounds[:min(len(sounds), speedsTried)]
		}
		for _, s := range sounds {
			opt := listen.SyncOptions{Speeds: speeds, SpeedsOnly: speeds}
			guess := c.Recording.Clock.Start - s.Recording.Clock.Start
			both := bothTimed(c.Recording, s.Recording)
			if both {
				opt.Guess = &guess
			}
			found, err := lineup.Synchronise(ctx, syncFile(ctx, s.Path), syncFile(ctx, c.Path), opt)
			if err != nil {
				return fmt.Errorf("%s and %s: %w", s.Path, c.Path, err)
			}
			if found.Found {
				c.compare(s, found, both)
				return nil
			}
		}
	}
	return nil
}

// compare adds the faults of a camera's clock against a recorder's.
func (f *FileFaults) compare(s *FileFaults, found listen.Sync, timecodes bool) {
	var list []listen.Fault
	whole := timecode.Span{Out: f.Recording.Duration}
	name := filepath.Base(s.Path)
	if x, bad := listen.ClockFault(found.DriftPPM); bad {
		x.Span = whole
		x.What = "against " + name + ": " + x.What
		list = append(list, x)
	}
	if timecodes {
		if d := *found.GuessError; d > timecodeApart || d < -timecodeApart {
			list = append(list, listen.Fault{
				Kind: listen.FaultClock, Span: whole, Channel: -1, Other: -1, Severity: listen.FaultWarn, Value: d.Seconds(),
				What: fmt.Sprintf("against %s: its timecode is %s off what is heard", name, max(d, -d)),
				Do:   "set both timecodes anew from one source; what is recorded is lined up by 'rushlight sync'",
			})
		}
	}
	if a, b := f.Recording.SampleRate, s.Recording.SampleRate; a != b && found.DriftPPM > -sameSampleRate && found.DriftPPM < sameSampleRate {
		list = append(list, listen.Fault{
			Kind: listen.FaultClock, Span: whole, Channel: -1, Other: -1, Severity: listen.FaultNote, Value: float64(a),
			What: fmt.Sprintf("against %s: %d samples a second, not %d", name, a, b),
			Do:   "set camera and recorder to the same sample rate, so that nothing has to be resampled",
		})
	}
	f.Faults = append(list, f.Faults...)
}

// sameSampleRate is the drift in ppm under which two sample rates are really
// what their files say.
const sameSampleRate = 10_000
