package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
	"rushlight/pkg/story"
)

func findCommand(c *call) *cobra.Command {
	var opt desk.FindOptions
	var all, first bool
	cmd := &cobra.Command{
		Use:   "find QUERY...",
		Short: "Search what was said",
		Long: `Search the quotes, best first. Words side by side are all wanted, in any form
of the word; OR, AND, NOT (or - before a word) and parentheses join them.
"In quotation marks" is word for word. bell* finds what starts so, bell~ what
is spelt nearly so. Case and accents don't matter. Fields narrow it down:

  speaker:ines  theme:bell  reel:D2-INT2  reel:D2*  day:D2  rating:>=4
  rating:none   strong:yes  has:note      language:en

A value with spaces stands in quotation marks: speaker:"ines corrigan".`,
		Example: "  rushlight find 'bell OR ring'\n  rushlight find '\"nobody rings a bridge\"' --around 2\n  rushlight find 'speaker:ines theme:bell rating:>=4' --json",
		Args:    args(1, -1, "a query, for example 'rushlight find bell'"),
		RunE: func(cmd *cobra.Command, a []string) error {
			opt.Query = strings.Join(a, " ")
			if opt.Offset < 0 || opt.Around < 0 {
				return wrong(cmd, fmt.Errorf("--skip and --around want 0 or more"))
			}
			if all {
				opt.Limit = -1
			}
			if first {
				return firstSaid(cmd, c, opt)
			}
			return find(cmd, c, opt)
		},
	}
	cmd.Flags().IntVar(&opt.Around, "around", 0, "show so many quotes before and after each hit")
	cmd.Flags().IntVar(&opt.Limit, "limit", 20, "how many hits to show")
	cmd.Flags().IntVar(&opt.Offset, "skip", 0, "how many of the best hits to skip")
	cmd.Flags().BoolVar(&all, "all", false, "show every hit")
	cmd.Flags().BoolVar(&opt.Wide, "wide", false, "look for words of the same meaning too")
	cmd.Flags().BoolVar(&opt.Loose, "loose", false, "count what is said around, where few have all the words")
	cmd.Flags().BoolVar(&opt.Fold, "fold", false, "put the tellings of one story under the best of them")
	cmd.Flags().BoolVar(&first, "first", false, "who said it first, speaker by speaker")
	return cmd
}

// find does one search and prints it.
func find(cmd *cobra.Command, c *call, opt desk.FindOptions) error {
	return desk.Find(cmd.Context(), c.options(), opt, func(f desk.Found) error {
		if f.Refreshed && f.Quotes > 0 && !c.json {
			c.notef("the index was brought up to date first\n")
		}
		if f.Stale && !c.json {
			c.notef("somebody else is writing the index: the last changes may be missing\n")
		}
		if len(f.Widened) > 0 && !c.json {
			c.notef("%s\n", wrap("also looked for: "+strings.Join(f.Widened, ", "), columns, "", plain))
		}
		if len(f.NotWidened) > 0 && !c.json {
			c.notef("%s\n", wrap("no words of the same meaning are known for: "+strings.Join(f.NotWidened, ", ")+
				"; for others than English they come from thesaurus files of an office program (th_*.dat and .idx): name their folder in RUSHLIGHT_THESAURI", columns, "", plain))
		}
		return c.say(f, func() { printFound(c, f) })
	})
}

// firstSaid finds who said something first and prints it.
func firstSaid(cmd *cobra.Command, c *call, opt desk.FindOptions) error {
	return c.reading(cmd.Context(), func(d *desk.Desk) error {
		list, err := d.FirstSaid(cmd.Context(), opt.Query, opt.Wide)
		if err != nil {
			return err
		}
		return c.say(map[string]any{"query": opt.Query, "first": list}, func() { printFirst(c, list, opt.Query) })
	})
}

func printFound(c *call, f desk.Found) {
	for i, h := range f.Hits {
		if i > 0 {
			c.printf("\n")
		}
		printHit(c, h)
		if f.Smoothed && len(h.Marks) == 0 {
			c.printf("  near: what was looked for is said around it\n")
		}
	}
	for _, n := range f.Near {
		if len(n.Spelt) > 0 {
			c.printf("nobody says %q; near it: %s\n", n.Word, strings.Join(n.Spelt, ", "))
		}
	}
	if f.Total == 0 {
		c.printf("nothing found in %s: %s\n", many(f.Quotes, "quote", "quotes"), f.Understood)
		if f.Loosens {
			c.printf("try --loose: it counts what is said around a quote\n")
		}
		return
	}
	if len(f.Hits) == 0 {
		c.printf("no more hits after the first %d\n", f.Total)
		return
	}
	c.printf("\n")
	last := f.Offset + len(f.Hits)
	folded := 0
	for _, h := range f.Hits {
		folded += len(h.Folded)
	}
	what := many(f.Total, "quote", "quotes")
	if folded > 0 {
		what += fmt.Sprintf(", %d of them told again", folded)
	}
	switch {
	case last+folded >= f.Total && f.Offset == 0:
		c.printf("%s\n", what)
	case last+folded >= f.Total:
		c.printf("%d to %d of %s\n", f.Offset+1, last, what)
	default:
		c.printf("%d to %d of %s (--skip %d for the next)\n", f.Offset+1, last, what, last)
	}
	printCounts(c, "speaker", f.Speakers)
	printCounts(c, "reel", f.Reels)
	printCounts(c, "theme", f.Themes)
}

