package main

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"
)

// build gives a path to the program: the test's own binary, which is the
// program where it is called rushlight (see TestMain).
func build(t *testing.T) string {
	t.Helper()
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	program := filepath.Join(t.TempDir(), "rushlight")
	if err := os.Symlink(self, program); err != nil {
		t.Fatal(err)
	}
	return program
}

// writeTone writes a mono 16-bit WAV: half a second of tone in each second.
func writeTone(path string, seconds float64, rate int) error {
	n := int(seconds * float64(rate))
	var b bytes.Buffer
	b.WriteString("RIFF")
	for _, v := range []any{
		uint32(36 + 2*n), [8]byte([]byte("WAVEfmt ")), uint32(16),
		[2]uint16{1, 1},
		[2]uint32{uint32(rate), uint32(2 * rate)},
		[2]uint16{2, 16},
		[4]byte([]byte("data")), uint32(2 * n),
	} {
		if err := binary.Write(&b, binary.LittleEndian, v); err != nil {
			return err
		}
	}
	samples := make([]int16, n)
	for i := range samples {
		if i%rate < rate/2 {
			samples[i] = int16(8000 * math.Sin(2*math.Pi*440*float64(i)/float64(rate)))
		}
	}
	if err := binary.Write(&b, binary.LittleEndian, samples); err != nil {
		return err
	}
	return os.WriteFile(path, b.Bytes(), 0o644)
}

// rushes makes a bank and a folder of tones of different lengths.
func rushes(t *testing.T, program string, files int, seconds float64) (bank, folder string) {
	t.Helper()
	dir := t.TempDir()
	folder, bank = filepath.Join(dir, "rushes"), filepath.Join(dir, "bank")
	if err := os.Mkdir(folder, 0o755); err != nil {
		t.Fatal(err)
	}
	for i := range files {
		if err := writeTone(filepath.Join(folder, string(rune('a'+i))+".wav"), seconds+float64(i), 48000); err != nil {
			t.Fatal(err)
		}
	}
	if out, err := exec.Command(program, "new", bank).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	return bank, folder
}

// stopAfterFirst starts an ingest and sends a signal once one file is in.
func stopAfterFirst(t *testing.T, program, bank, folder string, sig os.Signal) (code int, stderr string) {
	t.Helper()
	cmd := exec.Command(program, "--bank", bank, "ingest", folder)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var messages bytes.Buffer
	cmd.Stderr = &messages
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	if !lines.Scan() {
		t.Fatal("ingest said nothing")
	}
	time.Sleep(20 * time.Millisecond) // into the next file
	if err := cmd.Process.Signal(sig); err != nil {
		t.Fatal(err)
	}
	for lines.Scan() {
		if strings.Contains(lines.Text(), " in the bank") {
			t.Fatal("the run ended before it could be stopped")
		}
	}
	err = cmd.Wait()
	var exit *exec.ExitError
	if !errors.As(err, &exit) {
		t.Fatalf("stopped run ended with %v", err)
	}
	return exit.ExitCode(), messages.String()
}

// TestInterrupt: Ctrl-C, and a kill that nothing can catch, leave a bank that
// opens; the next run goes on where it stopped.
func TestInterrupt(t *testing.T) {
	if testing.Short() {
		t.Skip("takes seconds: run without -short")
	}
	program := build(t)
	for _, c := range []struct {
		name string
		sig  os.Signal
		code int
	}{{"Ctrl-C", os.Interrupt, 130}, {"kill -9", syscall.SIGKILL, -1}} {
		t.Run(c.name, func(t *testing.T) {
			bank, folder := rushes(t, program, 4, 120)
			code, stderr := stopAfterFirst(t, program, bank, folder, c.sig)
			if code != c.code {
				t.Errorf("exit code %d, want %d", code, c.code)
			}
			if c.code == 130 && !strings.Contains(stderr, "hint: the bank is whole") {
				t.Errorf("said %q", stderr)
			}
			out, err := exec.Command(program, "--bank", bank, "ingest", folder).CombinedOutput()
			if err != nil {
				t.Fatalf("second run: %v\n%s", err, out)
			}
			text := string(out)
			if !strings.Contains(text, "unchanged  ") || !strings.Contains(text, "d.wav") {
				t.Errorf("the second run did not go on:\n%s", text)
			}
			if n := strings.Count(text, "unchanged  ") + strings.Count(text, "new  "); n != 4 {
				t.Errorf("%d files told of, want 4:\n%s", n, text)
			}
			entries, err := os.ReadDir(bank)
			if err != nil {
				t.Fatal(err)
			}
			for _, e := range entries {
				if e.Name() != "bank.db" && e.Name() != "index" {
					t.Errorf("left behind in the bank: %s", e.Name())
				}
			}
		})
	}
}

