package main

import (
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
)

// checkFaults listens to a card and says what is wrong; anything that should
// be heard again before the place is left makes exit code 1.
func checkFaults(cmd *cobra.Command, c *call, paths []string) error {
	checked, err := desk.Faults(cmd.Context(), paths, c.options())
	if err != nil {
		return err
	}
	var bad []string
	for _, f := range checked.Files {
		if f.Bad() {
			bad = append(bad, oneLine(filepath.Base(f.Path)))
		}
	}
	err = c.say(checked, func() {
		for _, f := range checked.Files {
			printFaults(c, f)
		}
		c.printf("%s, %s heard; ", many(len(checked.Files), "file", "files"), checked.Length().Short())
		if len(bad) == 0 {
			c.printf("nothing that stands in the way\n")
			return
		}
		c.printf("listen again to %s before you leave\n", many(len(bad), "file", "files"))
		if len(checked.Files) > 1 {
			c.printf("%s\n", wrap("again: "+strings.Join(bad, ", "), columns, "  ", plain))
		}
	})
	if err == nil && len(bad) > 0 {
		err = errRefused
	}
	return err
}

func printFaults(c *call, f desk.FileFaults) {
	c.printf("%s  %s\n", c.strong(oneLine(near(f.Path))), f.Recording.Duration.Short())
	if f.Problem != "" {
		c.printf("  stop  %s\n", strings.TrimSpace(wrap(f.Problem, columns, "        ", plain)))
		if f.Hint != "" {
			c.printf("%s\n", wrap(f.Hint, columns, "        ", plain))
		}
	}
	for _, n := range f.Notes {
		c.printf("  note  %s\n", strings.TrimSpace(wrap(n, columns, "        ", plain)))
	}
	if f.Problem == "" && len(f.Faults)+len(f.Notes) == 0 {
		c.printf("  nothing wrong\n")
	}
	told := map[string]bool{} // what to do is said once
	for _, x := range f.Faults {
		c.printf("  %-4s  %s  %s\n", x.Severity, f.Recording.Clock.In(x.In).Timecode, x.Kind)
		c.printf("%s\n", wrap(x.What, columns, "        ", plain))
		if !told[x.Do] {
			c.printf("%s\n", wrap(x.Do, columns, "        ", plain))
		}
		told[x.Do] = true
	}
}
