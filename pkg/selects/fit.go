package selects

import (
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Fit is how selects stand against their target.
type Fit struct {
	Items int
	// Running is the running time, Target the wanted one (0 if none), Over
	// is Running − Target, negative when short, 0 without a target.
	Running, Target, Over timecode.Ticks
}

// FitOf measures selects.
func FitOf(s story.Selects) Fit {
	f := Fit{Items: len(s.Items), Running: s.RunningTime(), Target: s.Target}
	if f.Target > 0 {
		f.Over = f.Running - f.Target
	}
	return f
}

// String says it for people: "3:42.0 of 4:00.0, 0:18.0 under".
func (f Fit) String() string {
	switch {
	case f.Target <= 0:
		return f.Running.Short()
	case f.Over > 0:
		return f.Running.Short() + " of " + f.Target.Short() + ", " + f.Over.Short() + " over"
	case f.Over < 0:
		return f.Running.Short() + " of " + f.Target.Short() + ", " + (-f.Over).Short() + " under"
	}
	return f.Running.Short() + " of " + f.Target.Short() + ", to the point"
}
