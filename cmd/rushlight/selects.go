package main

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
	"rushlight/pkg/story"
)

func selectsCommand(c *call) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "selects",
		Short: "Pull quotes, put them in order, trim them to a running time",
		Example: "  rushlight selects new opening --target 4:00\n  rushlight selects add opening KRTWHC CFTTYW\n" +
			"  rushlight selects move opening 2 1\n  rushlight selects trim opening 1 --out -0.5\n  rushlight selects show opening",
		Args: args(0, 0, "nothing, or one of new, copy, read, add, move, drop, trim, note, target, show, remove"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				list, err := d.AllSelects(cmd.Context())
				if err != nil {
					return err
				}
				return c.say(map[string]any{"selects": list}, func() {
					if len(list) == 0 {
						c.printf("no selects yet: rushlight selects new NAME\n")
						return
					}
					rows := [][]string{}
					for _, s := range list {
						rows = append(rows, []string{s.Name, fmt.Sprint(len(s.Items)), desk.FitOf(s)})
					}
					c.table([]string{"selects", "items", "running time"}, rows)
				})
			})
		},
	}
	cmd.AddCommand(selectsNew(c), selectsCopy(c), selectsRead(c), selectsAdd(c), selectsMove(c), selectsDrop(c), selectsTrim(c),
		selectsNote(c), selectsTarget(c), selectsShow(c), selectsRemove(c))
	return cmd
}

// edited shows a list after a change.
func (c *call) edited(cmd *cobra.Command, job func(*desk.Desk) (story.Selects, error)) error {
	return c.with(cmd.Context(), func(d *desk.Desk) error {
		s, err := job(d)
		if err != nil {
			return err
		}
		return c.say(s, func() { printSelects(c, s) })
	})
}

func printSelects(c *call, s story.Selects) {
	c.printf("%s  %s, %s\n", c.strong(s.Name), many(len(s.Items), "item", "items"), desk.FitOf(s))
	for i, it := range s.Items {
		state := ""
		if it.Trimmed {
			state = "  trimmed"
		}
		if it.Lost {
			state += "  no longer said in its transcript"
		}
		head := fmt.Sprintf("%3d  %s  %s  %s  %s  %s", i+1, it.Code, it.Reel, it.Clock.In(it.In).Timecode, it.Running().Short(), nameOr(it.Speaker))
		c.printf("%s%s\n", strings.TrimRight(cutTo(head, columns-wide(state)), " "), state)
		c.printf("     %s\n", cutTo(it.Text, columns-5))
		if it.Note != "" {
			c.printf("%s\n", wrap("note: "+it.Note, columns, "     ", plain))
		}
	}
}

func selectsNew(c *call) *cobra.Command {
	var target string
	cmd := &cobra.Command{
		Use: "new NAME", Short: "Make empty selects", Example: "  rushlight selects new opening --target 4:00",
		Args: args(1, 1, "one name"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.edited(cmd, func(d *desk.Desk) (story.Selects, error) { return d.NewSelects(cmd.Context(), a[0], target) })
		},
	}
	cmd.Flags().StringVar(&target, "target", "", "wanted running time, for example 4:00")
	return cmd
}

func selectsCopy(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "copy NAME NEW", Short: "Keep a version: the same selects under another name",
		Example: "  rushlight selects copy opening 'opening before the viewers'",
		Args:    args(2, 2, "the selects and the name of the copy"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.edited(cmd, func(d *desk.Desk) (story.Selects, error) { return d.CopySelects(cmd.Context(), a[0], a[1]) })
		},
	}
}

func selectsRead(c *call) *cobra.Command {
	var opt desk.ReadSelectsOptions
	cmd := &cobra.Command{
		Use: "read FILE", Short: "Make selects of a cut that comes back: .edl or .otio",
		Long: `Make selects of a cut that an editor sends back, an edit decision list or an
OpenTimelineIO document: an item for each quote that its events hold, trimmed
where the cut is shorter. Picture is taken to the sound that it was lined up
with; picture and sound of one piece count once. Events that are no sayings of
this bank are listed.`,
		Example: "  rushlight selects read opening_v2.edl --as 'opening v2'\n  rushlight selects read roughcut.edl --rate 25",
		Args:    args(1, 1, "one edit decision list or OpenTimelineIO document"),
		RunE: func(cmd *cobra.Command, a []string) error {
			opt.File = a[0]
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				r, err := d.ReadSelects(cmd.Context(), opt)
				if err != nil {
					return err
				}
				return c.say(r, func() { printSelectsRead(c, r) })
			})
		},
	}
	cmd.Flags().StringVar(&opt.Name, "as", "", "the name of the selects; the cut's title if not given")
	cmd.Flags().StringVar(&opt.Rate, "rate", "", "frame rate of a list that doesn't say its own; the film's if not given")
	return cmd
}

