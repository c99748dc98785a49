package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
	"rushlight/pkg/story"
)

func themesFind(c *call) *cobra.Command {
	var opt desk.FindThemesOptions
	var why bool
	cmd := &cobra.Command{
		Use:   "find",
		Short: "Find what keeps coming back, with all that is known of it",
		Long: `Find words, phrases and families of words that keep coming back, best first: how
often, by whom, in which reels over the time of shooting, how much more than in
everyday talk, who brought it up, and where to start. A word that the one who
asks put into somebody's mouth counts less.`,
		Example: "  rushlight themes find --why\n  rushlight themes find --late\n  rushlight themes find --by speaker --limit 5",
		Args:    args(0, 0, "nothing more"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				f, err := d.FindThemes(cmd.Context(), opt)
				if err != nil {
					return err
				}
				return c.say(f, func() {
					for _, n := range f.Notes {
						c.notef("%s\n", wrap(n, columns, "", plain))
					}
					printCandidates(c, f.Recurring, why)
					for _, l := range f.Lists {
						c.printf("\n%s %s\n", l.By, c.strong(nameOr(l.Value)))
						printCandidates(c, l.Recurring, why)
					}
				})
			})
		},
	}
	f := cmd.Flags()
	f.IntVar(&opt.Limit, "limit", 10, "how many; -1 for all")
	f.StringVar(&opt.Reel, "reel", "", "what sets this reel apart from the others")
	f.StringVar(&opt.By, "by", "", "a list for each speaker, reel or day")
	f.BoolVar(&opt.Late, "late", false, "what only emerged in the last days of the shoot")
	f.StringVar(&opt.Language, "language", "", "language of quotes that have none of their own")
	f.BoolVar(&why, "why", false, "show the parts of each rank")
	return cmd
}

func printCandidates(c *call, list []desk.Candidate, why bool) {
	if len(list) == 0 {
		c.printf("nothing keeps coming back so far\n")
	}
	for _, v := range list {
		first := v.FirstSaid
		who := nameOr(first.Speaker)
		if first.By == "asker" {
			who += " (who asks)"
		}
		c.printf("%3d  %s  said %d times, %s, %s  %s\n", v.Place, c.strong(v.Term), v.Count,
			many(len(v.Reels), "reel", "reels"), many(len(v.Speakers), "speaker", "speakers"), desk.Spark(v, 24))
		c.printf("%s\n", wrap("forms: "+formCounts(v.Family), columns, "     ", plain))
		for _, more := range []struct {
			what string
			list []desk.Form
		}{{"its words: ", v.Words}, {"also: ", v.Phrases}, {"of like meaning, not counted: ", v.Related}} {
			if len(more.list) > 0 {
				c.printf("%s\n", wrap(more.what+formCounts(more.list), columns, "     ", plain))
			}
		}
		c.printf("%s\n", wrap(fmt.Sprintf("first said by %s on %s at %s (%s)", who, first.Reel, first.Clock.In(first.At).Timecode, first.Code), columns, "     ", plain))
		if len(v.Quotes) > 0 {
			codes := make([]string, 0, 4)
			for _, q := range v.Quotes[:min(4, len(v.Quotes))] {
				codes = append(codes, string(q))
			}
			c.printf("     start at %s\n", strings.Join(codes, " "))
		}
		if !why {
			continue
		}
		for _, p := range v.Why {
			c.printf("%s\n", wrap(fmt.Sprintf("× %.2f %s: %s", p.Factor, p.Name, p.Note), columns, "       ", plain))
		}
	}
}

// formCounts lists words with how often each is said.
func formCounts(list []desk.Form) string {
	out := []string{}
	for _, f := range list {
		out = append(out, fmt.Sprintf("%s %d", f.Text, f.Count))
	}
	return strings.Join(out, ", ")
}

func themesKeep(c *call) *cobra.Command {
	var as string
	cmd := &cobra.Command{
		Use: "keep NUMBER|TERM", Short: "Make a theme of something that keeps coming back",
		Long: `Make a theme of a candidate of 'themes find'. Its forms become the theme's rule,
a search that suggests quotes; accept or refuse them.`,
		Example: "  rushlight themes keep 1 --as 'ringing for nobody'",
		Args:    args(1, 1, "a number or word of 'rushlight themes find'"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				s, err := d.KeepTheme(cmd.Context(), a[0], as)
				if err != nil {
					return err
				}
				return c.say(s, func() {
					printSuggested(c, s, 5)
					if s.Had != "" {
						c.printf("%s\n", wrap("the theme had a rule, which still counts: "+s.Had, columns, "", plain))
					}
				})
			})
		},
	}
	cmd.Flags().StringVar(&as, "as", "", "the theme's name; the word itself if not given")
	return cmd
}

func themesSuggest(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "suggest THEME", Short: "List what the theme's rule brings that nobody has judged yet",
		Example: "  rushlight themes suggest bell",
		Args:    args(1, 1, "one theme"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				s, err := d.Suggest(cmd.Context(), a[0])
				if err != nil {
					return err
				}
				return c.say(s, func() { printSuggested(c, s, -1) })
			})
		},
	}
}

func printSuggested(c *call, s desk.Suggested, most int) {
	for i, h := range s.Hits {
		if i == most {
			c.printf("… and %d more: rushlight themes suggest '%s'\n", len(s.Hits)-i, s.Theme.Name)
			break
		}
		printHit(c, h)
	}
	c.printf("%s\n", wrap(fmt.Sprintf("theme %s, rule %s", s.Theme.Name, s.Theme.Rule), columns, "", plain))
	c.printf("%s suggested, %d carried, %d refused\n", many(len(s.Hits), "quote", "quotes"), s.Carried, s.Refused)
	if len(s.Hits) > 0 {
		c.printf("%s\n", wrap(fmt.Sprintf("next: rushlight themes accept '%s' CODE... (or --all), themes refuse '%s' CODE...", s.Theme.Name, s.Theme.Name), columns, "", plain))
	}
}

