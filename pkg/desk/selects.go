package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"rushlight/pkg/bank"
	"rushlight/pkg/selects"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// AllSelects lists every list of selects in the bank.
func (d *Desk) AllSelects(ctx context.Context) ([]story.Selects, error) {
	list, err := d.bank.AllSelects(ctx)
	if list == nil {
		list = []story.Selects{}
	}
	return list, err
}

// Selects gives one list; an unknown name is an error that lists the names.
func (d *Desk) Selects(ctx context.Context, name string) (story.Selects, error) {
	s, err := d.bank.Selects(ctx, name)
	if !errors.Is(err, bank.ErrNotFound) {
		return s, err
	}
	all, err2 := d.bank.AllSelects(ctx)
	if err2 != nil {
		return s, err2
	}
	hint := "make them with 'rushlight selects new NAME'"
	if len(all) > 0 {
		names := make([]string, len(all))
		for i, a := range all {
			names[i] = a.Name
		}
		hint = "selects: " + someOf(names)
	}
	return s, &Problem{What: fmt.Sprintf("no selects named %q", name), Hint: hint, Kind: bank.ErrNotFound}
}

// NewSelects makes an empty list. target may be "".
func (d *Desk) NewSelects(ctx context.Context, name, target string) (story.Selects, error) {
	name, err := story.SelectsName(name)
	if err != nil {
		return story.Selects{}, &Problem{What: err.Error(), Kind: ErrUsage}
	}
	length, err := parseLength(target)
	if err != nil {
		return story.Selects{}, err
	}
	return d.newSelects(ctx, story.Selects{Name: name, Target: length}, fmt.Sprintf("new selects %q", name))
}

// newSelects stores a list that mustn't be there yet.
func (d *Desk) newSelects(ctx context.Context, s story.Selects, summary string) (story.Selects, error) {
	return d.putSelects(ctx, s.Name, summary, func(tx *bank.Tx) (story.Selects, error) {
		return s, nameFree(tx, s.Name, "add to them with 'rushlight selects add', or choose another name")
	})
}

// nameFree refuses a name for new selects that others have, with a hint, and
// that of a reel: where either may stand, such as in 'subtitles draft', nobody
// could tell which is meant.
func nameFree(tx *bank.Tx, name, hint string) error {
	switch _, err := tx.Selects(name); {
	case err == nil:
		return refuse(hint, "selects named %q exist already", name)
	case !errors.Is(err, bank.ErrNotFound):
		return err
	}
	switch rec, err := tx.Recording(name); {
	case err == nil:
		return refuse("choose another name for the selects", "a reel is called %s", rec.Reel)
	case !errors.Is(err, bank.ErrNotFound):
		return err
	}
	return nil
}

// CopySelects makes selects like others, with their order, trims, notes and
// target: a version to keep while the other goes on.
func (d *Desk) CopySelects(ctx context.Context, name, as string) (story.Selects, error) {
	as, err := story.SelectsName(as)
	if err != nil {
		return story.Selects{}, &Problem{What: err.Error(), Kind: ErrUsage}
	}
	return d.putSelects(ctx, as, "", func(tx *bank.Tx) (story.Selects, error) {
		s, err := d.Selects(ctx, name)
		if err != nil {
			return s, err
		}
		tx.SetSummary(fmt.Sprintf("%q is a copy of %q", as, s.Name))
		s.Name = as
		return s, nameFree(tx, as, "choose another name, or remove them first")
	})
}

// parseLength reads a running time: 4:00, 90s, 1h10m; "" is 0.
func parseLength(s string) (timecode.Ticks, error) {
	if s == "" {
		return 0, nil
	}
	w, err := timecode.Parse(s, timecode.Base{Rate: timecode.Rate25})
	if err == nil && w.Ticks < 0 {
		return 0, usage("minutes and seconds, for example 4:00 or 90s", "%s: a running time can't be below 0", s)
	}
	if err != nil || w.Frames {
		return 0, usage("minutes and seconds, for example 4:00 or 90s", "%q is not a running time", s)
	}
	return w.Ticks, nil
}

// putSelects stores what f makes, inside the change, and gives it as it is then.
func (d *Desk) putSelects(ctx context.Context, name, summary string, f func(*bank.Tx) (story.Selects, error)) (story.Selects, error) {
	var s story.Selects
	_, err := d.change(ctx, "selects", summary, func(tx *bank.Tx) (err error) {
		if s, err = f(tx); err != nil {
			return err
		}
		return tx.PutSelects(s)
	})
	if err != nil {
		return s, err
	}
	if s, err = d.bank.Selects(ctx, name); err != nil {
		return s, err
	}
	return s, d.freshen(ctx)
}

