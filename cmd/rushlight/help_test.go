package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/spf13/cobra"
)

// every walks all commands of the program.
func every(cmd *cobra.Command, visit func(*cobra.Command)) {
	for _, sub := range cmd.Commands() {
		if sub.Name() == "completion" || sub.Name() == "help" {
			continue
		}
		visit(sub)
		every(sub, visit)
	}
}

// TestHelp: every command has a line of help and an example that parses, and
// no help is wider than a terminal.
func TestHelp(t *testing.T) {
	every(root(&call{terminal: terminal{out: &bytes.Buffer{}, err: &bytes.Buffer{}}}), func(cmd *cobra.Command) {
		t.Run(cmd.CommandPath(), func(t *testing.T) {
			if cmd.Short == "" || cmd.Example == "" {
				t.Fatalf("short help %q, example %q: want both", cmd.Short, cmd.Example)
			}
			var help bytes.Buffer
			cmd.SetOut(&help)
			if err := cmd.Help(); err != nil {
				t.Fatal(err)
			}
			for _, line := range strings.Split(help.String(), "\n") {
				if wide(line) > columns {
					t.Errorf("%d columns: %s", wide(line), line)
				}
			}
			for _, line := range strings.Split(cmd.Example, "\n") {
				checkExample(t, cmd, strings.TrimSpace(line))
			}
		})
	})
}

// checkExample parses an example as a shell would and finds its command and
// options.
func checkExample(t *testing.T, cmd *cobra.Command, line string) {
	t.Helper()
	words := shellWords(line)
	if len(words) == 0 || words[0] != "rushlight" {
		t.Errorf("example doesn't call rushlight: %q", line)
		return
	}
	r := root(&call{terminal: terminal{out: &bytes.Buffer{}, err: &bytes.Buffer{}}})
	found, rest, err := r.Find(words[1:])
	if err != nil {
		t.Errorf("%q: %v", line, err)
		return
	}
	if found == r {
		t.Errorf("%q: no such command", line)
	}
	if err := found.ParseFlags(rest); err != nil {
		t.Errorf("%q: %v", line, err)
		return
	}
	if found.Args != nil {
		if err := found.Args(found, found.Flags().Args()); err != nil {
			t.Errorf("%q: %v", line, err)
		}
	}
}

var shellWord = regexp.MustCompile(`'[^']*'|"[^"]*"|[^\s'"]+`)

func shellWords(line string) []string {
	var out []string
	for _, w := range shellWord.FindAllString(line, -1) {
		out = append(out, strings.Trim(w, `'"`))
	}
	return out
}

// TestReadmeNamesEveryCommand: the README's table of commands and of exit
// codes is complete.
func TestReadmeNamesEveryCommand(t *testing.T) {
	b, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	readme := string(b)
	every(root(&call{}), func(cmd *cobra.Command) {
		want := "`" + strings.TrimPrefix(cmd.CommandPath(), "rushlight ")
		if !strings.Contains(readme, want) {
			t.Errorf("the README doesn't list %s`", want)
		}
	})
	for _, e := range exits() {
		if !strings.Contains(readme, e.text) {
			t.Errorf("the README doesn't say %q of exit code %d", e.text, e.code)
		}
	}
}

// TestCommandAlone: a call that names a command finds that one, wherever the
// options of all commands stand; any other call finds them all.
func TestCommandAlone(t *testing.T) {
	total := 0
	for _, g := range groups() {
		total += len(g.commands)
		for _, n := range g.commands {
			for _, before := range [][]string{nil, {"--json"}, {"--bank", "find"}, {"--bank=listen", "--json"}} {
				r := root(&call{}, append(before, n.name, "--help")...)
				if list := r.Commands(); len(list) != 1 || list[0].Name() != n.name {
					t.Errorf("%v %s: got %d commands, want that one alone", before, n.name, len(list))
				}
			}
		}
	}
	for _, arguments := range [][]string{nil, {"--help"}, {"help", "find"}, {"fnd", "find"}, {"--bank", "find"}, {"__complete", "find"}} {
		if list := root(&call{}, arguments...).Commands(); len(list) != total {
			t.Errorf("%v: got %d commands, want all %d", arguments, len(list), total)
		}
	}
}
