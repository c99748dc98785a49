package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"

	"rushlight/pkg/bank"
	"rushlight/pkg/review"
	"rushlight/pkg/selects"
	"rushlight/pkg/story"
)

// BestOptions say among which quotes the best are looked for.
type BestOptions struct {
	// Reel and Theme narrow it down; "" is all.
	Reel, Theme string
	// Limit is how many are wanted; 0 is ten, less than 0 all.
	Limit int
}

// BestPassage is one passage that can be used as it stands.
type BestPassage struct {
	Quote story.Quote `json:"quote"`
	// Codes are the quotes it is made of.
	Codes []story.Code  `json:"codes"`
	Score float64       `json:"score"`
	Parts []review.Part `json:"parts"`
}

// Best orders passages by how quotable they are. It hides nothing: with a
// limit less than 0 all are there.
func (d *Desk) Best(ctx context.Context, opt BestOptions) ([]BestPassage, error) {
	if opt.Reel != "" {
		rec, err := d.recording(ctx, opt.Reel)
		if err != nil {
			return nil, err
		}
		opt.Reel = rec.Reel
	}
	if opt.Theme != "" {
		t, err := d.theme(ctx, opt.Theme)
		if err != nil {
			return nil, err
		}
		opt.Theme = t.Name
	}
	out := []BestPassage{}
	err := d.eachReel(ctx, opt.Reel, func(quotes []story.Quote, heard *story.Heard) error {
		for _, r := range review.Best(quotes, heard, review.PassageOptions{}) {
			if opt.Theme != "" && !slices.ContainsFunc(r.Passage.Quotes, func(q story.Quote) bool { return carries(q, opt.Theme) }) {
				continue
			}
			b := BestPassage{Quote: r.Passage.Quote(), Score: r.Score.Total, Parts: r.Score.Parts}
			for _, q := range r.Passage.Quotes {
				b.Codes = append(b.Codes, q.Code)
			}
			out = append(out, b)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	slices.SortStableFunc(out, func(a, b BestPassage) int { return cmp.Compare(b.Score, a.Score) })
	if opt.Limit == 0 {
		opt.Limit = 10
	}
	if opt.Limit > 0 && len(out) > opt.Limit {
		out = out[:opt.Limit]
	}
	return out, nil
}

// eachReel gives the quotes of each reel, in order, with what was heard.
func (d *Desk) eachReel(ctx context.Context, reel string, f func([]story.Quote, *story.Heard) error) error {
	var quotes []story.Quote
	flush := func() error {
		if len(quotes) == 0 {
			return nil
		}
		heard, err := d.bank.Heard(ctx, quotes[0].Reel)
		if err != nil && !errors.Is(err, bank.ErrNotFound) {
			return err
		}
		err = f(quotes, heard)
		quotes = nil
		return err
	}
	for q, err := range d.bank.Quotes(ctx, bank.Filter{Reel: reel}) {
		if err != nil {
			return err
		}
		if len(quotes) > 0 && quotes[0].Reel != q.Reel {
			if err := flush(); err != nil {
				return err
			}
		}
		quotes = append(quotes, q)
	}
	return flush()
}

// OutlineOptions say what a first paper edit is made of.
type OutlineOptions struct {
	Name   string
	Themes []string
	Target string
}

// Outlined is a first paper edit: selects with the reason for each place.
type Outlined struct {
	Selects  story.Selects    `json:"selects"`
	Sections []OutlineSection `json:"sections"`
}

// OutlineSection is what an outline has of one theme.
type OutlineSection struct {
	Theme string        `json:"theme"`
	Why   string        `json:"why"`
	Items []OutlineItem `json:"items"`
}

// OutlineItem is one quote and why it stands there.
type OutlineItem struct {
	Code story.Code `json:"code"`
	Role string     `json:"role"`
	Why  string     `json:"why"`
}

// Outline makes selects from chosen themes, in a workable order to a running
// time, for a person to change.
func (d *Desk) Outline(ctx context.Context, opt OutlineOptions) (Outlined, error) {
	name, err := story.SelectsName(opt.Name)
	if err != nil {
		return Outlined{}, &Problem{What: err.Error(), Kind: ErrUsage}
	}
	target, err := parseLength(opt.Target)
	if err != nil {
		return Outlined{}, err
	}
	chosen, err := d.chosenThemes(ctx, opt.Themes)
	if err != nil {
		return Outlined{}, err
	}
	var cands []selects.Candidate
	err = d.eachReel(ctx, "", func(quotes []story.Quote, heard *story.Heard) error {
		cands = append(cands, outlineCandidates(quotes, heard, chosen)...)
		return nil
	})
	if err != nil {
		return Outlined{}, err
	}
	sections, err := selects.Outline(cands, selects.OutlineOptions{Target: target, Order: opt.Themes})
	if err != nil {
		return Outlined{}, &Problem{What: err.Error(), Hint: "tag more quotes with these themes, or choose a longer target"}
	}
	s, err := selects.OutlineSelects(name, target, sections)
	if err != nil {
		return Outlined{}, err
	}
	out := Outlined{}
	for _, sec := range sections {
		o := OutlineSection{Theme: sec.Theme, Why: sec.Why}
		for _, st := range sec.Steps {
			o.Items = append(o.Items, OutlineItem{Code: st.Quote.Code, Role: string(st.Role), Why: st.Why})
		}
		out.Sections = append(out.Sections, o)
	}
	out.Selects, err = d.newSelects(ctx, s, fmt.Sprintf("outline %q of %s", name, joinAnd(chosen)))
	return out, err
}

// chosenThemes are the themes named, or all there are.
func (d *Desk) chosenThemes(ctx context.Context, names []string) ([]string, error) {
	var out []string
	for _, n := range names {
		t, err := d.theme(ctx, n)
		if err != nil {
			return nil, err
		}
		out = append(out, t.Name)
	}
	if len(names) > 0 {
		return out, nil
	}
	list, err := d.bank.Themes(ctx)
	if err != nil {
		return nil, err
	}
	for _, t := range list {
		if t.Quotes > 0 {
			out = append(out, t.Name)
		}
	}
	if len(out) == 0 {
		return nil, refuse("tag some quotes first: rushlight tag CODE +THEME", "no quote carries a theme yet")
	}
	return out, nil
}

// outlineCandidates are the quotes of a reel that carry a chosen theme, with
// how quotable they are; what people marked strong or rated counts more.
func outlineCandidates(quotes []story.Quote, heard *story.Heard, chosen []string) []selects.Candidate {
	asker := review.Askers(quotes)
	habits := review.Habits(quotes, heard)
	var out []selects.Candidate
	for i, q := range quotes {
		for _, theme := range chosen {
			if !carries(q, theme) {
				continue
			}
			score := review.Quotability(q, review.Context{
				Before: quotes[max(0, i-3):i], After: quotes[i+1 : min(len(quotes), i+4)],
				Heard: heard, Asker: asker[q.Reel], Habit: habits[q.Speaker],
			}).Total
			if q.IsStrong() {
				score++
			}
			score += float64(q.Rating) / 5
			out = append(out, selects.Candidate{Quote: q, Theme: theme, Score: score})
		}
	}
	return out
}
