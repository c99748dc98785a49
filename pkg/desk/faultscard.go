package desk

import (
	"fmt"

	"rushlight/pkg/listen"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// cardLeast is how many recordings of a card must be alike before another one
// is odd among them.
const cardLeast = 2

// cardFaults adds what only shows beside the other recordings of a card: a
// sample rate or frame rate that most others don't have, and the start timecode
// of a clock that began anew with each take.
func cardFaults(files []FileFaults) {
	var sounds []*FileFaults
	for i := range files {
		if f := &files[i]; f.Problem == "" && !pictured(f.Recording) {
			sounds = append(sounds, f)
		}
	}
	oddAmong(sounds, func(f *FileFaults) string { return kilohertz(f.Recording.SampleRate) + " kHz" },
		"set the recorder back before the next take; this one has to be resampled in the edit")
	oddAmong(sounds, func(f *FileFaults) string {
		if !f.rated {
			return ""
		}
		return f.Recording.Clock.Base.String() + " frames/s"
	}, "set the recorder's frame rate back to the shoot's; timecode of this take counts otherwise than that of the others")
	sameStart(sounds)
}

// oddAmong adds a fault to those few of which something is not as with most;
// "" is not known.
func oddAmong(files []*FileFaults, of func(*FileFaults) string, do string) {
	count := map[string]int{}
	for _, f := range files {
		if v := of(f); v != "" {
			count[v]++
		}
	}
	for most, n := range count {
		for _, f := range files {
			v := of(f)
			if v == "" || v == most || n < cardLeast || 2*n <= len(files) {
				continue
			}
			f.Faults = append(f.Faults, cardFault(f.Recording, listen.FaultWarn,
				fmt.Sprintf("%s, where %d other recordings of the card have %s", v, n, most), do))
		}
	}
}

// sameStart adds a note to recordings of one day that start at one timecode
// and yet are not the channels of one take, which are of one length.
func sameStart(files []*FileFaults) {
	type start struct {
		day string
		at  timecode.Ticks
	}
	at := map[start][]*FileFaults{}
	for _, f := range files {
		if r := f.Recording; r.Clock.Start != 0 {
			s := start{r.Day, r.Clock.Start}
			at[s] = append(at[s], f)
		}
	}
	for _, f := range files {
		var others []string
		for _, o := range at[start{f.Recording.Day, f.Recording.Clock.Start}] {
			if o != f && o.Recording.Duration != f.Recording.Duration {
				others = append(others, o.Recording.Reel)
			}
		}
		if len(others) >= cardLeast {
			f.Faults = append(f.Faults, cardFault(f.Recording, listen.FaultWarn,
				fmt.Sprintf("starts at %s like %s", f.Recording.Clock.In(0).Timecode, someOf(others)),
				"let the recorder's timecode run free from the time of day, and set the camera's from it: takes that all start alike can't be told apart by it"))
		}
	}
}

func cardFault(r story.Recording, severity listen.FaultSeverity, what, do string) listen.Fault {
	return listen.Fault{
		Kind: listen.FaultClock, Span: timecode.Span{Out: r.Duration}, Channel: -1, Other: -1, Severity: severity, What: what, Do: do,
	}
}
