package main

import (
	"bytes"
	"cmp"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var codes = regexp.MustCompile(`\b[CDFGHJKMNPQRTVWXY]{6}\b`)

// pairCodes notes which code stands where another stood.
func pairCodes(renamed map[string]string, said, says string) {
	before, after := codes.FindAllString(said, -1), codes.FindAllString(says, -1)
	if len(before) != len(after) {
		return
	}
	for i, c := range before {
		renamed[c] = after[i]
	}
}

// TestReadmeTour runs every command of the README's console blocks, in order,
// from a folder that has the samples, and compares what it says with what the
// README says. With -update the README is rewritten.
func TestReadmeTour(t *testing.T) {
	readme := filepath.Join("..", "..", "README.md")
	text, err := os.ReadFile(readme)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	samples, err := filepath.Abs(filepath.Join("..", "..", "samples"))
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(samples, filepath.Join(dir, "samples")); err != nil {
		t.Fatal(err)
	}
	env := append(os.Environ(), "RUSHLIGHT_BANK=", "PATH="+filepath.Dir(build(t))+":"+os.Getenv("PATH"), "NO_COLOR=1", "RUSHLIGHT_WHO=joss")
	var got bytes.Buffer
	inside := false
	commands := 0
	// said is what the README says a command prints; codes that have changed
	// since are put in place of the old ones in later commands.
	var said, says string
	renamed := map[string]string{}
	for _, line := range strings.SplitAfter(string(text), "\n") {
		fence := strings.HasPrefix(line, "```")
		if inside && (fence || strings.HasPrefix(line, "$ ")) {
			pairCodes(renamed, said, says)
			said = ""
		}
		switch {
		case !inside:
			got.WriteString(line)
			inside = strings.TrimSpace(line) == "```console"
		case fence:
			got.WriteString(line)
			inside = false
		case strings.HasPrefix(line, "$ "):
			line = codes.ReplaceAllStringFunc(line, func(c string) string { return cmp.Or(renamed[c], c) })
			got.WriteString(line)
			cmd := exec.Command("sh", "-c", strings.TrimSpace(line[2:]))
			cmd.Dir, cmd.Env = dir, env
			out, err := cmd.CombinedOutput()
			if err != nil {
				t.Errorf("%s: %v\n%s", strings.TrimSpace(line), err, out)
			}
			says = string(out)
			got.WriteString(says)
			commands++
			if where, ok := strings.CutPrefix(strings.TrimSpace(line), "$ cd "); ok {
				dir = filepath.Join(dir, where)
			}
		default:
			said += line
		}
	}
	if commands < 10 {
		t.Fatalf("%d commands in the tour, want at least 10", commands)
	}
	if bytes.Equal(got.Bytes(), text) {
		return
	}
	if *update {
		if err := os.WriteFile(readme, got.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want := strings.Split(string(text), "\n")
	for i, line := range strings.Split(got.String(), "\n") {
		if i >= len(want) || line != want[i] {
			t.Fatalf("README.md:%d: the program says %q (go test ./cmd/rushlight -update rewrites it)", i+1, line)
		}
	}
	t.Fatal("the README has more lines than the program says")
}
