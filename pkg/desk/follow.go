package desk

import (
	"context"
	"errors"
	"fmt"
	"io"

	"rushlight/pkg/bank"
	"rushlight/pkg/story"
	"rushlight/pkg/subtitles"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// FollowOptions say how subtitles of one cut are taken over to another.
type FollowOptions struct {
	// File holds the subtitles, From is the selects or the reel that they were
	// made for, To the selects that they shall fit.
	File, From, To string
	SubtitleOptions
}

// Followed is what became of subtitles: what was written, and what a person
// has to look at.
type Followed struct {
	Subtitled
	// Before is how many cues the old file has.
	Before int      `json:"before"`
	Notes  []string `json:"notes,omitempty"`
}

// FollowSubtitles moves the cues of a file to where their talk lies in another
// cut and writes them.
func (d *Desk) FollowSubtitles(ctx context.Context, opt FollowOptions) (Followed, error) {
	format, err := opt.format()
	if err != nil {
		return Followed{}, err
	}
	if opt.Out.kept = append(opt.Out.kept, opt.File); opt.From == "" || opt.To == "" {
		return Followed{}, usage("for example --from 'rough cut' --to 'fine cut'", "name the selects or the reel that the subtitles were made for, and the selects that they shall fit")
	}
	if opt.Out, err = d.guard(ctx, opt.Out); err != nil {
		return Followed{}, err
	}
	if err := opt.Out.check(); err != nil {
		return Followed{}, err
	}
	old, err := d.cutOf(ctx, opt.From, opt.Rate)
	if errors.Is(err, bank.ErrNotFound) {
		if rec, e := d.bank.Recording(ctx, opt.From); e == nil {
			old, err = wholeReel(rec), nil
		}
	}
	if err != nil {
		return Followed{}, err
	}
	cut, err := d.cutOf(ctx, opt.To, opt.Rate)
	if err != nil {
		return Followed{}, err
	}
	doc, err := readTimedText(opt.File, timedtext.ReadOptions{Base: old.Base})
	if err != nil {
		return Followed{}, err
	}
	if opt.Start != "" {
		if doc.ProgrammeStart, err = startLabel(opt.Start, labelBase(doc.Format, old.Base)); err != nil {
			return Followed{}, err
		}
	}
	return d.follow(doc, old, cut, format, opt)
}

// follow writes doc as subtitles of cut. They begin at the label at which doc
// begins.
func (d *Desk) follow(doc *timedtext.Document, old, cut story.Cut, format timedtext.Format, opt FollowOptions) (Followed, error) {
	lim, err := opt.limits(doc.Language, cut.Base)
	if err != nil {
		return Followed{}, err
	}
	start, zero := doc.ProgrammeStart, timecode.Ticks(0)
	if doc, _, err = timedtext.Retime(doc, timedtext.Retiming{Start: &zero}); err != nil {
		return Followed{}, err
	}
	moved, notes := subtitles.Follow(doc, old, cut, lim.Gap)
	if len(moved.Cues) == 0 {
		return Followed{}, refuse("if its times count from a timecode such as 01:00:00:00, say so with --start", "no cue of %s lies over talk of %q that is in %q too", opt.File, opt.From, opt.To)
	}
	findings := subtitles.Check(moved, lim)
	if moved, _, err = timedtext.Retime(moved, timedtext.Retiming{Start: &start}); err != nil {
		return Followed{}, err
	}
	out := Followed{Subtitled: subtitled(opt.Out.Path, moved, findings, lim), Before: len(doc.Cues), Notes: notes}
	err = opt.Out.write(func(w io.Writer) error {
		lost, err := timedtext.Write(w, moved, format, timedtext.WriteOptions{Base: lim.Base, ProgrammeStart: start, Language: moved.Language, Title: opt.To})
		out.Lost = lost
		return err
	})
	return out, err
}

// wholeReel is a recording as a cut of one piece.
func wholeReel(rec story.Recording) story.Cut {
	all := timecode.Span{Out: rec.Duration}
	return story.Cut{Title: rec.Reel, Base: rec.Clock.Base, Events: []story.Event{{Reel: rec.Reel, Clock: rec.Clock, Source: all, Record: all}}}
}

// cutOf lays selects out as a cut.
func (d *Desk) cutOf(ctx context.Context, name, rate string) (story.Cut, error) {
	s, err := d.bank.Selects(ctx, name)
	switch {
	case errors.Is(err, bank.ErrNotFound):
		return story.Cut{}, &Problem{
			What: fmt.Sprintf("no selects named %q", name),
			Hint: "'rushlight selects' lists them; 'rushlight selects read FILE' takes a cut in", Kind: bank.ErrNotFound,
		}
	case err != nil:
		return story.Cut{}, err
	case len(s.Items) == 0:
		return story.Cut{}, refuse("put quotes in with 'rushlight selects add'", "%q is empty", name)
	}
	cut, _, err := d.lay(ctx, s, ExportOptions{Rate: rate})
	return cut, err
}
