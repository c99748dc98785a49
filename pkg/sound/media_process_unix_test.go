//go:build unix

package sound

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"rushlight/pkg/timecode"
)

// long is a file that is far from decoded when the pipe is full: a minute of
// silence is 11 MB, a pipe holds 64 KB.
func long(t *testing.T) string {
	return encoded(t, "-f", "lavfi", "-i", "anullsrc=r=48000:cl=mono", "-t", "60", "-c:a", "flac", "-sample_fmt", "s16", "long.flac")
}

// gone waits until a process is no more, not even as a zombie.
func gone(t *testing.T, pid int) {
	t.Helper()
	for range 500 {
		if errors.Is(syscall.Kill(pid, 0), syscall.ESRCH) {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Errorf("process %d still there after 5 s", pid)
}

func started(t *testing.T, ctx context.Context, path string) (*media, int) {
	t.Helper()
	s, err := OpenMedia(ctx, path)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Next(); err != nil {
		t.Fatal(err)
	}
	m := s.(*media)
	return m, m.d.cmd.Process.Pid
}

// Neither the end of the context, nor Close, nor a seek leaves a process or a
// goroutine behind.
func TestMediaLeavesNothing(t *testing.T) {
	path := long(t)
	before := runtime.NumGoroutine()

	ctx, cancel := context.WithCancel(context.Background())
	m, pid := started(t, ctx, path)
	cancel()
	gone(t, pid)
	if _, err := m.Next(); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: got %v, want %v", err, context.Canceled)
	}
	if err := m.Close(); err != nil {
		t.Error(err)
	}
	if _, err := OpenMedia(ctx, path); !errors.Is(err, context.Canceled) {
		t.Errorf("open when cancelled: got %v", err)
	}
	if _, _, err := EssenceMedia(ctx, path); !errors.Is(err, context.Canceled) {
		t.Errorf("essence when cancelled: got %v", err)
	}

	m, pid = started(t, context.Background(), path)
	if err := m.SeekFrame(0); err != nil {
		t.Fatal(err)
	}
	if b, err := m.Next(); err != nil || b.Start != 0 {
		t.Fatalf("back at the start: got %d, %v", b.Start, err)
	}
	gone(t, pid)
	pid = m.d.cmd.Process.Pid
	for range 2 {
		if err := m.Close(); err != nil {
			t.Error(err)
		}
	}
	gone(t, pid)
	if _, err := m.Next(); !errors.Is(err, os.ErrClosed) {
		t.Errorf("after Close: got %v, want %v", err, os.ErrClosed)
	}

	for range 200 {
		if runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(10 * time.Millisecond)
	}
	t.Errorf("got %d goroutines, %d before", runtime.NumGoroutine(), before)
}

// A decoder that is shot gives what it had decoded, then an error.
func TestMediaDecoderDies(t *testing.T) {
	m, _ := started(t, context.Background(), long(t))
	defer m.Close()
	frames := int64(len(m.view[0]))
	if err := m.d.cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	var err error
	for err == nil {
		var b Block
		if b, err = m.Next(); err == nil {
			if b.Start != frames {
				t.Fatalf("got block at %d, want %d", b.Start, frames)
			}
			frames += int64(len(b.Samples[0]))
		}
	}
	var fe *FileError
	if !errors.Is(err, ErrTruncated) || !errors.As(err, &fe) || errors.Is(err, io.EOF) || !strings.Contains(err.Error(), "killed") {
		t.Errorf("got %v, want %v", err, ErrTruncated)
	}
	if info := m.Info(); !info.Unfinished || info.Frames < frames {
		t.Errorf("got unfinished %v, %d frames after %d", info.Unfinished, info.Frames, frames)
	}
}

// A stringout that is stopped while it reads a camera file leaves no process.
func TestMediaStringoutStops(t *testing.T) {
	path := long(t)
	ctx, cancel := context.WithCancel(context.Background())
	dir := t.TempDir()
	_, err := WriteStringout(ctx, filepath.Join(dir, "o.wav"), []Piece{{Path: path, In: 1000 * ms, Out: 59_000 * ms}}, StringoutOptions{
		Progress: func(done, _ timecode.Ticks) {
			if done > 1000*ms {
				cancel()
			}
		},
	})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("got %v, want %v", err, context.Canceled)
	}
	empty(t, dir)
	if runtime.GOOS == "linux" {
		all, err := filepath.Glob("/proc/[0-9]*/cmdline")
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range all {
			if b, err := os.ReadFile(p); err == nil && strings.Contains(string(b), path) {
				t.Errorf("still running: %q", b)
			}
		}
	}
}
