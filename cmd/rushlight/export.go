package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
)

func exportCommand(c *call) *cobra.Command {
	var opt desk.ExportOptions
	var length string
	cmd := &cobra.Command{
		Use:   "export edl|otio|wav|paper|csv SELECTS | export roomtone REEL",
		Short: "Hand selects on to an editing room",
		Long: `Write selects as an edit decision list (edl), an OpenTimelineIO timeline (otio),
a 24-bit stringout with handles and short crossfades (wav), a paper edit to read
aloud from (paper, Markdown) or a table (csv); or the room tone of a reel, as
long as you want, from the stretches in which nobody speaks (roomtone).

Mind the level when you listen to a stringout: takes can differ much in level.`,
		Example: "  rushlight export edl opening -o opening.edl --handles 1s\n  rushlight export wav opening -o opening.wav\n  rushlight export wav opening -o opening.wav --level=-23\n  rushlight export paper opening -o -\n  rushlight export roomtone D2-TONE -o tone.wav --length 1:00",
		Args:    args(2, 2, "a form (edl, otio, wav, paper, csv, roomtone) and the name of selects or of a reel"),
		RunE: func(cmd *cobra.Command, a []string) error {
			opt.Form, opt.Selects, opt.Out.Stdout = a[0], a[1], c.out
			if cmd.Flags().Changed("level") && opt.Level == 0 {
				return wrong(cmd, fmt.Errorf("--level 0: want a loudness from -60 to -5 LUFS"))
			}
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				if opt.Form == "roomtone" {
					e, err := d.RoomTone(cmd.Context(), desk.RoomToneOptions{Reel: a[1], Length: length, Out: opt.Out})
					if err != nil {
						return err
					}
					return c.wrote(opt.Out.Path, e, e.Notes, e.Length().Short()+" of room tone")
				}
				e, err := d.Export(cmd.Context(), opt)
				if err != nil {
					return err
				}
				return c.wrote(e.File, e, e.Notes, fmt.Sprintf("%s, %s", many(e.Items, "item", "items"), e.Length().Short()))
			})
		},
	}
	f := cmd.Flags()
	outputFlags(cmd, &opt.Out)
	f.StringVar(&opt.Handles, "handles", "", "spare time before and after each piece (wav: 500ms, else none)")
	f.StringVar(&opt.Rate, "rate", "", "frame rate of the cut; that of most of its recordings if not given")
	f.StringVar(&opt.Start, "start", "", "timecode of the first frame (01:00:00:00)")
	f.StringVar(&opt.Gap, "gap", "", "silence between the pieces of a stringout")
	f.Float64Var(&opt.Level, "level", 0, "bring each piece of a stringout to this loudness in LUFS (-23)")
	f.StringVar(&length, "length", "1:00", "how much room tone")
	f.BoolVar(&opt.Split, "split", false, "edl: lists of 999 events at most, as old readers take: cut_1.edl, cut_2.edl")
	f.BoolVar(&opt.Video, "video", false, "edl, otio: cut picture too, of the camera that was lined up")
	return cmd
}

func outputFlags(cmd *cobra.Command, o *desk.Output) {
	cmd.Flags().StringVarP(&o.Path, "output", "o", "", "the file to write; - for the terminal")
	cmd.Flags().BoolVar(&o.Force, "force", false, "write over a file that is there")
}

// wrote says what was written: beside the data where the data went to stdout.
func (c *call) wrote(path string, v any, notes []string, what string) error {
	if c.json {
		beside := *c
		if path == "-" {
			beside.out = c.err
		}
		return beside.say(v, nil)
	}
	say := c.printf
	if path == "-" {
		say = c.notef
	}
	for _, n := range notes {
		say("%s\n", wrap("note: "+n, columns, "", plain))
	}
	if path != "-" {
		say("wrote %s: %s\n", oneLine(path), what)
	}
	return nil
}

func subtitlesCommand(c *call) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "subtitles",
		Short:   "Draft subtitles, check a file of them, take them over to a new cut",
		Example: "  rushlight subtitles draft D2-INT2 -o int2.srt\n  rushlight subtitles check int2.srt",
		Args:    args(1, 1, "draft, check or follow"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return wrong(cmd, fmt.Errorf("%q is none of draft, check, follow", a[0]))
		},
	}
	cmd.AddCommand(subtitlesDraft(c), subtitlesCheck(c), subtitlesFollow(c))
	return cmd
}

