package listen

import (
	"context"
	"errors"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"testing"

	"rushlight/pkg/timecode"
)

// storeIn makes a store whose file goes to a folder of the test's own.
func storeIn(t *testing.T, channels, most int) (s *levelStore, folder string) {
	t.Helper()
	folder = t.TempDir()
	for _, name := range []string{"TMPDIR", "TMP"} { // of Unix, of Windows
		t.Setenv(name, folder)
	}
	return newLevelStore(channels, most), folder
}

// fillStore writes steps of levels that follow from channel and step.
func fillStore(s *levelStore, steps int) {
	for step := range steps {
		for c := range s.channels {
			s.channels[c].add(levelsOf(c, step))
		}
	}
}

func levelsOf(channel, step int) [bandCount]uint8 {
	n := uint32(step*31+channel) * 2654435761
	return [bandCount]uint8{uint8(n), uint8(n >> 8), uint8(n >> 16), uint8(n >> 24)}
}

// checkStore reads forward, backward and here and there.
func checkStore(t *testing.T, s *levelStore, steps int) {
	t.Helper()
	r := rand.New(rand.NewPCG(8, 8))
	for c := range s.channels {
		l := &s.channels[c]
		for i := range steps {
			for _, step := range []int{i, steps - 1 - i, r.IntN(steps)} {
				if got, want := *l.at(step), levelsOf(c, step); got != want {
					t.Fatalf("channel %d, step %d: got %v, want %v", c, step, got, want)
				}
			}
		}
	}
	if s.err != nil {
		t.Fatal(s.err)
	}
}

// What was put into a store comes out again, from memory and from the file, at
// lengths around the ends of pages.
func TestLevelStore(t *testing.T) {
	for _, c := range []struct{ channels, most, steps, held int }{
		{1, 100, 1, 1},
		{1, 100, 3 * pageSteps, 3},
		{1, 0, pageSteps - 1, 1},
		{1, 0, pageSteps, 1},
		{1, 0, pageSteps + 1, 1},
		{2, 5, 2 * pageSteps, 4},
		{2, 5, 2*pageSteps + 1, 2},
		{2, 5, 4 * pageSteps, 2},
		{3, 0, 9*pageSteps + 17, 3},
		{5, 20, 7 * pageSteps, 5},
	} {
		s, folder := storeIn(t, c.channels, c.most)
		fillStore(s, c.steps)
		checkStore(t, s, c.steps)
		if s.held != c.held {
			t.Errorf("%+v: %d pages in memory", c, s.held)
		}
		s.close()
		s.close()
		if left, _ := os.ReadDir(folder); len(left) > 0 {
			t.Errorf("%+v: left behind: %v", c, left)
		}
	}
}

// Where no file can be made or written, levels stay in memory; where it can't
// be read again, that is an error.
func TestLevelStoreWithoutFile(t *testing.T) {
	s, folder := storeIn(t, 2, 0)
	for _, name := range []string{"TMPDIR", "TMP"} {
		t.Setenv(name, filepath.Join(folder, "none"))
	}
	fillStore(s, 3*pageSteps+5)
	checkStore(t, s, 3*pageSteps+5)

	s, _ = storeIn(t, 1, 0)
	fillStore(s, 3*pageSteps)
	s.file.Close()
	fillStore(s, 2*pageSteps) // not written any more
	if got := *s.channels[0].at(3 * pageSteps); got != levelsOf(0, 0) {
		t.Errorf("after the file went: got %v, want %v", got, levelsOf(0, 0))
	}
	if got := *s.channels[0].at(0); got != [bandCount]uint8{} || !errors.Is(s.err, os.ErrClosed) {
		t.Errorf("unreadable: got %v and %v, want silence and %v", got, s.err, os.ErrClosed)
	}
}

// A recording is heard alike whether its levels lie in memory or in a file,
// and a hearing that is stopped leaves none.
func TestHearSetAside(t *testing.T) {
	for _, channels := range []int{1, 3} {
		want := hear(t, newMurmur(1000, channels, 400), Options{})
		s, folder := storeIn(t, channels, 0)
		got, err := hearWith(context.Background(), newMurmur(1000, channels, 400), Options{}, s)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%d channels: another answer from a file (%v)", channels, err)
		}
		if len(got.Turns) < 100 || speakers(got.Turns) != channels {
			t.Errorf("%d channels: %d turns of %d speakers", channels, len(got.Turns), speakers(got.Turns))
		}
		ctx, stop := context.WithCancel(context.Background())
		s = newLevelStore(channels, 0)
		_, err = hearWith(ctx, newMurmur(1000, channels, 400), Options{Progress: func(done timecode.Ticks) {
			if done > 300*timecode.Second {
				stop()
			}
		}}, s)
		if !errors.Is(err, context.Canceled) || s.channels[0].steps < pageSteps {
			t.Errorf("%d channels: stopped: %v after %d steps", channels, err, s.channels[0].steps)
		}
		left, _ := os.ReadDir(folder)
		if len(left) > 0 {
			t.Errorf("%d channels: left behind: %v", channels, left)
		}
	}
}

// On Unix nobody sees the file even while it is in use, so that a killed
// process leaves none either.
func TestLevelStoreUnseen(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("an open file can't be removed here")
	}
	s, folder := storeIn(t, 1, 0)
	defer s.close()
	fillStore(s, 2*pageSteps)
	if left, _ := os.ReadDir(folder); s.file == nil || len(left) > 0 {
		t.Errorf("file %v, in the folder: %v", s.file, left)
	}
}