// edit changes one list with f, as it is when the change begins, and stores it.
func (d *Desk) edit(ctx context.Context, name, summary string, f func(story.Selects) (story.Selects, error)) (story.Selects, error) {
	return d.putSelects(ctx, name, "", func(tx *bank.Tx) (story.Selects, error) {
		s, err := d.Selects(ctx, name)
		if err != nil {
			return s, err
		}
		tx.SetSummary(fmt.Sprintf("%s: %s", s.Name, summary))
		s, err = f(s)
		return s, selectsError(err)
	})
}

func selectsError(err error) error {
	if errors.Is(err, selects.ErrPosition) || errors.Is(err, selects.ErrTrim) {
		return &Problem{What: err.Error(), Hint: "'rushlight selects show NAME' lists the items with their places", Kind: ErrUsage}
	}
	return err
}

// AddSelects puts quotes into a list, at a position from 1 or at the end (0).
func (d *Desk) AddSelects(ctx context.Context, name string, codes []story.Code, at int) (story.Selects, error) {
	return d.edit(ctx, name, "added "+count(len(codes), "quote", "quotes"), func(s story.Selects) (story.Selects, error) {
		qs, err := d.quotes(ctx, codes)
		if err != nil {
			return s, err
		}
		return selects.Add(s, qs, at)
	})
}

// MoveSelects moves an item, named by its place or code, to a place from 1.
func (d *Desk) MoveSelects(ctx context.Context, name, item string, to int) (story.Selects, error) {
	return d.edit(ctx, name, fmt.Sprintf("moved %s to %d", item, to), func(s story.Selects) (story.Selects, error) {
		from, err := selects.Resolve(s, item)
		if err != nil {
			return s, err
		}
		return selects.Move(s, from, to)
	})
}

// DropSelects takes items off a list.
func (d *Desk) DropSelects(ctx context.Context, name string, items []string) (story.Selects, error) {
	return d.edit(ctx, name, "dropped "+joinAnd(items), func(s story.Selects) (story.Selects, error) {
		var at []int
		for _, it := range items {
			pos, err := selects.Resolve(s, it)
			if err != nil {
				return s, err
			}
			if !slices.Contains(at, pos) {
				at = append(at, pos)
			}
		}
		return selects.Drop(s, at)
	})
}

// TrimSelects moves the in and out of one item; "" leaves a side, and both
// with whole set give the quote's own back.
func (d *Desk) TrimSelects(ctx context.Context, name, item, in, out string, whole bool) (story.Selects, error) {
	if whole == (in != "" || out != "") {
		return story.Selects{}, usage("for example --in +0.5 --out -12f, or --whole for the quote's own", "say either a new in or out, or --whole")
	}
	first, err := selects.ParseEdge(in)
	if err != nil {
		return story.Selects{}, &Problem{What: "--in: " + err.Error(), Kind: ErrUsage}
	}
	last, err := selects.ParseEdge(out)
	if err != nil {
		return story.Selects{}, &Problem{What: "--out: " + err.Error(), Kind: ErrUsage}
	}
	return d.edit(ctx, name, "trimmed "+item, func(s story.Selects) (story.Selects, error) {
		pos, err := selects.Resolve(s, item)
		if err != nil {
			return s, err
		}
		it := s.Items[pos-1]
		if whole {
			qs, err := d.quotes(ctx, []story.Code{it.Code})
			if err != nil {
				return s, err
			}
			return selects.Untrim(s, pos, qs[0])
		}
		rec, err := d.recording(ctx, it.Reel)
		if err != nil {
			return s, err
		}
		return selects.Trim(s, pos, first, last, rec.Duration)
	})
}

// NoteSelects writes a note beside an item.
func (d *Desk) NoteSelects(ctx context.Context, name, item, note string) (story.Selects, error) {
	return d.edit(ctx, name, "note on "+item, func(s story.Selects) (story.Selects, error) {
		pos, err := selects.Resolve(s, item)
		if err != nil {
			return s, err
		}
		s.Items = slices.Clone(s.Items)
		s.Items[pos-1].Note = note
		return s, nil
	})
}

// TargetSelects sets the wanted running time; "" takes it off.
func (d *Desk) TargetSelects(ctx context.Context, name, target string) (story.Selects, error) {
	length, err := parseLength(target)
	if err != nil {
		return story.Selects{}, err
	}
	return d.edit(ctx, name, "target "+target, func(s story.Selects) (story.Selects, error) {
		s.Target = length
		return s, nil
	})
}

// RemoveSelects deletes a list; the quotes stay.
func (d *Desk) RemoveSelects(ctx context.Context, name string) (story.Entry, error) {
	e, err := d.change(ctx, "selects", "", func(tx *bank.Tx) error {
		s, err := d.Selects(ctx, name)
		if err != nil {
			return err
		}
		tx.SetSummary(fmt.Sprintf("removed selects %q", s.Name))
		return tx.RemoveSelects(s.Name)
	})
	if err != nil {
		return e, err
	}
	return e, d.freshen(ctx)
}

// FitOf says how a list stands against its target.
func FitOf(s story.Selects) string { return selects.FitOf(s).String() }
