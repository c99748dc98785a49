package listen

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"rushlight/pkg/sound"
)

// TestSyncChild is the other process of BenchmarkSynchroniseHour: it lines up
// two files and prints how long that took, its largest memory, and the result.
func TestSyncChild(t *testing.T) {
	files := strings.Fields(os.Getenv("RUSHLIGHT_SYNC_FILES"))
	if len(files) != 2 {
		t.Skip("only for BenchmarkSynchroniseHour")
	}
	start := time.Now()
	s, err := Synchronise(context.Background(), syncFile(files[0]), syncFile(files[1]), SyncOptions{})
	took := time.Since(start)
	if err != nil {
		t.Fatal(err)
	}
	status, _ := os.ReadFile("/proc/self/status")
	_, peak, _ := strings.Cut(string(status), "VmHWM:")
	peak, _, _ = strings.Cut(peak, "kB")
	fmt.Printf("\nchild %f %s %v %.9f %.6f %.3f\n", took.Seconds(), strings.TrimSpace(peak), s.Found, s.Offset.Seconds(), s.DriftPPM, s.Confidence)
}

// Two files of an hour, 48 kHz, 24 bit, mono, from Debian's real voices and
// SoX, 37.2 s and 40 ppm apart, against reading both twice over: as bytes, and
// decoded by this project's reader. The bound is the project's: eight times
// reading both, 64 MiB. RUSHLIGHT_SLOW=1 only.
func BenchmarkSynchroniseHour(b *testing.B) {
	if !syncSlow {
		b.Skip("set RUSHLIGHT_SLOW=1")
	}
	if _, err := exec.LookPath("sox"); err != nil {
		b.Skip("sox not found: apt-get install sox")
	}
	dir := b.TempDir()
	fa, fb := syncHour(b, dir)
	for b.Loop() {
		start := time.Now()
		bytes, err := readPlain(fa, fb)
		if err != nil {
			b.Fatal(err)
		}
		plain := time.Since(start)
		before := processor()
		start = time.Now()
		for _, f := range []string{fa, fb} {
			if err := readDecoded(f); err != nil {
				b.Fatal(err)
			}
		}
		decoded := time.Since(start)
		reading := processor() - before
		cmd := exec.Command(os.Args[0], "-test.run=^TestSyncChild$", "-test.v")
		cmd.Env = append(os.Environ(), "RUSHLIGHT_SYNC_FILES="+fa+" "+fb)
		out, err := cmd.CombinedOutput()
		if err != nil {
			b.Fatalf("%v: %s", err, out)
		}
		var took, offset, ppm, confidence float64
		var kB int
		var found bool
		_, line, _ := strings.Cut(string(out), "\nchild ")
		if _, err := fmt.Sscan(line, &took, &kB, &found, &offset, &ppm, &confidence); err != nil {
			b.Fatalf("%v: %s", err, out)
		}
		user := cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
		b.Logf("%d MB read in %.2f s, decoded in %.2f s (%.2f s of processor); lined up in %.2f s (%.2f s of processor), peak %.1f MiB: %v, %.6f s, %.4f ppm, confidence %.2f",
			bytes>>20, plain.Seconds(), decoded.Seconds(), reading.Seconds(), took, user.Seconds(), float64(kB)/1024, found, offset, ppm, confidence)
		b.ReportMetric(took/plain.Seconds(), "x-cat")
		b.ReportMetric(took/decoded.Seconds(), "x-reading")
		b.ReportMetric(user.Seconds()/reading.Seconds(), "x-reading-cpu")
		b.ReportMetric(float64(kB)/1024, "peak-MiB")
		if !found || math.Abs(offset-37.2) > 0.001 || math.Abs(ppm-40) > 1 {
			b.Errorf("found %v, %.6f s, %.4f ppm, want 37.2 s, 40 ppm", found, offset, ppm)
		}
	}
}

// processor is the time this process has used.
func processor() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func syncHour(b *testing.B, dir string) (fa, fb string) {
	talk, minutes := filepath.Join(dir, "talk.wav"), 60
	clips := append(voices(b, "en", 1, 400), voices(b, "es", 1, 400)...)
	r := rand.New(rand.NewPCG(3, 3))
	f, err := os.Create(talk)
	if err != nil {
		b.Fatal(err)
	}
	w, err := sound.NewWriter(f, sound.WriterOptions{SampleRate: 8000, Channels: 1, Bits: 16})
	for range minutes {
		if err == nil {
			err = w.Write([][]float64{syncNoise(r, syncTalk(r, clips, 8000, 60), 40)})
		}
	}
	if err = errors.Join(err, w.Close(), f.Close()); err != nil {
		b.Fatal(err)
	}
	fa, fb = filepath.Join(dir, "a.wav"), filepath.Join(dir, "b.wav")
	for _, args := range [][]string{
		{"-D", talk, "-b", "24", "-r", "48000", fa, "reverb", "20"},
		{"-D", talk, "-b", "24", "-r", "48000", fb, "trim", "37.2", "speed", "0.9999600016", "reverb", "50"},
	} {
		if out, err := exec.Command("sox", args...).CombinedOutput(); err != nil {
			b.Skipf("sox %v: %v: %s", args, err, out)
		}
	}
	return fa, fb
}

func readPlain(files ...string) (n int64, err error) {
	buf := make([]byte, 1<<20)
	for _, name := range files {
		f, err := os.Open(name)
		if err != nil {
			return n, err
		}
		for {
			k, err := f.Read(buf)
			n += int64(k)
			if err != nil {
				break
			}
		}
		if err := f.Close(); err != nil {
			return n, err
		}
	}
	return n, nil
}

func readDecoded(name string) error {
	r, err := sound.Open(name)
	if err != nil {
		return err
	}
	for err == nil {
		_, err = r.Next()
	}
	if !errors.Is(err, io.EOF) {
		return err
	}
	return r.Close()
}
