package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rushlight/index"
	"rushlight/pkg/bank"
	"rushlight/pkg/story"
	"rushlight/pkg/themes"
)

// FindThemesOptions say what keeps coming back is looked for in.
type FindThemesOptions struct {
	Limit    int
	Reel     string
	By       string
	Late     bool
	Language string
}

// FindThemes finds candidates for themes, with all that is known of each.
func (d *Desk) FindThemes(ctx context.Context, opt FindThemesOptions) (themes.Found, error) {
	if opt.Reel != "" {
		rec, err := d.recording(ctx, opt.Reel)
		if err != nil {
			return themes.Found{}, err
		}
		opt.Reel = rec.Reel
	}
	synonyms := index.Synonyms(d.opt.thesauri())
	var unread error // of a thesaurus
	related := func(language, word string) []string {
		words, err := synonyms(language, word)
		unread = cmp.Or(unread, err)
		return words
	}
	found, err := themes.Find(ctx, d.bank.Quotes(ctx, bank.Filter{}), themes.Options{
		Limit: opt.Limit, Reel: opt.Reel, By: opt.By, Late: opt.Late, Language: opt.Language, Related: related, Bases: index.Bases,
	})
	if errors.Is(err, themes.ErrOption) {
		return found, &Problem{What: err.Error(), Hint: "--by speaker, --by reel or --by day", Kind: ErrUsage}
	}
	if err == nil {
		err = unread
	}
	return found, err
}

// Candidate is what keeps coming back, as the commands show it.
type Candidate = themes.Candidate

// Form is one form of a candidate, or a word beside it, with its count.
type Form = themes.Form

// Spark draws a candidate over the time of shooting.
func Spark(c Candidate, columns int) string { return themes.Spark(c.PerReel, columns) }

// Suggested is what a theme's rule brings that nobody has judged yet.
type Suggested struct {
	Theme story.Theme `json:"theme"`
	// Hits are those suggested, best first.
	Hits []Hit `json:"hits"`
	// Carried and Refused count those judged before.
	Carried int `json:"carried"`
	Refused int `json:"refused"`
	// Had is the rule of a theme that was there already, which still counts
	// beside that of the candidate kept; "" for none.
	Had string `json:"had_rule,omitempty"`
}

// KeepTheme makes a theme of a candidate, named by its place in the list of
// FindThemes or by its term: the theme's rule is to be said in any of the
// candidate's forms. If there is a theme of that name with a rule, either rule
// suggests a quote.
func (d *Desk) KeepTheme(ctx context.Context, which, as string) (Suggested, error) {
	found, err := d.FindThemes(ctx, FindThemesOptions{Limit: -1})
	if err != nil {
		return Suggested{}, err
	}
	place, numberErr := strconv.Atoi(which)
	for _, c := range found.Recurring {
		if numberErr == nil && c.Place != place || numberErr != nil && !strings.EqualFold(c.Term, which) {
			continue
		}
		if as == "" {
			as = c.Term
		}
		name, err := story.ThemeName(as)
		if err != nil {
			return Suggested{}, &Problem{What: err.Error(), Kind: ErrUsage}
		}
		had, err := d.keep(ctx, c, name)
		if err != nil {
			return Suggested{}, err
		}
		s, err := d.Suggest(ctx, name)
		s.Had = had
		return s, err
	}
	return Suggested{}, usage("'rushlight themes find' numbers them", "nothing that keeps coming back is number or word %q", which)
}

// keep makes a theme with a candidate's rule, and gives the rule it had.
func (d *Desk) keep(ctx context.Context, c themes.Candidate, name string) (had string, err error) {
	_, err = d.change(ctx, "themes", fmt.Sprintf("kept %q as theme %q", c.Term, name), func(tx *bank.Tx) error {
		if _, err := tx.AddTheme(name); err != nil {
			return err
		}
		if had, err = tx.ThemeRule(name); err != nil {
			return err
		}
		rule := eitherRule(had, formsOf(c))
		_, err := tx.DescribeTheme(name, story.ThemeDetail{Rule: &rule})
		return err
	})
	if errors.Is(err, story.ErrInvalid) {
		err = &Problem{What: err.Error(), Hint: "shorten its rule first: rushlight themes describe THEME --rule QUERY", Kind: ErrUsage}
	}
	return had, err
}

// eitherRule is a rule, "" for none, or any of the forms that aren't
// alternatives of it yet. OR binds loosest in a query.
func eitherRule(rule string, forms []string) string {
	var all []string
	if rule != "" {
		all = strings.Split(rule, " OR ")
	}
	// Between parentheses a form is no alternative of the whole.
	nested := strings.Contains(rule, "(")
	for _, f := range forms {
		if nested || !slices.Contains(all, f) {
			all = append(all, f)
		}
	}
	return strings.Join(all, " OR ")
}

// formsOf are the searches for a candidate: its term in all its forms, or word
// for word for a phrase.
func formsOf(c themes.Candidate) []string {
	forms := []string{}
	for _, f := range c.Family {
		if strings.ContainsAny(f.Text, " :\"()*~-") {
			forms = append(forms, `"`+strings.ReplaceAll(f.Text, `"`, "")+`"`)
		} else {
			forms = append(forms, f.Text)
		}
		if len(forms) == 8 {
			break
		}
	}
	if len(forms) == 0 {
		forms = []string{`"` + c.Term + `"`}
	}
	return forms
}

