package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"rushlight/pkg/bank"
	"rushlight/pkg/story"
)

// TagOptions say what to set on quotes.
type TagOptions struct {
	Add, Off []string
	// Rate is a rating 1 to 5, or 0 to take it off; nil leaves it.
	Rate *int
	// Note replaces the note; "" takes it off; nil leaves it.
	Note *string
}

// Check puts theme names in their one form and refuses what can't be.
func (o *TagOptions) Check() error {
	if len(o.Add)+len(o.Off) == 0 && o.Rate == nil && o.Note == nil {
		return usage("for example +bell, --off bridge, --rate 4, --note 'use the end'", "nothing to set")
	}
	for _, list := range []*[]string{&o.Add, &o.Off} {
		for i, name := range *list {
			n, err := story.ThemeName(name)
			if err != nil {
				return &Problem{What: err.Error(), Kind: ErrUsage}
			}
			if story.SameTheme(n, story.Strong) {
				n = story.Strong
			}
			(*list)[i] = n
		}
	}
	for _, n := range o.Add {
		if slices.ContainsFunc(o.Off, func(m string) bool { return story.SameTheme(n, m) }) {
			return usage("", "%q is to be set and taken off at once", n)
		}
	}
	if o.Rate != nil {
		if err := story.ValidRating(*o.Rate); err != nil {
			return &Problem{What: err.Error(), Kind: ErrUsage}
		}
	}
	return nil
}

// String says what is set, for the journal.
func (o TagOptions) String() string {
	var parts []string
	for _, n := range o.Add {
		parts = append(parts, "+"+n)
	}
	for _, n := range o.Off {
		parts = append(parts, "off "+n)
	}
	if o.Rate != nil {
		parts = append(parts, fmt.Sprintf("rated %d", *o.Rate))
	}
	if o.Note != nil {
		parts = append(parts, "note")
	}
	return strings.Join(parts, ", ")
}

// Tagged says what was changed.
type Tagged struct {
	Asked   int `json:"asked"`
	Changed int `json:"changed"`
	// Notes say what was asked for in vain.
	Notes []string `json:"notes,omitempty"`
	// Quotes are those asked for, as they are now.
	Quotes []story.Quote `json:"quotes"`
	Change int64         `json:"change,omitempty"`
}

// Tag sets themes, rating and note on quotes, in one change.
func (d *Desk) Tag(ctx context.Context, codes []story.Code, opt TagOptions) (Tagged, error) {
	if err := opt.Check(); err != nil {
		return Tagged{}, err
	}
	if len(codes) == 0 {
		return Tagged{}, usage("give codes, or --found QUERY", "no quotes named")
	}
	before, err := d.quotes(ctx, codes)
	if err != nil {
		return Tagged{}, err
	}
	out := Tagged{Asked: len(codes)}
	for _, n := range opt.Off {
		if !slices.ContainsFunc(before, func(q story.Quote) bool { return carries(q, n) }) {
			out.Notes = append(out.Notes, fmt.Sprintf("none of them carried %q", n))
		}
	}
	entry, err := d.change(ctx, "tag", "", func(tx *bank.Tx) error {
		out.Changed = 0
		for _, code := range codes {
			changed, err := tagOne(tx, code, opt)
			if err != nil {
				return err
			}
			if changed {
				out.Changed++
			}
		}
		tx.SetSummary(fmt.Sprintf("%s: %s", count(out.Changed, "quote", "quotes"), opt))
		return nil
	})
	if err != nil {
		return out, err
	}
	out.Change = entry.Number
	if out.Quotes, err = d.quotes(ctx, codes); err != nil {
		return out, err
	}
	return out, d.freshen(ctx)
}

// tagOne sets everything on one quote and tells whether anything changed.
func tagOne(tx *bank.Tx, code story.Code, opt TagOptions) (bool, error) {
	changed, err := tx.Tag(code, opt.Add, opt.Off)
	also := func(c bool, e error) { changed, err = changed || c, e }
	if err == nil && opt.Rate != nil {
		also(tx.Rate(code, *opt.Rate))
	}
	if err == nil && opt.Note != nil {
		also(tx.Note(code, *opt.Note))
	}
	return changed, err
}

// FoundCodes gives the codes of all hits of a search, for tagging.
func (d *Desk) FoundCodes(ctx context.Context, query string) ([]story.Code, error) {
	var f Found
	ix, err := d.openIndex(ctx, &f)
	if err != nil {
		return nil, err
	}
	defer ix.Close()
	found, err := ix.All(ctx, query)
	if err != nil {
		return nil, queryError(err)
	}
	if !f.Stale {
		return found, nil
	}
	// Those that left the bank since the index was written are left out.
	there, err := d.bank.Present(ctx, found)
	codes := make([]story.Code, len(there))
	for i, q := range there {
		codes[i] = q.Code
	}
	return codes, err
}
