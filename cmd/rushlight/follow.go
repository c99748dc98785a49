package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
)

// mostNotes is how many cues are named before the rest is counted.
const mostNotes = 20

func subtitlesFollow(c *call) *cobra.Command {
	var opt desk.FollowOptions
	cmd := &cobra.Command{
		Use:   "follow FILE --from SELECTS|REEL --to SELECTS",
		Short: "Take subtitles over to a changed cut, with the words as they are",
		Long: `Move subtitles that were corrected or translated to where their talk lies in
another cut; those of a whole reel, too. Cues whose talk is no longer there are
left out and listed, as is talk that has no subtitles yet. A cut that comes back
from the editing room is taken in with 'rushlight selects read'.`,
		Example: "  rushlight subtitles follow de.srt --from cut1 --to cut2 -o de2.srt",
		Args:    args(1, 1, "one file of subtitles"),
		RunE: func(cmd *cobra.Command, a []string) error {
			opt.File, opt.Out.Stdout = a[0], c.out
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				s, err := d.FollowSubtitles(cmd.Context(), opt)
				if err != nil {
					return err
				}
				notes := s.Notes
				if more := len(notes) - mostNotes; more > 1 {
					notes = append(slices.Clone(notes[:mostNotes]), fmt.Sprintf("and %d more; --json says them all", more))
				}
				if len(s.Lost) > 0 {
					notes = append(notes, "not carried by this format: "+strings.Join(s.Lost, ", "))
				}
				if len(s.Findings) > 0 {
					notes = append(notes, fmt.Sprintf("%s: 'rushlight subtitles check FILE' lists them", many(len(s.Findings), "finding", "findings")))
				}
				return c.wrote(opt.Out.Path, s, notes, fmt.Sprintf("%s; the file before has %d", many(s.Cues, "cue", "cues"), s.Before))
			})
		},
	}
	outputFlags(cmd, &opt.Out)
	limitFlags(cmd, &opt.SubtitleOptions)
	cmd.Flags().StringVar(&opt.From, "from", "", "the selects, or the reel, that the subtitles were made for")
	cmd.Flags().StringVar(&opt.To, "to", "", "the selects that they shall fit")
	cmd.Flags().StringVar(&opt.Start, "start", "", "timecode of the programme's first frame in the file")
	return cmd
}