func limitFlags(cmd *cobra.Command, opt *desk.SubtitleOptions) {
	f := cmd.Flags()
	f.StringVar(&opt.Rate, "rate", "", "frame rate of the programme")
	f.StringVar(&opt.Language, "language", "", "language that picks the limits: en, de …")
	f.StringVar(&opt.Format, "format", "", "srt, vtt, ttml, ebuttd, stl, ass or docx, over what the name says")
	f.IntVar(&opt.LineLength, "line", 0, "most characters in a line (40)")
	f.Float64Var(&opt.Speed, "speed", 0, "most characters per second (17)")
	f.Int64Var(&opt.Gap, "gap", 0, "least frames between two cues (2)")
}

func subtitlesDraft(c *call) *cobra.Command {
	var opt desk.SubtitleOptions
	cmd := &cobra.Command{
		Use:   "draft REEL|SELECTS",
		Short: "Draft subtitles, timed to the heard speech",
		Long: `Draft subtitles of a reel or of selects: two lines at most, broken where the
sentence breaks, timed to the heard speech, within the limits of reading speed
and duration. The format is told by the name: .srt .vtt .ttml .stl .ass. A
draft is for a person to correct; what breaks a limit is listed.`,
		Example: "  rushlight subtitles draft D2-INT2 -o int2.srt\n  rushlight subtitles draft opening -o opening.stl --start 10:00:00:00",
		Args:    args(1, 1, "a reel or selects"),
		RunE: func(cmd *cobra.Command, a []string) error {
			opt.Of, opt.Out.Stdout = a[0], c.out
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				s, err := d.DraftSubtitles(cmd.Context(), opt)
				if err != nil {
					return err
				}
				var notes []string
				if len(s.Lost) > 0 {
					notes = append(notes, "not carried by this format: "+strings.Join(s.Lost, ", "))
				}
				for i, f := range s.Findings {
					if i == 4 && len(s.Findings) > 5 {
						notes = append(notes, fmt.Sprintf("and %d findings more: 'rushlight subtitles check FILE' lists them", len(s.Findings)-i))
						break
					}
					notes = append(notes, f.String())
				}
				return c.wrote(opt.Out.Path, s, notes, fmt.Sprintf("%s, %s", many(s.Cues, "cue", "cues"), many(len(s.Findings), "finding", "findings")))
			})
		},
	}
	outputFlags(cmd, &opt.Out)
	limitFlags(cmd, &opt)
	cmd.Flags().StringVar(&opt.Start, "start", "", "timecode of the programme's first frame; but for .stl, a clock goes on from it")
	return cmd
}

func subtitlesCheck(c *call) *cobra.Command {
	var opt desk.SubtitleOptions
	cmd := &cobra.Command{
		Use:     "check FILE",
		Short:   "List what breaks the limits",
		Example: "  rushlight subtitles check int2.srt --speed 15",
		Args:    args(1, 1, "one file of subtitles"),
		RunE: func(cmd *cobra.Command, a []string) error {
			s, err := desk.CheckSubtitles(a[0], opt)
			if err != nil {
				return err
			}
			err = c.say(s, func() {
				for _, l := range s.Lost {
					c.printf("%s\n", wrap("mended: "+l, columns, "", plain))
				}
				for _, n := range s.Notes {
					c.printf("%s\n", wrap("note: "+n, columns, "", plain))
				}
				for _, f := range s.Findings {
					c.printf("%s\n", wrap(fmt.Sprintf("%s: %s", f.Severity, f), columns, "", plain))
				}
				c.printf("%s, %s\n", many(s.Cues, "cue", "cues"), many(len(s.Findings), "finding", "findings"))
			})
			if err == nil && len(s.Findings) > 0 {
				err = errRefused
			}
			return err
		},
	}
	limitFlags(cmd, &opt)
	return cmd
}

func worksheetCommand(c *call) *cobra.Command {
	var out desk.Output
	cmd := &cobra.Command{
		Use:   "worksheet REEL",
		Short: "Write a text file to type the words of a recording into",
		Long: `Write a text file with one timed, labelled blank per stretch of speech. Type the
words in, in any text editor, and take the file in with 'rushlight ingest'. What
is known to be said stands there already, to be corrected.`,
		Example: "  rushlight worksheet D2-TONE -o D2-TONE.txt\n  rushlight ingest D2-TONE.txt",
		Args:    args(1, 1, "one reel"),
		RunE: func(cmd *cobra.Command, a []string) error {
			out.Stdout = c.out
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				s, err := d.Worksheet(cmd.Context(), a[0], out)
				if err != nil {
					return err
				}
				what := many(s.Blanks, "blank", "blanks")
				if s.Quotes > 0 {
					what += ", " + many(s.Quotes, "quote", "quotes")
				}
				return c.wrote(s.File, s, nil, what)
			})
		},
	}
	outputFlags(cmd, &out)
	return cmd
}