// TestFullDisk: on a disk without room one line says so and what was in the
// bank is still there. Needs the right to mount a small disk (root).
func TestFullDisk(t *testing.T) {
	program := build(t)
	disk := t.TempDir()
	if err := exec.Command("mount", "-t", "tmpfs", "-o", "size=600k", "rushlight-test", disk).Run(); err != nil {
		t.Skip("can't mount a small disk: needs root")
	}
	defer exec.Command("umount", "-l", disk).Run()
	bank := filepath.Join(disk, "bank")
	srt := filepath.Join(t.TempDir(), "a.srt")
	if err := os.WriteFile(srt, []byte("1\n00:00:00,000 --> 00:00:01,000\nThe bell.\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"new", bank}, {"--bank", bank, "ingest", srt}} {
		if out, err := exec.Command(program, args...).CombinedOutput(); err != nil {
			t.Fatalf("%v: %v\n%s", args, err, out)
		}
	}
	long := filepath.Join(t.TempDir(), "long.srt")
	var b strings.Builder
	for i := range 5000 {
		at := time.Duration(i) * 3 * time.Second
		stamp := func(d time.Duration) string {
			return time.Unix(0, 0).UTC().Add(d).Format("15:04:05") + ",000"
		}
		b.WriteString("1\n" + stamp(at) + " --> " + stamp(at+2*time.Second) + "\nSomebody rings number " + stamp(at) + ", and I go.\n\n")
	}
	if err := os.WriteFile(long, []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(program, "--bank", bank, "ingest", long).CombinedOutput()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 1 {
		t.Fatalf("ended with %v, want exit code 1\n%s", err, out)
	}
	if !strings.Contains(string(out), "disk is full") || !strings.Contains(string(out), "hint: make room") {
		t.Errorf("said:\n%s", out)
	}
	out, err = exec.Command(program, "--bank", bank, "show", "--json", "--around", "0", firstCode(t, program, bank)).CombinedOutput()
	if err != nil || !strings.Contains(string(out), "The bell.") {
		t.Errorf("what was in the bank is gone: %v\n%s", err, out)
	}
}

func firstCode(t *testing.T, program, bank string) string {
	t.Helper()
	out, err := exec.Command(program, "--bank", bank, "find", "bell").Output()
	if err != nil {
		t.Fatalf("find on a full disk: %v", err)
	}
	code, _, _ := strings.Cut(string(out), " ")
	return code
}

// TestWithoutFFmpeg: a camera file on a machine without ffmpeg is refused with
// one line that says what is missing and how to get it.
func TestWithoutFFmpeg(t *testing.T) {
	film := filepath.Join(t.TempDir(), "clip.mov")
	if err := os.WriteFile(film, []byte("\x00\x00\x00\x14ftypqt  \x00\x00\x02\x00qt  "), 0o644); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(build(t), "listen", "--faults", film)
	cmd.Env = append(os.Environ(), "PATH=")
	out, err := cmd.CombinedOutput()
	var exit *exec.ExitError
	if !errors.As(err, &exit) || exit.ExitCode() != 1 {
		t.Errorf("ended with %v, want exit code 1", err)
	}
	if !strings.Contains(string(out), "ffmpeg") || !strings.Contains(string(out), "apt-get install ffmpeg") {
		t.Errorf("said:\n%s", out)
	}
}