// theme finds a theme by name.
func (d *Desk) theme(ctx context.Context, name string) (story.Theme, error) {
	list, err := d.bank.Themes(ctx)
	if err != nil {
		return story.Theme{}, err
	}
	names := []string{}
	for _, t := range list {
		if story.SameTheme(t.Name, name) {
			return t, nil
		}
		names = append(names, t.Name)
	}
	return story.Theme{}, &Problem{What: fmt.Sprintf("no theme %q", name), Hint: themesHint(names), Kind: bank.ErrNotFound}
}

// Suggest lists what a theme's rule finds that neither carries it nor was
// refused.
func (d *Desk) Suggest(ctx context.Context, name string) (Suggested, error) {
	t, err := d.theme(ctx, name)
	if err != nil {
		return Suggested{}, err
	}
	out := Suggested{Theme: t, Hits: []Hit{}}
	if t.Rule == "" {
		return out, refuse(fmt.Sprintf("give it one: rushlight themes describe %q --rule 'bell OR ring'", t.Name), "theme %q has no rule", t.Name)
	}
	refused, err := d.bank.Refused(ctx, t.Name)
	if err != nil {
		return out, err
	}
	no := map[story.Code]bool{}
	for _, c := range refused {
		no[c] = true
	}
	found, err := d.Find(ctx, FindOptions{Query: t.Rule, Limit: -1})
	if err != nil {
		return out, err
	}
	for _, h := range found.Hits {
		switch {
		case no[h.Quote.Code]:
			out.Refused++
		case carries(h.Quote, t.Name):
			out.Carried++
		default:
			out.Hits = append(out.Hits, h)
		}
	}
	return out, nil
}

func carries(q story.Quote, theme string) bool {
	for _, t := range q.Themes {
		if story.SameTheme(t, theme) {
			return true
		}
	}
	return false
}

// Judge accepts or refuses suggestions of a theme; without codes all of them.
func (d *Desk) Judge(ctx context.Context, name string, codes []story.Code, accept bool) (int, error) {
	if len(codes) == 0 {
		s, err := d.Suggest(ctx, name)
		if err != nil {
			return 0, err
		}
		for _, h := range s.Hits {
			codes = append(codes, h.Quote.Code)
		}
	}
	if _, err := d.quotes(ctx, codes); err != nil {
		return 0, err
	}
	word := "refused"
	if accept {
		word = "accepted"
	}
	n := 0
	_, err := d.change(ctx, "themes", "", func(tx *bank.Tx) error {
		t, err := d.theme(ctx, name)
		if err != nil {
			return err
		}
		tx.SetSummary(fmt.Sprintf("%s: %s %s", t.Name, word, count(len(codes), "quote", "quotes")))
		if !accept {
			n, err = tx.Refuse(t.Name, codes)
			return err
		}
		for _, c := range codes {
			changed, err := tx.TagBy(c, []string{t.Name}, story.ByRule)
			if err != nil {
				return err
			}
			if changed {
				n++
			}
		}
		return nil
	})
	if err != nil {
		return n, err
	}
	return n, d.freshen(ctx)
}

// DescribeTheme sets what a theme is about, the theme it stands under and the
// search that suggests quotes for it.
func (d *Desk) DescribeTheme(ctx context.Context, name string, detail story.ThemeDetail) (story.Theme, error) {
	if detail == (story.ThemeDetail{}) {
		return story.Theme{}, usage("for example --statement 'who still rings', --under crossing, --rule 'bell OR ring'", "nothing to set")
	}
	if detail.Rule != nil && *detail.Rule != "" {
		if _, err := d.Find(ctx, FindOptions{Query: *detail.Rule, Limit: 1}); err != nil {
			return story.Theme{}, err
		}
	}
	_, err := d.themeChange(ctx, fmt.Sprintf("described theme %q", name), func(tx *bank.Tx) error {
		if _, err := tx.AddTheme(name); err != nil {
			return err
		}
		_, err := tx.DescribeTheme(name, detail)
		return err
	})
	if errors.Is(err, story.ErrInvalid) {
		return story.Theme{}, &Problem{What: err.Error(), Kind: ErrUsage}
	}
	if err != nil {
		return story.Theme{}, err
	}
	return d.theme(ctx, name)
}

// SplitTheme gives quotes of one theme another instead.
func (d *Desk) SplitTheme(ctx context.Context, from, to string, codes []story.Code) (int, error) {
	n := 0
	_, err := d.themeChange(ctx, fmt.Sprintf("split %s from theme %q as %q", count(len(codes), "quote", "quotes"), from, to), func(tx *bank.Tx) error {
		var err error
		n, err = tx.SplitTheme(from, to, codes)
		return err
	})
	return n, err
}

// ThemeMap tells which themes meet and how they travel from reel to reel.
func (d *Desk) ThemeMap(ctx context.Context) (themes.ThemeMap, error) {
	return themes.Map(ctx, d.bank.Quotes(ctx, bank.Filter{}), themes.MapOptions{})
}

// themesHint lists themes, or says where they come from.
func themesHint(names []string) string {
	if len(names) == 0 {
		return "there are none yet: rushlight tag CODE +THEME"
	}
	return "themes: " + someOf(names)
}
