package main

import (
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
)

func convertCommand(c *call) *cobra.Command {
	var opt desk.ConvertOptions
	cmd := &cobra.Command{
		Use:   "convert FILE",
		Short: "Write timed text in another format, or with other times",
		Long: `Write a transcript or subtitles in another format, told by the new name, or with
other times. What was wrong in the file and was mended is listed, and what the
new format can't carry. It needs no bank.

--start says which timecode the programme's first frame has. Times that count
from it already stay; times that count from another whole hour are moved to it.
.stl has the timecode itself. All other formats have a clock, which shows the
same hours, minutes and seconds at the first frame and goes on in real time,
also at 23.976 and 29.97 frames/s, where timecode is slower.`,
		Example: "  rushlight convert talk.srt -o talk.vtt\n  rushlight convert film25.srt -o film24.srt --from-rate 25 --to-rate 23.976\n" +
			"  rushlight convert film.srt -o film.stl --from-rate 25 --start 10:00:00:00\n  rushlight convert late.ass -o late.srt --shift=-1.5",
		Args: args(1, 1, "one file"),
		RunE: func(cmd *cobra.Command, a []string) error {
			opt.In, opt.Out.Stdout = a[0], c.out
			d, err := desk.Convert(opt)
			if err != nil {
				return err
			}
			var notes []string
			for _, m := range d.Mended {
				notes = append(notes, "mended "+m)
			}
			notes = append(notes, d.Notes...)
			if len(d.Lost) > 0 {
				notes = append(notes, "not carried by this format: "+strings.Join(d.Lost, ", "))
			}
			return c.wrote(opt.Out.Path, d, notes, many(d.Cues, "cue", "cues")+", "+d.From+" to "+d.To)
		},
	}
	f := cmd.Flags()
	outputFlags(cmd, &opt.Out)
	f.StringVar(&opt.As, "as", "", "read the file as srt, vtt, ttml, stl, ass, text, json, csv, docx, odt or html")
	f.StringVar(&opt.Encoding, "encoding", "", "its character encoding, for example windows-1252")
	f.StringVar(&opt.Format, "format", "", "the new format, over what the name says; ebuttd for EBU-TT-D")
	f.StringVar(&opt.FromRate, "from-rate", "", "the frame rate the file was timed to")
	f.StringVar(&opt.ToRate, "to-rate", "", "the frame rate it shall fit: the same frames, shown faster or slower")
	f.StringVar(&opt.Shift, "shift", "", "add this to every time: 1.5, -0:02")
	f.StringVar(&opt.Stretch, "stretch", "", "multiply every time: 1.001, 25/24")
	f.StringVar(&opt.Start, "start", "", "timecode of the programme's first frame")
	f.StringVar(&opt.Language, "language", "", "language of the text, to be written into the file")
	return cmd
}
