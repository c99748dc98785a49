package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
	"rushlight/pkg/story"
)

func listenCommand(c *call) *cobra.Command {
	var pauses int
	var quick, faults, levels, align bool
	cmd := &cobra.Command{
		Use:   "listen REEL|FILE | listen --faults PATH...",
		Short: "Show what was heard: levels, pauses, turns, talk shares",
		Long: `Show what was heard in a reel of the bank, or in a file before it is in one: the
level over time with who talks and where there are pauses, who has how much
of the talk, the longest pauses of one speaker and gaps between two, dead air
before and after, and what may be no speech.

With --faults, listen to a card before it leaves the place: clipping, hum,
rumble, dropouts, dead channels, opposite polarity, levels too low, each with
its place and what to do.`,
		Example: "  rushlight listen D2-INT2\n  rushlight listen rushes/day2/D2-INT2.wav --json\n  rushlight listen --faults card/\n  rushlight listen D2-INT2 --levels\n  rushlight listen D2-INT2 --align",
		Args:    args(1, -1, "one reel or file, or with --faults files and folders"),
		RunE: func(cmd *cobra.Command, a []string) error {
			if faults {
				return checkFaults(cmd, c, a)
			}
			if len(a) > 1 {
				return wrong(cmd, fmt.Errorf("%q is too much: want one reel or file; --faults takes several", a[1]))
			}
			if (align || levels) && desk.IsSoundFile(a[0]) {
				return wrong(cmd, fmt.Errorf("--align and --levels need a reel of the bank: ingest %s first", a[0]))
			}
			if align {
				return c.reading(cmd.Context(), func(d *desk.Desk) error {
					al, err := d.Alignment(cmd.Context(), a[0])
					if err != nil {
						return err
					}
					return c.say(al, func() { printAligned(c, al) })
				})
			}
			if levels {
				return c.reading(cmd.Context(), func(d *desk.Desk) error {
					l, err := d.Levels(cmd.Context(), a[0])
					if err != nil {
						return err
					}
					return c.say(l, func() { printLevels(c, l) })
				})
			}
			if desk.IsSoundFile(a[0]) {
				l, err := desk.ListenFile(cmd.Context(), a[0], quick, c.options())
				if err != nil {
					return err
				}
				return c.say(l, func() { printListened(c, l, pauses) })
			}
			if quick {
				return wrong(cmd, fmt.Errorf("--quick is for files; reels have been heard already"))
			}
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				l, err := d.Listen(cmd.Context(), a[0])
				if err != nil {
					return err
				}
				return c.say(l, func() { printListened(c, l, pauses) })
			})
		},
	}
	cmd.Flags().IntVar(&pauses, "pauses", 10, "how many of the longest pauses to list; -1 for all")
	cmd.Flags().BoolVar(&align, "align", false, "how surely in and out of each quote are known; the transcript's clock")
	cmd.Flags().BoolVar(&levels, "levels", false, "loudness and true peak of a reel and of each of its quotes")
	cmd.Flags().BoolVar(&faults, "faults", false, "say what is wrong with files or folders, for go or no-go on location")
	cmd.Flags().BoolVar(&quick, "quick", false, "a file by level alone: envelope and pauses, no voices")
	return cmd
}

func printListened(c *call, l desk.Listened, pauses int) {
	h, clock := l.Heard, l.Recording.Clock
	c.printf("%s  %s from %s, %s frames/s\n", c.strong(l.Recording.Reel), h.Duration.Short(), clock.In(0).Timecode, clock.Base)
	c.printf("noise floor %s, loudness %s, peak %s\n", level(h.FloorDBFS, "dBFS"), level(h.LoudnessLUFS, "LUFS"), level(h.PeakDBFS, "dBFS"))
	c.printf("\n")
	rows, step := l.Strip()
	for _, r := range rows {
		c.printf("%-12s%s\n", clock.In(r.In).Timecode, bars(r.Levels))
		c.printf("%-12s%s\n", "", strings.TrimRight(string(r.Who), " "))
	}
	c.printf("one column is %s s; - is a pause\n\n", trimZeros(fmt.Sprintf("%.2f", step.Seconds())))
	printTalk(c, l)
	printPauses(c, l, pauses)
	for _, n := range l.Notes {
		c.printf("%s\n", wrap("note: "+n, columns, "", plain))
	}
	for _, m := range l.Recording.Markers {
		c.printf("marker at %s: %s\n", clock.In(m.At).Timecode, nameOr(m.Label))
	}
	places := l.ClippedPlaces()
	for i, k := range places {
		if i == 10 {
			c.printf("… and %s more\n", many(len(places)-i, "clipped place", "clipped places"))
			break
		}
		c.printf("%s\n", wrap(fmt.Sprintf("clipped from %s to %s on %s: %s at full scale", clock.In(k.In).Timecode,
			clock.Out(k.Out).Timecode, k.Track, many(k.Samples, "sample", "samples")), columns, "", plain))
	}
}

