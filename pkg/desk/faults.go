package desk

import (
	"context"
	"encoding/json"
	"fmt"

	"rushlight/pkg/listen"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// FileFaults is what is wrong with one file.
type FileFaults struct {
	Path      string
	Recording story.Recording
	Faults    []listen.Fault
	// Notes are what was wrong in the file itself and was got over.
	Notes []string
	// Problem and Hint say why the file could not be heard, "" if it was.
	Problem, Hint string
	err           error
	rated         bool // the file says its frame rate
}

type faultJSON struct {
	Kind     listen.FaultKind     `json:"kind"`
	In       timecode.Moment      `json:"in"`
	Out      timecode.Moment      `json:"out"`
	Channel  int                  `json:"channel,omitempty"`
	Other    int                  `json:"other_channel,omitempty"`
	Severity listen.FaultSeverity `json:"severity"`
	What     string               `json:"what"`
	Do       string               `json:"do"`
	Value    float64              `json:"value"`
}

// MarshalJSON writes {"path", "duration", "faults": [{"kind", "in", "out",
// "channel", "severity", "what", "do", "value"}], "notes"}; channels count from 1 and
// are left out where all are meant.
func (f FileFaults) MarshalJSON() ([]byte, error) {
	c := f.Recording.Clock
	list := make([]faultJSON, len(f.Faults))
	for i, x := range f.Faults {
		list[i] = faultJSON{x.Kind, c.In(x.In), c.Out(x.Out), x.Channel + 1, x.Other + 1, x.Severity, x.What, x.Do, x.Value}
	}
	return json.Marshal(struct {
		Path     string          `json:"path"`
		Duration timecode.Moment `json:"duration"`
		Faults   []faultJSON     `json:"faults"`
		Notes    []string        `json:"notes,omitempty"`
		Problem  string          `json:"error,omitempty"`
		Hint     string          `json:"hint,omitempty"`
	}{f.Path, timecode.Clock{Base: c.Base}.Out(f.Recording.Duration), list, f.Notes, f.Problem, f.Hint})
}

// Bad tells whether anything is wrong that should be listened to before the
// place is left.
func (f FileFaults) Bad() bool {
	if f.Problem != "" {
		return true
	}
	for _, x := range f.Faults {
		if x.Severity != listen.FaultNote {
			return true
		}
	}
	return false
}

// CheckedFaults is what is wrong with a card.
type CheckedFaults struct {
	Files []FileFaults `json:"files"`
	// Sound is how much was heard.
	Sound float64 `json:"sound_seconds"`
	sound timecode.Ticks
}

// Faults listens to sound files that needn't be in a bank and says what is
// wrong with each. It uses all processors, a file for each.
func Faults(ctx context.Context, paths []string, opt Options) (CheckedFaults, error) {
	g, err := gather(ctx, paths)
	if err != nil {
		return CheckedFaults{}, err
	}
	var files []found
	for _, f := range g.files {
		if f.kind == kindSound {
			files = append(files, f)
		}
	}
	out := CheckedFaults{Files: make([]FileFaults, len(files))}
	sizes := make([]int64, len(files))
	for i, f := range files {
		sizes[i] = f.info.Size()
	}
	p := (&Desk{opt: opt}).shares("looking for faults", sizes)
	defer p.end()
	if err := sideBySide(ctx, len(files), func(ctx context.Context, i int) error {
		f := faultsOf(ctx, files[i].path, func(part float64) { p.reached(i, part) })
		p.reached(i, 1)
		out.Files[i] = f
		if f.err != nil && stops(f.err) {
			return f.err
		}
		return nil
	}); err != nil {
		return out, err
	}
	for _, f := range out.Files {
		out.sound += f.Recording.Duration
	}
	if err := clockFaults(ctx, out.Files, opt); err != nil {
		return out, err
	}
	cardFaults(out.Files)
	for _, r := range g.refused {
		out.Files = append(out.Files, FileFaults{Path: r.Path, Problem: r.What, Hint: r.Hint})
	}
	out.Sound = out.sound.Seconds()
	if len(out.Files) == 0 {
		return out, refuse("name WAV files or a folder that holds some", "no sound files there")
	}
	return out, nil
}

// Length is how much was heard.
func (c CheckedFaults) Length() timecode.Ticks { return c.sound }

// cutShort is the fault of a file that lacks sound which its header claims.
func cutShort(info sound.Info) listen.Fault {
	there := info.Duration()
	claimed := there + timecode.FromSamples(info.Missing, info.SampleRate)
	return listen.Fault{
		Kind: listen.FaultShort, Span: timecode.Span{In: there, Out: there}, Channel: -1, Other: -1, Severity: listen.FaultStop,
		Value: (claimed - there).Seconds(), What: fmt.Sprintf("%s of %s are there", there.Short(), claimed.Short()),
		Do: "copy it again from the card and compare; if it is so on the card, the recorder stopped before its time: record again",
	}
}

// faultsOf listens to one file; reached hears which part of it is done.
func faultsOf(ctx context.Context, path string, reached func(part float64)) FileFaults {
	f := FileFaults{Path: path}
	rd, err := sound.OpenMedia(ctx, path)
	if err == nil {
		defer rd.Close()
		rd.SkipEssence()
		info := rd.Info()
		in := &ingest{Desk: &Desk{}, base: timecode.Base{Rate: timecode.Rate25}}
		f.Recording.Reel = story.ReelName(stemOf(path))
		in.describeSound(&f.Recording, path, info)
		f.Faults, err = listen.Faults(ctx, rd, listen.FaultOptions{TrackNames: trackNames(info), Progress: func(done timecode.Ticks) {
			if whole := info.Duration(); whole > 0 {
				reached(done.Seconds() / whole.Seconds())
			}
		}})
		f.rated = info.Production != nil && info.Production.Base.Rate.Known()
		there := rd.Info()
		f.Notes = there.Notes
		if there.Unfinished && there.Frames < info.Frames { // a packed file that could not be decoded to its end
			there.Missing = info.Frames - there.Frames
		}
		f.Recording.Duration = there.Duration()
		if there.Missing > 0 {
			f.Faults = append([]listen.Fault{cutShort(there)}, f.Faults...)
		}
	}
	if err != nil {
		f.Problem, f.Hint, f.err = plainError(err), Hint(err), err
	}
	return f
}
