package main

import (
	"flag"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the outputs that scripts compare with")

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"rushlight": main})
}

// TestScripts runs the real program as a user's terminal would; see
// testdata/script.
func TestScripts(t *testing.T) {
	samples, err := filepath.Abs(filepath.Join("..", "..", "samples"))
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		UpdateScripts:       *update,
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds:                scriptCommands(),
		Setup: func(e *testscript.Env) error {
			e.Setenv("SAMPLES", samples)
			e.Setenv("NO_COLOR", "1")
			e.Setenv("RUSHLIGHT_WHO", "joss")
			e.Setenv("HOME", e.WorkDir)
			return nil
		},
		Condition: func(cond string) (bool, error) {
			return cond == "root" && os.Geteuid() == 0, nil
		},
	})
}
