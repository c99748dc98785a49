package desk

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync/atomic"
	"testing"

	"rushlight/pkg/bank"
	"rushlight/pkg/sound"
	"rushlight/pkg/timecode"
)

// jobs is a Progress that keeps what was done and finds two calls at a time, or
// one that goes backwards.
type jobs struct {
	t     *testing.T
	names []string
	total int64
	last  int64
	begin func(job string)
	busy  atomic.Bool
}

func (j *jobs) call(f func()) {
	if j.busy.Swap(true) {
		j.t.Error("two calls at a time")
	}
	f()
	j.busy.Store(false)
}

func (j *jobs) Begin(job string, total int64) {
	j.call(func() {
		j.names, j.total, j.last = append(j.names, job), total, 0
		if j.begin != nil {
			j.begin(job)
		}
	})
}

func (j *jobs) Reached(done int64) {
	j.call(func() {
		if done < j.last || done > j.total {
			j.t.Errorf("%s: %d after %d, of %d", j.names[len(j.names)-1], done, j.last, j.total)
		}
		j.last = done
	})
}

func (j *jobs) End() {
	j.call(func() {
		if j.last != j.total && j.begin == nil {
			j.t.Errorf("%s: ended at %d of %d", j.names[len(j.names)-1], j.last, j.total)
		}
	})
}

// shoot is a bank with the sample's camera as CAM1, which starts 7.4 s before
// A (samples/README.md), B later in the same talk, W another talk, and CAM2 a
// camera of a third.
func shoot(t *testing.T) (d *Desk, rushes string) {
	t.Helper()
	samples, rushes := filepath.Join("..", "..", "samples"), t.TempDir()
	for name, p := range map[string]sound.Piece{
		"D2-A":    {Path: "day2/D2-INT2.wav", Out: 40 * timecode.Second},
		"D2-B":    {Path: "day2/D2-INT2.wav", In: 45 * timecode.Second, Out: 90 * timecode.Second},
		"D2-W":    {Path: "day2/D2-WALK.wav", Out: 40 * timecode.Second},
		"D2-CAM1": {Path: "day2/D2-CAM.wav", Out: 70 * timecode.Second},
		"D2-CAM2": {Path: "day1/D1-INT1.wav", Out: 60 * timecode.Second},
	} {
		p.Path = filepath.Join(samples, filepath.FromSlash(p.Path))
		if _, err := sound.WriteStringout(t.Context(), filepath.Join(rushes, name+".wav"), []sound.Piece{p}, sound.StringoutOptions{Bits: 16}); err != nil {
			t.Fatal(err)
		}
	}
	d = emptyBank(t)
	take(t, d, IngestOptions{Paths: []string{rushes}})
	for _, reel := range []string{"D2-A", "D2-B", "D2-W"} {
		signed(t, d, reel)
	}
	return d, rushes
}

// signed makes a reel one that a recorder has signed.
func signed(t *testing.T, d *Desk, reel string) {
	t.Helper()
	r, err := d.bank.Recording(t.Context(), reel)
	if err == nil {
		r.Originator = "recorder"
		_, err = d.change(t.Context(), "test", "test", func(tx *bank.Tx) error { return tx.PutRecording(r) })
	}
	if err != nil {
		t.Fatal(err)
	}
}

var shootCameras = []string{"D2-CAM1", "D2-CAM2"}

// laid is how the syncs say that reels lie: "D2-CAM1 on D2-A".
func laid(list []Synced) []string {
	var out []string
	for _, s := range list {
		if s.Sync != nil {
			out = append(out, s.Picture+" on "+s.Sync.Sound)
		}
	}
	slices.Sort(out)
	return out
}

