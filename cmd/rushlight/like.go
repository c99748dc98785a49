package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
)

func likeCommand(c *call) *cobra.Command {
	var limit int
	var same bool
	cmd := &cobra.Command{
		Use: "like CODE", Short: "Find quotes that say something similar",
		Example: "  rushlight like KRTWHC --limit 5",
		Args:    args(1, 1, "one code"),
		RunE: func(cmd *cobra.Command, a []string) error {
			codes, err := desk.ParseCodes(a)
			if err != nil {
				return err
			}
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				l, err := d.Like(cmd.Context(), codes[0], limit, same)
				if err != nil {
					return err
				}
				return c.say(l, func() { printAlike(c, l, "said in like words:", "nothing is said in like words") })
			})
		},
	}
	cmd.Flags().IntVar(&limit, "limit", 10, "how many; -1 for all")
	cmd.Flags().BoolVar(&same, "same-reel", false, "in its own reel only")
	return cmd
}

func takesCommand(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "takes CODE", Short: "Find the other tellings of the same story",
		Example: "  rushlight takes KRTWHC",
		Args:    args(1, 1, "one code"),
		RunE: func(cmd *cobra.Command, a []string) error {
			codes, err := desk.ParseCodes(a)
			if err != nil {
				return err
			}
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				l, err := d.Takes(cmd.Context(), codes[0])
				if err != nil {
					return err
				}
				return c.say(l, func() { printAlike(c, l, "told again:", "told once only") })
			})
		},
	}
}

// printAlike prints the quote asked for, then a line that says what follows.
func printAlike(c *call, l desk.Alike, what, none string) {
	printHit(c, desk.Hit{Quote: l.Quote})
	if len(l.Hits) == 0 {
		what = none
	}
	c.printf("%s\n", what)
	for _, h := range l.Hits {
		c.printf("\n")
		printHit(c, h)
	}
}

func bestCommand(c *call) *cobra.Command {
	var opt desk.BestOptions
	var why bool
	cmd := &cobra.Command{
		Use: "best", Short: "Order passages by how quotable they are",
		Long: `Order passages by how well they could be used as they stand: complete in
themselves, 6 to 25 seconds, well said, alone in the sound, without a fault. It
only orders, and hides nothing; --why shows every part.`,
		Example: "  rushlight best --reel D2-INT2 --why\n  rushlight best --theme bell --limit 5",
		Args:    args(0, 0, "nothing more"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				list, err := d.Best(cmd.Context(), opt)
				if err != nil {
					return err
				}
				return c.say(map[string]any{"passages": list}, func() {
					if len(list) == 0 {
						c.printf("no passages\n")
					}
					for i, b := range list {
						if i > 0 {
							c.printf("\n")
						}
						printHead(c, b.Quote)
						c.printf("  quotable %.2f\n", b.Score)
						c.printf("%s\n", wrap(b.Quote.Text, columns, "  ", plain))
						if !why {
							continue
						}
						for _, p := range b.Parts {
							if p.Weight > 0 {
								c.printf("%s\n", wrap(fmt.Sprintf("%.2f × %.1f %s: %s", p.Value, p.Weight, p.Name, p.Why), columns, "    ", plain))
							}
						}
					}
				})
			})
		},
	}
	cmd.Flags().StringVar(&opt.Reel, "reel", "", "of this reel only")
	cmd.Flags().StringVar(&opt.Theme, "theme", "", "that carry this theme")
	cmd.Flags().IntVar(&opt.Limit, "limit", 10, "how many; -1 for all")
	cmd.Flags().BoolVar(&why, "why", false, "show the parts of each score")
	return cmd
}

func outlineCommand(c *call) *cobra.Command {
	var opt desk.OutlineOptions
	cmd := &cobra.Command{
		Use: "outline NAME", Short: "Make a first paper edit from chosen themes",
		Long: `Make selects from the quotes of chosen themes: section by section, each with
what sets it up, its turn and its consequence, to a running time. It is a start:
move, drop and trim as you like.`,
		Example: "  rushlight outline 'first cut' --theme bell --theme crossing --target 4:00",
		Args:    args(1, 1, "a name for the selects"),
		RunE: func(cmd *cobra.Command, a []string) error {
			opt.Name = a[0]
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				o, err := d.Outline(cmd.Context(), opt)
				if err != nil {
					return err
				}
				return c.say(o, func() {
					for _, s := range o.Sections {
						c.printf("%s\n", wrap(s.Theme+": "+s.Why, columns, "", plain))
						for _, it := range s.Items {
							c.printf("%s\n", wrap(strings.Join([]string{string(it.Code), it.Role + ":", it.Why}, " "), columns, "  ", plain))
						}
					}
					c.printf("\n")
					printSelects(c, o.Selects)
				})
			})
		},
	}
	cmd.Flags().StringArrayVar(&opt.Themes, "theme", nil, "a theme, in the order wanted (may be given more than once); all if none")
	cmd.Flags().StringVar(&opt.Target, "target", "", "running time not to pass, for example 4:00")
	return cmd
}

// printFirst prints who said first what a search asks for.
func printFirst(c *call, list []desk.Saying, query string) {
	if len(list) == 0 {
		c.printf("nobody says %s\n", query)
	}
	for i, s := range list {
		if i > 0 {
			c.printf("\n")
		}
		printHit(c, s.First)
		if s.Hits > 1 {
			c.printf("  and %d times more\n", s.Hits-1)
		}
	}
}
