package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
	"rushlight/pkg/story"
)

func tagCommand(c *call) *cobra.Command {
	var opt desk.TagOptions
	var found, note string
	var rate int
	var yes bool
	cmd := &cobra.Command{
		Use:   "tag CODE... [+THEME...]",
		Short: "Put themes, a rating or a note on quotes",
		Long: `Put themes on quotes with +NAME, take them off with --off NAME, rate them 1 to
5, or write a note. +strong marks a quote worth using. With --found the quotes
are all hits of a search: their number is shown first.`,
		Example: "  rushlight tag KRTWHC +bell +strong --rate 4 --note 'use the end'\n  rushlight tag KRTWHC --off bridge\n  rushlight tag --found 'ferry AND bell' +bell --yes",
		RunE: func(cmd *cobra.Command, a []string) error {
			names := []string{}
			for _, s := range a {
				if theme, ok := strings.CutPrefix(s, "+"); ok {
					opt.Add = append(opt.Add, theme)
				} else {
					names = append(names, s)
				}
			}
			if cmd.Flags().Changed("rate") {
				opt.Rate = &rate
			}
			if cmd.Flags().Changed("note") {
				opt.Note = &note
			}
			codes, err := desk.ParseCodes(names)
			if err != nil {
				return err
			}
			return tag(cmd, c, codes, found, yes, opt)
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&opt.Off, "off", nil, "take a theme off (may be given more than once)")
	f.IntVar(&rate, "rate", 0, "rating from 1 to 5; 0 takes it off")
	f.StringVar(&note, "note", "", "write a note; empty takes it off")
	f.StringVar(&found, "found", "", "tag all hits of a search")
	f.BoolVar(&yes, "yes", false, "don't ask before tagging what was found")
	return cmd
}

// tag sets opt on the quotes named, or on those found.
func tag(cmd *cobra.Command, c *call, codes []story.Code, found string, yes bool, opt desk.TagOptions) error {
	if found != "" && len(codes) > 0 {
		return wrong(cmd, fmt.Errorf("give either codes or --found"))
	}
	if err := opt.Check(); err != nil {
		return err
	}
	return c.with(cmd.Context(), func(d *desk.Desk) error {
		if found != "" {
			all, err := d.FoundCodes(cmd.Context(), found)
			if err != nil {
				return err
			}
			codes = all
			if err := c.agree(codes, found, opt, yes); err != nil {
				return err
			}
		}
		done, err := d.Tag(cmd.Context(), codes, opt)
		if err != nil {
			return err
		}
		return c.say(done, func() { printTagged(c, done, found != "") })
	})
}

// agree shows how many quotes a search means and asks, unless --yes was given.
func (c *call) agree(codes []story.Code, query string, opt desk.TagOptions, yes bool) error {
	if len(codes) == 0 {
		return &desk.Problem{What: fmt.Sprintf("nothing found for %q: nothing tagged", query), Hint: "try the search with 'rushlight find'"}
	}
	what := fmt.Sprintf("%s found by %q: %s", many(len(codes), "quote", "quotes"), query, opt)
	if yes {
		if !c.json {
			c.notef("%s\n", what)
		}
		return nil
	}
	if !isTerminal(c.in) || !isTerminal(c.err) {
		return &desk.Problem{What: what + "; nobody here to ask", Hint: "add --yes to tag them all", Kind: desk.ErrUsage}
	}
	if !c.ask(what + ". Go on?") {
		return &desk.Problem{What: "nothing tagged"}
	}
	return nil
}

func printTagged(c *call, t desk.Tagged, brief bool) {
	c.printf("%d of %s changed\n", t.Changed, many(t.Asked, "quote", "quotes"))
	for _, n := range t.Notes {
		c.printf("%s\n", wrap("note: "+n, columns, "", plain))
	}
	if brief {
		return
	}
	for _, q := range t.Quotes {
		printHead(c, q)
		c.printf("  %s\n", cutTo(q.Text, columns-2))
	}
}

func themesCommand(c *call) *cobra.Command {
	var opt desk.ThemesOptions
	cmd := &cobra.Command{
		Use:   "themes",
		Short: "List themes, and what keeps coming back before anyone named it",
		Long: `List the themes that quotes carry, then the words and phrases that keep coming
back: how often, in how many reels, by how many speakers, how much more than in
everyday talk (keyness), and a quote to start from.`,
		Example: "  rushlight themes\n  rushlight themes --reel D2-INT2 --limit 10\n  rushlight themes rename bell 'the bell'\n  rushlight themes remove bridge",
		Args:    args(0, 0, "nothing, or one of find, keep, suggest, accept, refuse, describe, split, map, rename, remove"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				t, err := d.Themes(cmd.Context(), opt)
				if err != nil {
					return err
				}
				return c.say(t, func() { printThemes(c, t) })
			})
		},
	}
	cmd.Flags().IntVar(&opt.Limit, "limit", 12, "how many recurring words and phrases; -1 for all")
	cmd.Flags().StringVar(&opt.Reel, "reel", "", "what sets this reel apart from the others")
	cmd.AddCommand(themesFind(c), themesKeep(c), themesSuggest(c), themesJudge(c, true), themesJudge(c, false),
		themesDescribe(c), themesSplit(c), themesMap(c))
	cmd.AddCommand(&cobra.Command{
		Use: "rename THEME NAME", Short: "Give a theme another name; a name in use joins the two",
		Example: "  rushlight themes rename bell 'the bell'",
		Args:    args(2, 2, "the theme and its new name"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				e, err := d.RenameTheme(cmd.Context(), a[0], a[1])
				if err != nil {
					return err
				}
				return c.say(e, func() { c.printf("%s\n", e.Summary) })
			})
		},
	}, &cobra.Command{
		Use: "remove THEME", Short: "Take a theme off every quote",
		Example: "  rushlight themes remove bridge",
		Args:    args(1, 1, "one theme"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				e, err := d.RemoveTheme(cmd.Context(), a[0])
				if err != nil {
					return err
				}
				return c.say(e, func() { c.printf("%s\n", e.Summary) })
			})
		},
	})
	return cmd
}

func printThemes(c *call, t desk.Themes) {
	if len(t.Themes) > 0 {
		rows := [][]string{}
		for _, th := range t.Themes {
			rows = append(rows, []string{th.Name, fmt.Sprint(th.Quotes), short(th.Seconds), strings.Join(th.Reels, " "), strings.Join(th.Speakers, ", ")})
		}
		c.table([]string{"theme", "quotes", "length", "reels", "speakers"}, rows)
		c.printf("\n")
	} else {
		c.printf("no themes yet: rushlight tag CODE +THEME\n\n")
	}
	if len(t.Recurring) == 0 {
		c.printf("nothing keeps coming back so far\n")
		return
	}
	rows := [][]string{}
	for _, r := range t.Recurring {
		start := ""
		if len(r.Quotes) > 0 {
			start = string(r.Quotes[0])
		}
		rows = append(rows, []string{
			r.Term, fmt.Sprint(r.Count), fmt.Sprint(len(r.Reels)), fmt.Sprint(len(r.Speakers)),
			fmt.Sprintf("%.1f", r.Keyness), start, strings.Join(r.Forms, ", "),
		})
	}
	c.table([]string{"recurring", "said", "reels", "speakers", "keyness", "start at", "forms"}, rows)
}
