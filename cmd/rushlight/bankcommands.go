package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
	"rushlight/pkg/timecode"
)

func newCommand(c *call) *cobra.Command {
	var film desk.NewOptions
	cmd := &cobra.Command{
		Use:     "new DIR",
		Short:   "Make an empty story bank",
		Example: "  rushlight new farbank --title 'The Far Bank' --rate 25",
		Args:    args(1, 1, "one folder, for example 'rushlight new farbank'"),
		RunE: func(cmd *cobra.Command, a []string) error {
			made, err := desk.New(cmd.Context(), a[0], c.options(), film)
			if err != nil {
				return err
			}
			return c.say(made, func() {
				c.printf("made the bank %s (%s frames/s)\n", oneLine(a[0]), made.Rate)
				for _, n := range made.Notes {
					c.printf("%s\n", wrap("note: "+n, columns, "", plain))
				}
				c.printf("next: cd %s; rushlight ingest RUSHES\n", oneLine(a[0]))
			})
		},
	}
	cmd.Flags().StringVar(&film.Title, "title", "", "the film's working title")
	cmd.Flags().StringVar(&film.Rate, "rate", "", "the film's frame rate: 25 (the usual), 23.976, 29.97df …")
	return cmd
}

func statusCommand(c *call) *cobra.Command {
	return &cobra.Command{
		Use:     "status",
		Short:   "Say what the bank holds and what is missing",
		Example: "  rushlight status",
		Args:    args(0, 0, "nothing more"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				s, err := d.Status(cmd.Context())
				if err != nil {
					return err
				}
				return c.say(s, func() { printStatus(c, s) })
			})
		},
	}
}

func printStatus(c *call, s desk.Status) {
	if s.Title != "" {
		c.printf("%s\n", c.strong(s.Title))
	}
	c.printf("bank      %s, %s frames/s, %s\n", oneLine(near(s.Bank)), s.Rate, many(s.Changes, "change", "changes"))
	c.printf("reels     %d, %d heard: %s of sound, %s of speech\n", s.Reels, s.Heard, short(s.Sound), short(s.Speech))
	c.printf("quotes    %d, %d tagged, %d strong\n", s.Quotes, s.Tagged, s.Strong)
	c.printf("themes    %d\n", s.Themes)
	c.printf("selects   %d\n", s.Selects)
	if len(s.Wordless) > 0 {
		c.printf("%s\n", labelled("no words", strings.Join(s.Wordless, ", ")))
	}
	if len(s.Missing) > 0 {
		c.printf("%s\n", labelled("missing", strings.Join(s.Missing, ", ")+": not where it was; 'rushlight relink FOLDER' finds it"))
	}
	if !s.UpToDate {
		c.printf("index     behind; the next search brings it up to date\n")
	}
}

// short prints seconds as a length for people.
func short(seconds float64) string { return timecode.FromSeconds(seconds).Short() }

// many says "1 change", "2 changes".
func many[N int | int64](n N, one, more string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, more)
}

func reelsCommand(c *call) *cobra.Command {
	return &cobra.Command{
		Use:     "reels",
		Short:   "List the recordings in shooting order",
		Example: "  rushlight reels",
		Args:    args(0, 0, "nothing more"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				list, err := d.Reels(cmd.Context())
				if err != nil {
					return err
				}
				return c.say(map[string]any{"reels": list}, func() {
					rows := [][]string{}
					for _, r := range list {
						sound, length := "words only", "–"
						if r.Channels > 0 {
							length = r.Duration.Short()
							sound = fmt.Sprintf("%d ch %s", r.Channels, r.Encoding)
						}
						if r.Missing {
							sound += " (missing)"
						}
						rows = append(rows, []string{r.Reel, r.Day, length, r.Start, fmt.Sprint(r.Quotes), sound})
					}
					c.table([]string{"reel", "day", "length", "start", "quotes", "sound"}, rows)
				})
			})
		},
	}
}

func speakersCommand(c *call) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "speakers",
		Short:   "List who speaks, or say who somebody really is",
		Example: "  rushlight speakers\n  rushlight speakers name 'Voice 1' 'Ines Corrigan' --reel D1-INT1",
		Args:    args(0, 0, "nothing, or the word name"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				list, err := d.Speakers(cmd.Context())
				if err != nil {
					return err
				}
				return c.say(map[string]any{"speakers": list}, func() {
					rows := [][]string{}
					for _, s := range list {
						rows = append(rows, []string{nameOr(s.Speaker), fmt.Sprint(s.Quotes), short(s.Seconds), strings.Join(s.Reels, " ")})
					}
					c.table([]string{"speaker", "quotes", "length", "reels"}, rows)
				})
			})
		},
	}
	var reel string
	name := &cobra.Command{
		Use:     "name FROM TO",
		Short:   "Give a speaker another name, in all reels or in one",
		Example: "  rushlight speakers name 'Voice 1' 'Ines Corrigan' --reel D1-INT1",
		Args:    args(2, 2, "the name as it stands and the name it should be"),
		RunE: func(cmd *cobra.Command, a []string) error {
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				n, err := d.SpeakerName(cmd.Context(), reel, a[0], a[1])
				if err != nil {
					return err
				}
				return c.say(map[string]any{"from": a[0], "to": a[1], "changed": n}, func() {
					in := "in who talks when" // no words yet
					if n > 0 {
						in = many(n, "quote", "quotes")
					}
					c.printf("%s is %s now: %s\n", a[0], a[1], in)
				})
			})
		},
	}
	name.Flags().StringVar(&reel, "reel", "", "in this reel only")
	cmd.AddCommand(name)
	return cmd
}

// nameOr is a speaker's name, or a dash for nobody known.
func nameOr(s string) string {
	if s == "" {
		return "–"
	}
	return s
}

func undoCommand(c *call) *cobra.Command {
	return &cobra.Command{
		Use:     "undo",
		Short:   "Take back the last change",
		Example: "  rushlight undo",
		Args:    args(0, 0, "nothing more"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return c.with(cmd.Context(), func(d *desk.Desk) error {
				e, err := d.Undo(cmd.Context())
				if err != nil {
					return err
				}
				return c.say(e, func() { c.printf("%s\n", e.Summary) })
			})
		},
	}
}

func historyCommand(c *call) *cobra.Command {
	var limit int
	cmd := &cobra.Command{
		Use:     "history",
		Short:   "List the changes, newest first",
		Example: "  rushlight history --limit 5",
		Args:    args(0, 0, "nothing more"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				list, err := d.History(cmd.Context(), limit)
				if err != nil {
					return err
				}
				return c.say(map[string]any{"history": list}, func() {
					rows := [][]string{}
					for _, e := range list {
						what := e.Summary
						if e.UndoneBy > 0 {
							what = fmt.Sprintf("(undone by %d) %s", e.UndoneBy, what)
						}
						rows = append(rows, []string{fmt.Sprint(e.Number), e.When.Local().Format("2006-01-02 15:04"), e.Who, e.Kind, what})
					}
					c.table([]string{"no", "when", "who", "kind", "what"}, rows)
				})
			})
		},
	}
	cmd.Flags().IntVar(&limit, "limit", 20, "how many at most; 0 for all")
	return cmd
}