func themesJudge(c *call, accept bool) *cobra.Command {
	var all bool
	word, done, short := "refuse", "refused", "Refuse suggestions of a theme; they stay refused"
	if accept {
		word, done, short = "accept", "accepted", "Accept suggestions of a theme: put it on them"
	}
	cmd := &cobra.Command{
		Use: word + " THEME CODE...", Short: short,
		Example: "  rushlight themes " + word + " bell KRTWHC CFTTYW\n  rushlight themes " + word + " bell --all",
		Args:    args(1, -1, "a theme and codes of quotes, or --all"),
		RunE: func(cmd *cobra.Command, a []string) error {
			codes, err := desk.ParseCodes(a[1:])
			if err != nil {
				return err
			}
			if all == (len(codes) > 0) {
				return wrong(cmd, fmt.Errorf("want either codes or --all"))
			}
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				n, err := d.Judge(cmd.Context(), a[0], codes, accept)
				if err != nil {
					return err
				}
				return c.say(map[string]any{"theme": a[0], done: n}, func() { c.printf("%s %s\n", many(n, "quote", "quotes"), done) })
			})
		},
	}
	cmd.Flags().BoolVar(&all, "all", false, "all that is suggested")
	return cmd
}

func themesDescribe(c *call) *cobra.Command {
	var statement, under, rule string
	cmd := &cobra.Command{
		Use: "describe THEME", Short: "Say what a theme is about, and what suggests quotes for it",
		Example: "  rushlight themes describe bell --statement 'who still rings, and for whom'\n  rushlight themes describe bell --rule 'bell OR ring'\n  rushlight themes describe bell --under crossing",
		Args:    args(1, 1, "one theme"),
		RunE: func(cmd *cobra.Command, a []string) error {
			var detail story.ThemeDetail
			for _, f := range []struct {
				name string
				from *string
				to   **string
			}{{"statement", &statement, &detail.Statement}, {"under", &under, &detail.Parent}, {"rule", &rule, &detail.Rule}} {
				if cmd.Flags().Changed(f.name) {
					*f.to = f.from
				}
			}
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				t, err := d.DescribeTheme(cmd.Context(), a[0], detail)
				if err != nil {
					return err
				}
				return c.say(t, func() {
					c.printf("%s  %s\n", c.strong(t.Name), many(t.Quotes, "quote", "quotes"))
					for _, line := range [][2]string{{"about", t.Statement}, {"under", t.Parent}, {"rule", t.Rule}} {
						if line[1] != "" {
							c.printf("%s\n", wrap(line[0]+": "+line[1], columns, "  ", plain))
						}
					}
				})
			})
		},
	}
	cmd.Flags().StringVar(&statement, "statement", "", "what it is about, in one line")
	cmd.Flags().StringVar(&under, "under", "", "the theme it belongs under; empty for none")
	cmd.Flags().StringVar(&rule, "rule", "", "a search that suggests quotes; empty for none")
	return cmd
}

func themesSplit(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "split THEME NAME CODE...", Short: "Give quotes of one theme another instead",
		Example: "  rushlight themes split bell 'ringing for nobody' KRTWHC CFTTYW",
		Args:    args(3, -1, "a theme, the new one's name and codes of quotes"),
		RunE: func(cmd *cobra.Command, a []string) error {
			codes, err := desk.ParseCodes(a[2:])
			if err != nil {
				return err
			}
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				n, err := d.SplitTheme(cmd.Context(), a[0], a[1], codes)
				if err != nil {
					return err
				}
				return c.say(map[string]any{"theme": a[0], "name": a[1], "changed": n}, func() {
					c.printf("%s of %s are %s now\n", many(n, "quote", "quotes"), a[0], a[1])
				})
			})
		},
	}
}

func themesMap(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "map", Short: "Show how themes travel from reel to reel, and which meet",
		Example: "  rushlight themes map",
		Args:    args(0, 0, "nothing more"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				m, err := d.ThemeMap(cmd.Context())
				if err != nil {
					return err
				}
				return c.say(m, func() {
					head := append([]string{"theme"}, m.Reels...)
					rows := [][]string{}
					for _, t := range m.Themes {
						row := []string{t.Name}
						for _, cell := range t.PerReel {
							n := "·"
							if cell.Quotes > 0 {
								n = fmt.Sprint(cell.Quotes)
							}
							row = append(row, n)
						}
						rows = append(rows, append(row, fmt.Sprintf("%d strong", t.Strong)))
					}
					c.table(append(head, ""), rows)
					for i, p := range m.Meet {
						if i == 0 {
							c.printf("\n")
						}
						if i == 8 {
							break
						}
						c.printf("%s meets %s %d times, in %s, first at %s\n", p.A, p.B, p.Stretches, strings.Join(p.Reels, " "), p.At)
					}
					if len(m.OneVoice) > 0 {
						c.printf("one voice alone carries: %s\n", strings.Join(m.OneVoice, ", "))
					}
					if len(m.NoStrong) > 0 {
						c.printf("no strong quote yet: %s\n", strings.Join(m.NoStrong, ", "))
					}
					c.printf("%d of %s carry no theme\n", m.Untagged, many(m.Quotes, "quote", "quotes"))
				})
			})
		},
	}
}