func printSelectsRead(c *call, r desk.SelectsRead) {
	const most = 20
	printSelects(c, r.Selects)
	c.printf("\n%s in the cut, %d of them no saying of this bank\n", many(r.Events, "event", "events"), len(r.Missed))
	for i, m := range r.Missed {
		if i == most {
			c.printf("… and %d more (--json lists all)\n", len(r.Missed)-i)
			break
		}
		c.printf("%s\n", wrap(m.String(), columns, "  ", plain))
	}
	for i, n := range r.Notes {
		if i == most {
			c.printf("… and %d notes more (--json lists all)\n", len(r.Notes)-i)
			break
		}
		c.printf("%s\n", wrap("note: "+n, columns, "", plain))
	}
}

func selectsAdd(c *call) *cobra.Command {
	var at int
	cmd := &cobra.Command{
		Use: "add NAME CODE...", Short: "Put quotes in", Example: "  rushlight selects add opening KRTWHC CFTTYW --at 1",
		Args: args(2, -1, "a name and the codes of quotes"),
		RunE: func(cmd *cobra.Command, a []string) error {
			codes, err := desk.ParseCodes(a[1:])
			if err != nil {
				return err
			}
			return c.edited(cmd, func(d *desk.Desk) (story.Selects, error) { return d.AddSelects(cmd.Context(), a[0], codes, at) })
		},
	}
	cmd.Flags().IntVar(&at, "at", 0, "the place of the first; the end if not given")
	return cmd
}

func selectsMove(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "move NAME ITEM PLACE", Short: "Move an item, named by place or code", Example: "  rushlight selects move opening 3 1",
		Args: args(3, 3, "a name, an item and its new place"),
		RunE: func(cmd *cobra.Command, a []string) error {
			to, err := strconv.Atoi(a[2])
			if err != nil {
				return wrong(cmd, fmt.Errorf("place %q is not a number", a[2]))
			}
			return c.edited(cmd, func(d *desk.Desk) (story.Selects, error) { return d.MoveSelects(cmd.Context(), a[0], a[1], to) })
		},
	}
}

func selectsDrop(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "drop NAME ITEM...", Short: "Take items off", Example: "  rushlight selects drop opening 2 KRTWHC",
		Args: args(2, -1, "a name and items"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.edited(cmd, func(d *desk.Desk) (story.Selects, error) { return d.DropSelects(cmd.Context(), a[0], a[1:]) })
		},
	}
}

func selectsTrim(c *call) *cobra.Command {
	var in, out string
	var whole bool
	cmd := &cobra.Command{
		Use: "trim NAME ITEM", Short: "Move the in or out of one item",
		Long: `Move the in or out of one item. +0.5 is half a second later, -12f twelve frames
earlier; 10:00:12:05 or 1:23.4 is a place in the recording.`,
		Example: "  rushlight selects trim opening 2 --in +0.5 --out=-12f\n  rushlight selects trim opening 2 --whole",
		Args:    args(2, 2, "a name and one item"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.edited(cmd, func(d *desk.Desk) (story.Selects, error) {
				return d.TrimSelects(cmd.Context(), a[0], a[1], in, out, whole)
			})
		},
	}
	cmd.Flags().StringVar(&in, "in", "", "the new in")
	cmd.Flags().StringVar(&out, "out", "", "the new out")
	cmd.Flags().BoolVar(&whole, "whole", false, "the quote's own in and out again")
	return cmd
}

func selectsNote(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "note NAME ITEM TEXT", Short: "Write a note beside an item", Example: "  rushlight selects note opening 1 'over the empty landing'",
		Args: args(3, 3, "a name, an item and a text in quotation marks"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.edited(cmd, func(d *desk.Desk) (story.Selects, error) { return d.NoteSelects(cmd.Context(), a[0], a[1], a[2]) })
		},
	}
}

func selectsTarget(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "target NAME TIME", Short: "Set the wanted running time", Example: "  rushlight selects target opening 3:30",
		Args: args(2, 2, "a name and a running time"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.edited(cmd, func(d *desk.Desk) (story.Selects, error) { return d.TargetSelects(cmd.Context(), a[0], a[1]) })
		},
	}
}

func selectsShow(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "show NAME", Short: "List the items with their lengths and the running time", Example: "  rushlight selects show opening",
		Args: args(1, 1, "one name"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				s, err := d.Selects(cmd.Context(), a[0])
				if err != nil {
					return err
				}
				return c.say(s, func() { printSelects(c, s) })
			})
		},
	}
}

func selectsRemove(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "remove NAME", Short: "Remove selects; the quotes stay", Example: "  rushlight selects remove opening",
		Args: args(1, 1, "one name"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				e, err := d.RemoveSelects(cmd.Context(), a[0])
				if err != nil {
					return err
				}
				return c.say(e, func() { c.printf("%s; 'rushlight undo' brings them back\n", e.Summary) })
			})
		},
	}
}
