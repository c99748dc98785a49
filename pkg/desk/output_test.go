//go:build unix

package desk

import (
	"os"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// TestOutputOntoPipe: a pipe is refused at once; to look into one would wait
// for whoever writes to it.
func TestOutputOntoPipe(t *testing.T) {
	pipe := filepath.Join(t.TempDir(), "pipe")
	if err := syscall.Mkfifo(pipe, 0o644); err != nil {
		t.Fatal(err)
	}
	done := make(chan error, 1)
	go func() { done <- Output{Path: pipe, Force: true}.check() }()
	select {
	case err := <-done:
		if err == nil || Hint(err) == "" {
			t.Errorf("got %v (hint %q), want a refusal with a hint", err, Hint(err))
		}
	case <-time.After(5 * time.Second):
		t.Error("waits for somebody to write into the pipe")
	}
	if err := (Output{Path: os.DevNull, Force: true}).check(); err == nil {
		t.Error("a device is written over")
	}
}

// TestOutputThroughLink: a link stays a link, and what it points to is
// written, in its own folder.
func TestOutputThroughLink(t *testing.T) {
	dir, elsewhere := t.TempDir(), t.TempDir()
	file, link := filepath.Join(elsewhere, "cut.edl"), filepath.Join(dir, "link.edl")
	if err := os.WriteFile(file, []byte("old"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(file, link); err != nil {
		t.Fatal(err)
	}
	err := Output{Path: link, Force: true}.writeFile(func(f *os.File) error { _, err := f.WriteString("new"); return err })
	if err != nil {
		t.Fatal(err)
	}
	info, err := os.Lstat(link)
	if err != nil || info.Mode()&os.ModeSymlink == 0 {
		t.Errorf("the link is %v now, %v", info.Mode(), err)
	}
	if b, _ := os.ReadFile(file); string(b) != "new" {
		t.Errorf("the file holds %q, want what was written", b)
	}
	if err := os.Remove(file); err != nil {
		t.Fatal(err)
	}
	if err := (Output{Path: link, Force: true}).check(); err == nil || Hint(err) == "" {
		t.Errorf("a link to nothing: got %v, want a refusal with a hint", err)
	}
}