func printCounts(c *call, what string, list []desk.Count) {
	if len(list) == 0 {
		return
	}
	parts := make([]string, 0, len(list))
	for i, n := range list {
		if i == 12 {
			parts = append(parts, fmt.Sprintf("and %d more", len(list)-i))
			break
		}
		parts = append(parts, fmt.Sprintf("%s %d", nameOr(n.Name), n.Count))
	}
	c.printf("%s\n", wrap(fmt.Sprintf("by %-8s %s", what, strings.Join(parts, ", ")), columns, "", plain))
}

// printHit prints a quote: its head line, then the words, then what is around.
func printHit(c *call, h desk.Hit) {
	for _, q := range h.Before {
		printNeighbour(c, q)
	}
	printHead(c, h.Quote)
	c.printf("%s\n", wrap(h.Quote.Text, columns, "  ", func(w word) string {
		return mark(c, w, h.Marks)
	}))
	if h.Quote.Note != "" {
		c.printf("%s\n", wrap("note: "+h.Quote.Note, columns, "  ", plain))
	}
	for _, q := range h.After {
		printNeighbour(c, q)
	}
	if n := len(h.Folded); n > 0 {
		c.printf("  told %s more: rushlight takes %s\n", times(n), h.Quote.Code)
	}
}

// times says "once", "2 times".
func times(n int) string {
	if n == 1 {
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// printHead prints "KRTWHC  D2-INT2  10:00:12:05  0:04.2  Ines Corrigan  bell".
func printHead(c *call, q story.Quote) {
	var tags []string
	for _, t := range q.Themes {
		tags = append(tags, "+"+t)
	}
	if q.Rating > 0 {
		tags = append(tags, fmt.Sprintf("rated %d", q.Rating))
	}
	head := fmt.Sprintf("  %s  %s  %s  %s", q.Reel, q.Clock.In(q.In).Timecode, q.Running().Short(), nameOr(q.Speaker))
	head = cutTo(head, columns-len(q.Code))
	c.printf("%s%s", c.strong(string(q.Code)), strings.TrimRight(head, " "))
	if tagged := "  " + strings.Join(tags, " "); len(tags) > 0 && len(q.Code)+wide(head)+wide(tagged) <= columns {
		c.printf("%s", tagged)
	} else if len(tags) > 0 {
		c.printf("\n%s", wrap(strings.Join(tags, " "), columns, "  ", plain))
	}
	c.printf("\n")
}

func printNeighbour(c *call, q story.Quote) {
	c.printf("%s\n", c.faint(wrap(nameOr(q.Speaker)+": "+q.Text, columns, "  · ", plain)))
}

// mark highlights the marked part of a word: in bold where that can be seen,
// else between angle quotation marks.
func mark(c *call, w word, marks []desk.Mark) string {
	var b strings.Builder
	at := w.start
	for _, m := range marks {
		from, to := max(m.Start, at), min(m.End, w.end)
		if from >= to {
			continue
		}
		b.WriteString(w.text[at-w.start : from-w.start])
		b.WriteString(c.strong(w.text[from-w.start : to-w.start]))
		at = to
	}
	b.WriteString(w.text[at-w.start:])
	return b.String()
}

func showCommand(c *call) *cobra.Command {
	var around int
	cmd := &cobra.Command{
		Use:     "show CODE...",
		Short:   "Show quotes in full, with what is said around them",
		Example: "  rushlight show KRTWHC --around 3",
		Args:    args(1, -1, "codes of quotes"),
		RunE: func(cmd *cobra.Command, a []string) error {
			codes, err := desk.ParseCodes(a)
			if err != nil {
				return err
			}
			return c.reading(cmd.Context(), func(d *desk.Desk) error {
				list, err := d.Show(cmd.Context(), codes, around)
				if err != nil {
					return err
				}
				return c.say(map[string]any{"hits": list}, func() {
					for i, h := range list {
						if i > 0 {
							c.printf("\n")
						}
						printHit(c, h)
						q := h.Quote
						c.printf("  in %s (%s), out %s (%s)\n", q.Clock.In(q.In).Timecode, by(q.InBy), q.Clock.Out(q.Out).Timecode, by(q.OutBy))
						for _, t := range h.Tags {
							c.printf("  +%s %s\n", t.Theme, setBy(t))
						}
						if p := h.Picture; p != nil {
							part := ""
							if p.Part {
								part = ", in part"
							}
							c.printf("  seen on %s, %s to %s%s\n", p.Reel, p.In.Timecode, p.Out.Timecode, part)
						}
					}
				})
			})
		},
	}
	cmd.Flags().IntVar(&around, "around", 1, "how many quotes before and after")
	return cmd
}

// setBy says who set a theme, when and how.
func setBy(t story.Tagging) string {
	what := "set by hand"
	if t.By == story.ByRule {
		what = "suggested by its rule, accepted"
	}
	if t.Who != "" {
		what += " by " + t.Who
	}
	if !t.When.IsZero() {
		what += ", " + t.When.Local().Format("2006-01-02 15:04")
	}
	return what
}

// by says how a time was found.
func by(p story.Precision) string {
	switch p {
	case story.FromWords:
		return "by word time"
	case story.FromPause:
		return "in a heard pause"
	case story.FromShare:
		return "by share of its cue"
	case story.FromGuess:
		return "a guess: listen to it"
	}
	return "not known how"
}
