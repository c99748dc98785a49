package listen

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// The whole program lines up a shoot with nothing named: 12 recorder reels of
// 10 min, 4 cameras of 5 min of which two belong to none, 48 kHz, 24 bit, no
// timecode, against decoding all of it once. RUSHLIGHT_SLOW=1 only; with
// RUSHLIGHT_SHOOT the rushes are written to that folder and stay.
func BenchmarkSynchroniseShoot(b *testing.B) {
	if !syncSlow {
		b.Skip("set RUSHLIGHT_SLOW=1")
	}
	dir := b.TempDir()
	program, bank, rushes := filepath.Join(dir, "rushlight"), filepath.Join(dir, "bank"), filepath.Join(dir, "rushes")
	if named := os.Getenv("RUSHLIGHT_SHOOT"); named != "" {
		rushes = named
	}
	if err := os.MkdirAll(rushes, 0o755); err != nil {
		b.Fatal(err)
	}
	shoot := makeSyncShoot(b, rushes, 12, 4, 600)
	for _, args := range [][]string{{"go", "build", "-o", program, "rushlight/cmd/rushlight"}, {program, "new", bank}, {program, "--bank", bank, "ingest", rushes}} {
		if out, err := exec.Command(args[0], args[1:]...).CombinedOutput(); err != nil {
			b.Fatalf("%v: %v\n%s", args, err, out)
		}
	}
	for b.Loop() {
		start, before := time.Now(), processor()
		for _, f := range append(append([]string(nil), shoot.reels...), shoot.cameras...) {
			if err := readDecoded(f); err != nil {
				b.Fatal(err)
			}
		}
		reading, readingCPU := time.Since(start), processor()-before
		cmd := exec.Command(program, "--bank", bank, "sync", "--json")
		start = time.Now()
		out, kib, err := watched(cmd)
		took := time.Since(start)
		if err != nil {
			b.Fatalf("%v\n%s", err, out)
		}
		user := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
		b.Logf("decoded in %.2f s (%.2f s of processor); lined up in %.2f s (%.2f s of processor), peak %.1f MiB",
			reading.Seconds(), readingCPU.Seconds(), took.Seconds(), user.Seconds(), kib/1024)
		b.ReportMetric(took.Seconds()/reading.Seconds(), "x-reading")
		b.ReportMetric(user.Seconds()/readingCPU.Seconds(), "x-reading-cpu")
		b.ReportMetric(kib/1024, "peak-MiB")
		shoot.check(b, []byte(out))
	}
}

// check compares what the program says with how the cameras lie.
func (s syncShoot) check(b *testing.B, said []byte) {
	var list struct {
		Syncs []struct {
			Picture string
			Sync    *struct {
				Sound    string
				Offset   struct{ Seconds float64 }
				DriftPPM float64 `json:"drift_ppm"`
			}
		}
	}
	if err := json.Unmarshal(said, &list); err != nil {
		b.Fatal(err)
	}
	if len(list.Syncs) != len(s.cameras) {
		b.Errorf("%d results, want one for each of %d cameras", len(list.Syncs), len(s.cameras))
	}
	for i, got := range list.Syncs {
		switch {
		case i >= len(s.lies) && got.Sync != nil:
			b.Errorf("%s lies on %s, want none", got.Picture, got.Sync.Sound)
		case i >= len(s.lies):
		case got.Sync == nil:
			b.Errorf("%s lies on none, want %+v", got.Picture, s.lies[i])
		default:
			l := s.lies[i]
			name := strings.TrimSuffix(filepath.Base(s.reels[l.reel]), ".wav")
			if got.Sync.Sound != name || math.Abs(got.Sync.Offset.Seconds-l.offset) > 0.001 || math.Abs(got.Sync.DriftPPM-l.ppm) > 1 {
				b.Errorf("%s lies on %+v, want %+v", got.Picture, *got.Sync, l)
			}
		}
	}
}

// watched runs a command and gives what it said and the most memory that it was
// seen with, in KiB (proc_pid_status(5)).
func watched(cmd *exec.Cmd) (out string, kib float64, err error) {
	var said strings.Builder
	cmd.Stdout, cmd.Stderr = &said, os.Stderr
	if err := cmd.Start(); err != nil {
		return "", 0, err
	}
	done := make(chan error)
	go func() { done <- cmd.Wait() }()
	for {
		select {
		case err := <-done:
			return said.String(), kib, err
		case <-time.After(25 * time.Millisecond):
			status, _ := os.ReadFile(fmt.Sprintf("/proc/%d/status", cmd.Process.Pid))
			_, rest, _ := strings.Cut(string(status), "VmHWM:")
			var now float64
			if _, err := fmt.Sscan(rest, &now); err == nil {
				kib = max(kib, now)
			}
		}
	}
}