func printAligned(c *call, al desk.Aligned) {
	rows := [][]string{}
	for i, q := range al.Quotes {
		look := ""
		if slices.Contains(al.Look, q.Code) {
			look = "look"
		}
		rows = append(rows, []string{
			string(q.Code), q.Clock.In(q.In).Timecode, string(q.InBy), q.Clock.Out(q.Out).Timecode, string(q.OutBy),
			fmt.Sprintf("%.0f", 100*al.Confidence[i]), look, q.Text,
		})
	}
	c.table([]string{"code", "in", "by", "out", "by", "sure", "", "text"}, rows)
	c.printf("\nedges: %d by word times, %d in heard pauses, %d by share of a cue, %d guessed\n%s to listen to\n",
		al.Edges[story.FromWords], al.Edges[story.FromPause], al.Edges[story.FromShare], al.Edges[story.FromGuess],
		many(len(al.Look), "quote", "quotes"))
	c.printf("%s\n", wrap(al.ClockNote, columns, "", plain))
}

func printLevels(c *call, l desk.Levels) {
	w := l.Whole
	c.printf("%s  integrated %s, range %.1f LU, true peak %s\n", c.strong(l.Reel), level(w.IntegratedLUFS, "LUFS"), w.RangeLU, level(w.TruePeakDBTP, "dBTP"))
	c.printf("highest momentary %s, short-term %s\n", level(w.MomentaryMaxLUFS, "LUFS"), level(w.ShortTermMaxLUFS, "LUFS"))
	if len(l.Quotes) == 0 {
		return
	}
	c.printf("\n")
	rows := [][]string{}
	for _, q := range l.Quotes {
		rows = append(rows, []string{
			string(q.Quote.Code), q.Quote.Clock.In(q.Quote.In).Timecode, level(q.IntegratedLUFS, "LUFS"), level(q.MomentaryMaxLUFS, "LUFS"),
			level(q.TruePeakDBTP, "dBTP"), q.Quote.Text,
		})
	}
	c.table([]string{"code", "in", "integrated", "momentary", "true peak", "text"}, rows)
}

func level(v float64, unit string) string {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return "none"
	}
	return strings.Replace(fmt.Sprintf("%.1f %s", v, unit), "-", "−", 1)
}

func trimZeros(s string) string { return strings.TrimSuffix(strings.TrimRight(s, "0"), ".") }

// bars draws levels of 0 to 8 with block elements.
func bars(levels []int) string {
	blocks := []rune(" ▁▂▃▄▅▆▇█")
	var b strings.Builder
	for _, v := range levels {
		b.WriteRune(blocks[v])
	}
	return strings.TrimRight(b.String(), " ")
}

func printTalk(c *call, l desk.Listened) {
	talk := story.TalkShares(l.Heard.Turns)
	if len(talk) == 0 && len(l.Heard.Speech) == 0 {
		c.printf("nobody speaks\n")
		return
	}
	if len(talk) == 0 {
		c.printf("%s of sound above the noise floor; voices were not told apart\n", many(len(l.Heard.Speech), "stretch", "stretches"))
		return
	}
	signs := l.Signs()
	rows := [][]string{}
	for _, t := range talk {
		rows = append(rows, []string{string(signs[t.Speaker]), nameOr(t.Speaker), t.Ticks.Short(), fmt.Sprintf("%.0f %%", 100*t.Share), strings.Repeat("▪", int(t.Share*30+0.5))})
	}
	c.table([]string{"", "speaker", "talk", "share", ""}, rows)
}

// printPauses lists the longest silences in the talk, says whether each is a
// pause of one person or a gap between two, and how much dead air is around it.
func printPauses(c *call, l desk.Listened, limit int) {
	count := map[string]int{}
	var air []string
	var list []desk.Silence
	for _, s := range l.Silences() {
		count[s.Kind]++
		switch {
		case len(l.Heard.Speech) == 0:
		case s.Kind == "lead":
			air = append(air, s.Length().Short()+" before the first word")
		case s.Kind == "tail":
			air = append(air, s.Length().Short()+" after the last")
		default:
			list = append(list, s)
		}
	}
	if len(list) > 0 {
		what := many(len(list), "pause", "pauses")
		if count["unknown"] < len(list) {
			what = many(count["pause"], "pause", "pauses") + " of one speaker, " + many(count["gap"], "gap", "gaps") + " between two"
		}
		shown := "the longest first"
		if limit >= 0 && len(list) > limit {
			shown = fmt.Sprintf("the %d longest", limit)
		}
		c.printf("\n%s, %s:\n", what, shown)
		slices.SortStableFunc(list, func(a, b desk.Silence) int { return cmp.Compare(b.Length(), a.Length()) })
		if limit >= 0 && len(list) > limit {
			list = list[:limit]
		}
		rows := [][]string{}
		for _, s := range list {
			rows = append(rows, []string{l.Recording.Clock.In(s.In).Timecode, l.Recording.Clock.Out(s.Out).Timecode, s.Length().Short(), whose(s)})
		}
		c.table([]string{"in", "out", "length", ""}, rows)
	}
	if len(air) > 0 {
		c.printf("dead air: %s\n", strings.Join(air, ", "))
	}
	printUnsure(c, l)
}

func whose(s desk.Silence) string {
	switch s.Kind {
	case "pause":
		return "pause of " + s.Before
	case "gap":
		return "gap: " + s.Before + ", then " + s.After
	}
	return ""
}

// printUnsure names stretches heard as speech that may be none.
func printUnsure(c *call, l desk.Listened) {
	const most = 5
	list := l.Unsure()
	for i, u := range list {
		if i == most {
			c.printf("… and %d more\n", len(list)-i)
			break
		}
		c.printf("perhaps no speech at %s, %s: sure %.0f %%\n", l.Recording.Clock.In(u.In).Timecode, u.Length().Short(), 100*u.Confidence)
	}
}
