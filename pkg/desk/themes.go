package desk

import (
	"context"
	"errors"
	"fmt"

	"rushlight/pkg/bank"
	"rushlight/pkg/story"
	"rushlight/pkg/themes"
)

// ThemesOptions say which recurring words are wanted.
type ThemesOptions struct {
	// Limit is the most recurring terms; 0 is twenty, less than 0 all.
	Limit int
	// Reel ranks by what sets this reel apart.
	Reel string
}

// Themes is what the talk is about: named by people, and what keeps coming
// back before anyone named it.
type Themes struct {
	Themes    []story.Theme     `json:"themes"`
	Recurring []story.Recurring `json:"recurring"`
}

// Themes lists themes with what they carry, and finds what keeps coming back.
func (d *Desk) Themes(ctx context.Context, opt ThemesOptions) (Themes, error) {
	out := Themes{Themes: []story.Theme{}, Recurring: []story.Recurring{}}
	if opt.Reel != "" {
		rec, err := d.recording(ctx, opt.Reel)
		if err != nil {
			return out, err
		}
		opt.Reel = rec.Reel
	}
	named, err := d.bank.Themes(ctx)
	if err != nil {
		return out, err
	}
	out.Themes = append(out.Themes, named...)
	found, err := themes.Recurring(ctx, d.bank.Quotes(ctx, bank.Filter{}), themes.Options{Limit: opt.Limit, Reel: opt.Reel})
	out.Recurring = append(out.Recurring, found...)
	return out, err
}

// RenameTheme gives a theme another name; a name in use joins the two.
func (d *Desk) RenameTheme(ctx context.Context, from, to string) (story.Entry, error) {
	to, err := story.ThemeName(to)
	if err != nil {
		return story.Entry{}, &Problem{What: err.Error(), Kind: ErrUsage}
	}
	return d.themeChange(ctx, fmt.Sprintf("theme %q is now %q", from, to), func(tx *bank.Tx) error {
		_, err := tx.RenameTheme(from, to)
		return err
	})
}

// RemoveTheme takes a theme off every quote.
func (d *Desk) RemoveTheme(ctx context.Context, name string) (story.Entry, error) {
	return d.themeChange(ctx, fmt.Sprintf("removed theme %q", name), func(tx *bank.Tx) error {
		_, err := tx.RemoveTheme(name)
		return err
	})
}

func (d *Desk) themeChange(ctx context.Context, summary string, f func(*bank.Tx) error) (story.Entry, error) {
	e, err := d.change(ctx, "themes", summary, f)
	if errors.Is(err, bank.ErrNotFound) {
		return e, &Problem{What: err.Error(), Hint: "'rushlight themes' lists them", Kind: bank.ErrNotFound}
	}
	if err != nil {
		return e, err
	}
	return e, d.freshen(ctx)
}
