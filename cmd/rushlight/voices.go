package main

import (
	"fmt"
	"math"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
)

func voicesCommand(c *call) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "voices",
		Short: "Tell people by their voices, in all reels",
		Long: `List whose voices are in the bank and how long they talk. 'voices hear' compares
the voices of all reels: who has no name gets that of the voice it is most like,
or a number. Names in transcripts are never changed by listening; what listening
got wrong, name, merge and split mend.

What a voice is known by is personal data. It is measured only when you ask for
it, stays in this bank, is in no export, and 'voices forget' removes it for
good. Ask the contributor; local law and the release decide.`,
		Example: "  rushlight voices hear\n  rushlight voices\n  rushlight voices name 2 'Ines Corrigan'",
		Args:    args(0, 0, "nothing, or hear, name, merge, split or forget"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				list, err := d.Voices(cmd.Context())
				if err != nil {
					return err
				}
				return c.say(map[string]any{"voices": list}, func() { printVoices(c, list) })
			})
		},
	}
	for _, make := range []func(*call) *cobra.Command{voicesHear, voicesName, voicesMerge, voicesSplit, voicesForget} {
		cmd.AddCommand(make(c))
	}
	return cmd
}

func printVoices(c *call, list []desk.Voice) {
	if len(list) == 0 {
		c.printf("nobody was heard yet\n")
		return
	}
	rows := [][]string{}
	waiting, unlike := false, false
	for _, v := range list {
		alike := "–"
		switch {
		case !v.Compared && !v.Named:
			alike, waiting = "not compared", true
		case v.Alike != nil && *v.Alike < 0.5:
			alike, unlike = "unlike", true
		case v.Alike != nil:
			alike = percent(*v.Alike)
		}
		rows = append(rows, []string{v.Voice, short(v.Seconds), percent(v.Share), alike, cutTo(strings.Join(v.Reels, " "), 36)})
	}
	c.table([]string{"voice", "talk", "share", "alike", "reels"}, rows)
	if unlike {
		c.printf("unlike: somebody else in one of the reels, or another room or microphone;\nlisten before you split\n")
	}
	if waiting {
		c.printf("'rushlight voices hear' compares the voices of all reels\n")
	}
}

func percent(share float64) string { return fmt.Sprintf("%.0f %%", math.Floor(100*share+0.5)) }

func voicesHear(c *call) *cobra.Command {
	var opt desk.HearVoicesOptions
	cmd := &cobra.Command{
		Use: "hear [REEL...]", Short: "Compare the voices of all reels",
		Long: `Measure the voices of reels that weren't compared yet, and give those without a
name the name of the voice they are most like. Reels that are named are measured
again. Two speakers of one reel are never one voice, nor are two names.`,
		Example: "  rushlight voices hear\n  rushlight voices hear D2-INT2",
		Args:    args(0, -1, "reels"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				opt.Reels = a
				h, err := d.HearVoices(cmd.Context(), opt)
				if err != nil {
					return err
				}
				err = c.say(h, func() {
					c.printf("heard the voices of %s\n", many(len(h.Reels), "reel", "reels"))
					if len(h.Joined) == 0 && len(h.Reels) > 0 {
						c.printf("nobody without a name is like anybody\n")
					}
					for _, j := range h.Joined {
						c.printf("%s  %s is %s, alike %s\n", j.Reel, j.Was, j.Voice, percent(j.Alike))
					}
					for _, n := range h.Notes {
						c.printf("%s\n", wrap(n, columns, "", plain))
					}
				})
				if err == nil && len(h.Notes) > 0 {
					return errRefused
				}
				return err
			})
		},
	}
	cmd.Flags().StringVar(&opt.Again, "again", "", "a voice that was forgotten, if its owner agrees")
	return cmd
}

func voicesName(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "name NUMBER|NAME NAME", Short: "Say whose a voice is, in all reels",
		Example: "  rushlight voices name 2 'Ines Corrigan'",
		Args:    args(2, 2, "a voice and its name"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				from, n, merged, err := d.NameVoice(cmd.Context(), a[0], a[1])
				if err != nil {
					return err
				}
				return c.say(map[string]any{"from": from, "to": a[1], "changed": n, "merged": merged}, func() {
					c.printf("%s is %s now: %s\n", from, a[1], many(n, "quote or turn", "quotes and turns"))
					if merged {
						c.printf("there was a %s already: the two are one voice now\n", a[1])
					}
				})
			})
		},
	}
}

func voicesMerge(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "merge VOICE VOICE...", Short: "Make several voices one, by the name of the first",
		Example: "  rushlight voices merge 'Ines Corrigan' 3",
		Args:    args(2, -1, "two voices or more"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				name, n, err := d.MergeVoices(cmd.Context(), a[0], a[1:])
				if err != nil {
					return err
				}
				return c.say(map[string]any{"voice": name, "changed": n}, func() {
					c.printf("one voice now, %s: %s changed\n", name, many(n, "quote or turn", "quotes and turns"))
				})
			})
		},
	}
}

func voicesSplit(c *call) *cobra.Command {
	var reel, as string
	cmd := &cobra.Command{
		Use: "split VOICE --reel REEL", Short: "Make a voice in one reel a voice of its own",
		Long: `Make what a voice says in one reel a voice of its own, with the next free number
or the name given. Listening never joins the two again; merge does.`,
		Example: "  rushlight voices split 'Ines Corrigan' --reel D2-WALK --as 'Petra Vance'",
		Args:    args(1, 1, "a voice"),
		RunE: func(cmd *cobra.Command, a []string) error {
			if reel == "" {
				return wrong(cmd, fmt.Errorf("want --reel, the reel in which it is somebody else"))
			}
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				from, to, n, err := d.SplitVoice(cmd.Context(), a[0], reel, as)
				if err != nil {
					return err
				}
				return c.say(map[string]any{"from": from, "to": to, "reel": reel, "changed": n}, func() {
					c.printf("%s in %s is %s now: %s\n", from, reel, to, many(n, "quote or turn", "quotes and turns"))
				})
			})
		},
	}
	cmd.Flags().StringVar(&reel, "reel", "", "the reel in which it is somebody else")
	cmd.Flags().StringVar(&as, "as", "", "whose voice it is there")
	return cmd
}

func voicesForget(c *call) *cobra.Command {
	return &cobra.Command{
		Use: "forget VOICE", Short: "Remove what a voice is known by, for good",
		Long: `Remove what a voice is known by from the bank and from the disk. Undo doesn't
bring it back, and the voice isn't measured again until 'voices hear --again'
asks for it. Name and words stay; copies of the bank made before still hold the
measure, and so may a disk that keeps old blocks.`,
		Example: "  rushlight voices forget 'Ines Corrigan'",
		Args:    args(1, 1, "a voice"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				name, n, err := d.ForgetVoice(cmd.Context(), a[0])
				if err != nil {
					return err
				}
				return c.say(map[string]any{"voice": name, "forgotten": n}, func() {
					c.printf("forgot %s of %s for good; undo doesn't bring it back\n", many(n, "measure", "measures"), name)
				})
			})
		},
	}
}
