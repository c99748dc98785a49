package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"rushlight/pkg/desk"
)

// exit is one row of the table of exit codes: it feeds the help, the README
// and the program itself.
type exit struct {
	code int
	text string
}

func exits() []exit {
	return []exit{
		{0, "done, also when a search finds nothing"},
		{1, "something was refused or failed, or a check found something"},
		{2, "wrong call: an unknown command, option, value or query"},
		{130, "stopped by Ctrl-C; the bank is whole, run it again to go on"},
	}
}

// errRefused ends a command with code 1 after it has said everything itself.
var errRefused = errors.New("refused")

// call is what every command needs to do its one call.
type call struct {
	terminal
	bank string
	json bool
	// banked tells that a bank was opened.
	banked bool
}

func (c *call) options() desk.Options {
	cwd, err := os.Getwd()
	if err != nil {
		cwd = "."
	}
	opt := desk.Options{Bank: c.bank, Start: cwd, Who: os.Getenv("RUSHLIGHT_WHO"), Thesauri: os.Getenv("RUSHLIGHT_THESAURI"), Now: time.Now}
	if opt.Bank == "" {
		opt.Bank = os.Getenv("RUSHLIGHT_BANK")
	}
	if c.shows() {
		opt.Progress = desk.NewMeter(c.err, time.Now)
	}
	return opt
}

// with opens the bank for a job that may change it.
func (c *call) with(ctx context.Context, job func(*desk.Desk) error) error {
	return c.opened(ctx, desk.Open, job)
}

// reading opens the bank for a job that only looks.
func (c *call) reading(ctx context.Context, job func(*desk.Desk) error) error {
	return c.opened(ctx, desk.OpenToRead, job)
}

func (c *call) opened(ctx context.Context, open func(context.Context, desk.Options) (*desk.Desk, error), job func(*desk.Desk) error) error {
	d, err := open(ctx, c.options())
	if err != nil {
		return err
	}
	c.banked = true
	err = job(d)
	if closeErr := d.Close(); err == nil {
		err = closeErr
	}
	return err
}

