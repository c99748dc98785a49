package main

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"
	"testing"
)

// Stopped where no bank is used, the program says nothing of a bank.
func TestInterruptWithoutBank(t *testing.T) {
	file := filepath.Join(t.TempDir(), "a.wav")
	if err := writeTone(file, 1, 48000); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var out, err bytes.Buffer
	code := run(ctx, []string{"listen", "--faults", file}, terminal{out: &out, err: &err})
	if code != 130 || strings.Contains(err.String(), "bank") || !strings.Contains(err.String(), "hint: nothing was changed") {
		t.Errorf("exit code %d, said %q", code, err.String())
	}
}