// TestSyncHearsEachReelOnce: one job hears all reels, then each camera is lined
// up; other speeds are only tried for the one that belongs to none.
func TestSyncHearsEachReelOnce(t *testing.T) {
	d, _ := shoot(t)
	p := &jobs{t: t}
	d.opt.Progress = p
	got, err := d.Sync(t.Context(), SyncOptions{Pictures: shootCameras})
	if err != nil {
		t.Fatal(err)
	}
	if got, want := laid(got), []string{"D2-CAM1 on D2-A", "D2-CAM1 on D2-B"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	want := []string{"hearing 5 reels", "lining up D2-CAM1", "lining up D2-CAM2", "lining up D2-CAM2 at other speeds"}
	if !slices.Equal(p.names, want) {
		t.Errorf("jobs %q, want %q", p.names, want)
	}
}

// TestSyncStopped: what was lined up before somebody stopped it stays, of the
// rest nothing.
func TestSyncStopped(t *testing.T) {
	d, _ := shoot(t)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	d.opt.Progress = &jobs{t: t, begin: func(job string) {
		if job == "lining up D2-CAM2" {
			stop()
		}
	}}
	if _, err := d.Sync(ctx, SyncOptions{Pictures: shootCameras}); !errors.Is(err, context.Canceled) {
		t.Fatalf("got %v, want canceled", err)
	}
	got, err := d.Syncs(t.Context())
	if want := []string{"D2-CAM1 on D2-A", "D2-CAM1 on D2-B"}; err != nil || !slices.Equal(laid(got), want) {
		t.Errorf("got %q, %v, want %q", laid(got), err, want)
	}
}

// TestSyncGoesOnWithoutBrokenReels: a camera that was moved and a sound reel
// that is damaged since don't keep the others from being lined up, unless they
// were named.
func TestSyncGoesOnWithoutBrokenReels(t *testing.T) {
	d, rushes := shoot(t)
	if err := os.Remove(filepath.Join(rushes, "D2-CAM2.wav")); err != nil {
		t.Fatal(err)
	}
	write(t, filepath.Join(rushes, "D2-B.wav"), "no sound any more")
	got, err := d.Sync(t.Context(), SyncOptions{})
	if err != nil {
		t.Fatal(err)
	}
	said := map[string]string{}
	for _, s := range got {
		said[s.Picture] += s.What
	}
	if got, want := laid(got), []string{"D2-CAM1 on D2-A"}; !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
	if s := said["D2-CAM1"]; !strings.HasSuffix(s, "; can't be heard: D2-B") {
		t.Errorf("D2-CAM1 %s, want D2-B named", s)
	}
	if s := said["D2-CAM2"]; !strings.Contains(s, "is not where it was") {
		t.Errorf("D2-CAM2 %s, want it said that it was moved", s)
	}
	for _, opt := range []SyncOptions{{Pictures: shootCameras}, {Pictures: shootCameras[:1], Sound: "D2-B"}} {
		if _, err := d.Sync(t.Context(), opt); err == nil {
			t.Errorf("%v: want it refused", opt)
		}
	}
}

// TestSyncOfUnsignedReels: where no reel is signed by a recorder or has
// timecode, those are cameras whose names say so; without any, the user has to
// say.
func TestSyncOfUnsignedReels(t *testing.T) {
	d := emptyBank(t)
	rushes := t.TempDir()
	for i, name := range []string{"REC1", "REC2", "A-CAM"} {
		noise(t, filepath.Join(rushes, name+".wav"), 5+i)
	}
	take(t, d, IngestOptions{Paths: []string{filepath.Join(rushes, "REC1.wav"), filepath.Join(rushes, "REC2.wav")}})
	if got, err := d.Sync(t.Context(), SyncOptions{}); err == nil || !strings.Contains(err.Error(), "nothing tells which reels are a camera's") {
		t.Errorf("got %v, %v, want it refused", got, err)
	}
	take(t, d, IngestOptions{Paths: []string{rushes}})
	got, err := d.Sync(t.Context(), SyncOptions{})
	if want := []string{"A-CAM on REC1", "A-CAM on REC2"}; err != nil || !slices.Equal(laid(got), want) {
		t.Errorf("got %+v, %v, want %q: they hold one noise", got, err, want)
	}
}

// TestSyncLeavesOutOtherCameras: a camera that is named is lined up with the
// recorder's reels, not with another camera of the same moment, unless there
// are none or it is asked for.
func TestSyncLeavesOutOtherCameras(t *testing.T) {
	d, rushes := shoot(t)
	p := sound.Piece{Path: filepath.Join(rushes, "D2-CAM1.wav"), In: 20 * timecode.Second, Out: 50 * timecode.Second}
	if _, err := sound.WriteStringout(t.Context(), filepath.Join(rushes, "D2-CAM3.wav"), []sound.Piece{p}, sound.StringoutOptions{Bits: 16}); err != nil {
		t.Fatal(err)
	}
	take(t, d, IngestOptions{Paths: []string{rushes}})
	for _, c := range []struct {
		sound string
		want  []string
	}{{"", []string{"D2-CAM3 on D2-A"}}, {"D2-CAM1", []string{"D2-CAM3 on D2-CAM1"}}} {
		got, err := d.Sync(t.Context(), SyncOptions{Pictures: []string{"D2-CAM3"}, Sound: c.sound})
		if err != nil || !slices.Equal(laid(got), c.want) {
			t.Errorf("with %q: got %q, %v, want %q", c.sound, laid(got), err, c.want)
		}
	}
}

// TestSyncByTimecode: where timecode puts reels right nothing has to be heard
// from end to end; where it is wrong, all is heard and the difference told.
func TestSyncByTimecode(t *testing.T) {
	const hour = timecode.Hour
	for _, c := range []struct {
		name   string
		camera timecode.Ticks
		jobs   []string
		what   string
	}{
		{"right", 10*hour - 7400*timecode.Millisecond, []string{"comparing timecodes"}, "sure 100 %"},
		{"20 s wrong", 10*hour + 12600*timecode.Millisecond, []string{"comparing timecodes", "hearing 2 reels", "lining up D2-CAM1"}, "its timecode puts it 00:00:20"},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, _ := shoot(t)
			for reel, start := range map[string]timecode.Ticks{"D2-A": 10 * hour, "D2-CAM1": c.camera} {
				r, err := d.bank.Recording(t.Context(), reel)
				if err == nil {
					r.Clock.Start = start
					_, err = d.change(t.Context(), "test", "test", func(tx *bank.Tx) error { return tx.PutRecording(r) })
				}
				if err != nil {
					t.Fatal(err)
				}
			}
			p := &jobs{t: t}
			d.opt.Progress = p
			got, err := d.Sync(t.Context(), SyncOptions{Pictures: []string{"D2-CAM1"}, Sound: "D2-A"})
			if err != nil || !slices.Equal(laid(got), []string{"D2-CAM1 on D2-A"}) || !strings.Contains(got[0].What, c.what) {
				t.Fatalf("got %+v, %v, want %q", got, err, c.what)
			}
			if !slices.Equal(p.names, c.jobs) {
				t.Errorf("jobs %q, want %q", p.names, c.jobs)
			}
		})
	}
}