// say shows a value: as JSON, or as words by the function given.
func (c *call) say(v any, words func()) error {
	if !c.json {
		return c.inOne(words)
	}
	if long, ok := v.(interface{ WriteJSON(io.Writer) error }); ok {
		return long.WriteJSON(c.out)
	}
	enc := json.NewEncoder(c.out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	return enc.Encode(v)
}

// group is a row of commands in the order in which the work goes.
type group struct {
	title    string
	commands []named
}

// named is a command that is made when it is needed.
type named struct {
	name string
	make func(*call) *cobra.Command
}

func groups() []group {
	return []group{
		{"The bank", []named{
			{"new", newCommand},
			{"ingest", ingestCommand},
			{"status", statusCommand},
			{"reels", reelsCommand},
			{"speakers", speakersCommand},
			{"voices", voicesCommand},
			{"sync", syncCommand},
			{"relink", relinkCommand},
		}},
		{"What was said", []named{
			{"listen", listenCommand},
			{"worksheet", worksheetCommand},
			{"find", findCommand},
			{"show", showCommand},
			{"like", likeCommand},
			{"takes", takesCommand},
			{"themes", themesCommand},
			{"best", bestCommand},
		}},
		{"The edit", []named{
			{"tag", tagCommand},
			{"selects", selectsCommand},
			{"outline", outlineCommand},
			{"export", exportCommand},
			{"subtitles", subtitlesCommand},
			{"convert", convertCommand},
		}},
		{"Second thoughts", []named{{"history", historyCommand}, {"undo", undoCommand}}},
	}
}

// commandOf is the first argument that is no option of all commands.
func commandOf(arguments []string) string {
	for k := 0; k < len(arguments); k++ {
		switch a := arguments[k]; {
		case a == "--bank":
			k++
		case a != "--json" && !strings.HasPrefix(a, "--bank="):
			return a
		}
	}
	return ""
}

// root makes the program's command with all others under it or, where the
// arguments name one, with that one alone: the rest is of no use then.
func root(c *call, arguments ...string) *cobra.Command {
	groups, name := groups(), commandOf(arguments)
	only := func(n named) bool { return n.name == name }
	alone := slices.ContainsFunc(groups, func(g group) bool { return slices.ContainsFunc(g.commands, only) })
	cobra.EnableCommandSorting = false
	cmd := &cobra.Command{
		Use:   "rushlight",
		Short: "A story bank of interview recordings",
		Long: `Rushlight makes a story bank of interview recordings and their transcripts: it
hears where people speak, keeps every quote with its exact in and out, finds
what keeps coming back, and hands on selects, stringouts and subtitles. It
works offline and never changes a recording.`,
		Example:       "  rushlight new farbank\n  cd farbank\n  rushlight ingest ../rushes\n  rushlight find 'bell OR ring'",
		Version:       versionName(),
		SilenceErrors: true, SilenceUsage: true,
		Args: func(cmd *cobra.Command, a []string) error {
			if len(a) == 0 {
				return nil
			}
			return unknown(cmd, a[0])
		},
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	var codes strings.Builder
	for _, e := range exits() {
		fmt.Fprintf(&codes, "  %-4d %s\n", e.code, e.text)
	}
	wrapped := strings.ReplaceAll(cmd.UsageTemplate(), ".FlagUsages", fmt.Sprintf(".FlagUsagesWrapped %d", columns))
	cmd.SetUsageTemplate(wrapped + "{{if not .HasParent}}\nExit codes:\n" + codes.String() +
		"\nThe bank is the one named by --bank, else by RUSHLIGHT_BANK, else the nearest\nfolder upwards that holds one.\n{{end}}")
	cmd.PersistentFlags().StringVar(&c.bank, "bank", "", "the bank's folder")
	cmd.PersistentFlags().BoolVar(&c.json, "json", false, "print JSON")
	cmd.CompletionOptions.HiddenDefaultCmd = true
	cmd.SetOut(c.out)
	cmd.SetErr(c.err)
	cmd.SetIn(c.in)
	cmd.SetFlagErrorFunc(wrongOption)
	for _, g := range groups {
		cmd.AddGroup(&cobra.Group{ID: g.title, Title: g.title + ":"})
		for _, n := range g.commands {
			if alone && !only(n) {
				continue
			}
			sub := n.make(c)
			sub.GroupID = g.title
			cmd.AddCommand(sub)
		}
	}
	cmd.SetHelpCommand(&cobra.Command{
		Use: "help [COMMAND]", Short: "Explain a command", GroupID: groups[0].title,
		RunE: func(help *cobra.Command, a []string) error {
			sub, _, err := cmd.Find(a)
			if len(a) > 0 && (err != nil || sub == cmd) {
				return unknown(cmd, a[0])
			}
			return sub.Help()
		},
	})
	return cmd
}

// run carries out one call and gives its exit code.
func run(ctx context.Context, arguments []string, t terminal) int {
	c := &call{terminal: t}
	cmd := root(c, arguments...)
	cmd.SetArgs(arguments)
	err := cmd.ExecuteContext(ctx)
	if err == nil || errors.Is(err, errRefused) {
		if err != nil {
			return 1
		}
		return 0
	}
	c.json = c.json || wantsJSON(arguments)
	return c.fail(ctx, err)
}

// fail says what is wrong and gives the exit code.
func (c *call) fail(ctx context.Context, err error) int {
	code := 1
	what, hint := err.Error(), desk.Hint(err)
	switch {
	case ctx.Err() != nil && errors.Is(err, context.Canceled):
		code, what, hint = 130, "stopped", "the bank is whole; run the same command again to go on"
		if !c.banked {
			hint = "nothing was changed; run the same command again"
		}
	case errors.Is(err, desk.ErrUsage):
		code = 2
	}
	if c.json {
		enc := json.NewEncoder(c.err)
		enc.SetEscapeHTML(false)
		_ = enc.Encode(map[string]any{"error": what, "hint": hint, "code": code})
		return code
	}
	line := func(s string) string { return s }
	if isTerminal(c.err) {
		line = func(s string) string { return strings.TrimPrefix(wrap(s, columns, "  ", plain), "  ") }
	}
	c.notef("%s\n", line("error: "+what))
	if hint != "" {
		c.notef("%s\n", line("hint: "+hint))
	}
	return code
}
