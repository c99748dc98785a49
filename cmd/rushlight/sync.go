package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
)

func syncCommand(c *call) *cobra.Command {
	var opt desk.SyncOptions
	var list bool
	cmd := &cobra.Command{
		Use:   "sync [REEL...]",
		Short: "Line up camera scratch tracks with the recorder's files",
		Long: `Line up the camera's scratch tracks with the recorder's files of the same event
(double-system sound): where the camera started, and how its clock drifts.
Without reels, all that look like a camera's are lined up with all sound of
their day.
From then on 'show' tells where a quote is seen, and 'export --video' cuts it.`,
		Example: "  rushlight sync\n  rushlight sync D2-CAM --with D2-INT2\n  rushlight sync --list",
		Args:    args(0, -1, "camera reels"),
		RunE: func(cmd *cobra.Command, a []string) error {
			opt.Pictures = a
			if list && (len(a) > 0 || opt.Sound != "") {
				return wrong(cmd, fmt.Errorf("--list lists all that was lined up: it wants no reel"))
			}
			if list {
				return c.reading(cmd.Context(), func(d *desk.Desk) error {
					s, err := d.Syncs(cmd.Context())
					if err != nil {
						return err
					}
					return c.saySynced(s)
				})
			}
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				s, err := d.Sync(cmd.Context(), opt)
				if err != nil {
					return err
				}
				return c.saySynced(s)
			})
		},
	}
	cmd.Flags().StringVar(&opt.Sound, "with", "", "the sound reel it belongs to")
	cmd.Flags().BoolVar(&list, "list", false, "list what was lined up before")
	return cmd
}

func (c *call) saySynced(list []desk.Synced) error {
	return c.say(map[string]any{"syncs": list}, func() {
		if len(list) == 0 {
			c.printf("nothing was lined up yet\n")
		}
		for _, s := range list {
			c.printf("%s%s\n", s.Picture, wrap(s.What, columns-wide(s.Picture), "  ", plain))
			if s.Clock != nil {
				c.printf("%s\n%s\n", wrap(s.Clock.What, columns, "  ", plain), wrap(s.Clock.Do, columns, "  ", plain))
			}
		}
	})
}
