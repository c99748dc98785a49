package listen

import (
	"context"
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"sync/atomic"
	"testing"

	"rushlight/pkg/sound"
)

// counted counts openings and samples read over all readers of a recording.
type counted struct {
	SyncRecording
	opened, read *atomic.Int64
	samples      int64
}

func countRecording(name string, rate int, x []float64) counted {
	c := counted{opened: new(atomic.Int64), read: new(atomic.Int64), samples: int64(len(x))}
	c.SyncRecording = SyncRecording{Name: name, Open: func() (SyncReader, error) {
		c.opened.Add(1)
		return countingAll{counting{syncScene{newScene(rate, x)}, new(int)}, c.read}, nil
	}}
	return c
}

// countingAll adds to one count for all readers.
type countingAll struct {
	counting
	all *atomic.Int64
}

func (c countingAll) Next() (b sound.Block, err error) {
	before := *c.n
	b, err = c.counting.Next()
	c.all.Add(int64(*c.n - before))
	return b, err
}

// A shoot of strangers, but for one pair: each recording is heard from end to
// end once, at five speeds and against all others, and hardly opened again. The
// pair is found where it lies.
func TestLineupHearsOnce(t *testing.T) {
	const rate, reels = 8000, 6
	r := rand.New(rand.NewPCG(92, 1))
	var clips []clip
	for _, l := range []string{"en", "es"} {
		clips = append(clips, syncVoices(t, l)...)
	}
	r.Shuffle(len(clips), func(i, j int) { clips[i], clips[j] = clips[j], clips[i] })
	own := func(k int) []clip { return clips[k*len(clips)/(reels+2) : (k+1)*len(clips)/(reels+2)] }
	p := makeSyncPair(r, own(0), 120, 30, 40)
	sounds := []counted{countRecording("R0", rate, syncNoise(r, p.a, 20))}
	for i := 1; i < reels; i++ {
		sounds = append(sounds, countRecording(fmt.Sprint("R", i), rate, syncNoise(r, syncTalk(r, own(i), rate, 120), 20)))
	}
	cameras := []counted{
		countRecording("CAM0", rate, syncNoise(r, p.b[:60*rate], 10)),
		countRecording("CAM1", rate, syncNoise(r, syncTalk(r, own(reels), rate, 60), 10)),
		countRecording("CAM2", rate, syncNoise(r, syncTalk(r, own(reels+1), rate, 60), 10)),
	}
	var l Lineup
	defer l.Close()
	for k, c := range cameras {
		for i, s := range sounds {
			got, err := l.Synchronise(t.Context(), s.SyncRecording, c.SyncRecording, SyncOptions{Speeds: true})
			if err != nil {
				t.Fatal(err)
			}
			if want := k == 0 && i == 0; got.Found != want {
				t.Errorf("%s and %s: found %v, want %v", s.Name, c.Name, got.Found, want)
			}
			if got.Found {
				wantSync(t, p, got, 1, 3)
			}
		}
	}
	pairs, opened, read, length := int64(len(cameras)*len(sounds)), int64(0), int64(0), int64(0)
	for _, c := range slices.Concat(sounds, cameras) {
		opened, read, length = opened+c.opened.Load(), read+c.read.Load(), length+c.samples
	}
	t.Logf("%d pairs: %d openings, %.2f of the length read", pairs, opened, float64(read)/float64(length))
	// One after the other each pair reads both, and opens both at each speed: 180
	// openings, 4.5 times the length and what is tried.
	if most := 2 * length; read > most {
		t.Errorf("%d samples read of %d, want at most %d", read, length, most)
	}
	if most := pairs * 2; opened > most {
		t.Errorf("opened %d times, want at most %d", opened, most)
	}
}

// Nothing that a closer look would have found in the right place is passed over
// because its levels agree too little: pairs with 2.5 to 60 s in common at 20 to
// −5 dB, where the camera or the recorder rolls on with other talk.
func TestWorthLosesNothing(t *testing.T) {
	pairs, longest := 6, 100.0
	if syncSlow {
		pairs, longest = 150, 300
	}
	clips := slices.Concat(syncVoices(t, "en"), syncVoices(t, "es"))
	places, worth, found := 0, 0, 0
	for i := range pairs {
		r := rand.New(rand.NewPCG(501, uint64(i)))
		seconds := 60 + (longest-60)*r.Float64()
		common := []float64{2.5, 4, 6, 10, 20, 60}[i%6]
		snr := []float64{-5, 0, 5, 10, 20}[r.IntN(5)]
		p := makeSyncPair(r, clips, seconds, seconds-common, 300*r.Float64()-150)
		b := append(slices.Clone(p.b), syncTalk(r, clips, p.rate, 20+100*r.Float64())...)
		var l Lineup
		ra := SyncRecording{"a", syncFrom(p.rate, syncNoise(r, p.a, snr))}
		rb := SyncRecording{"b", syncFrom(p.rate, syncNoise(r, b, snr))}
		err := l.places(t.Context(), ra, rb, func(m *matcher, g guess) error {
			got, err := m.try(context.Background(), g)
			places++
			if m.worth(g) {
				worth++
			}
			if !got.found || math.Abs(got.line.offset-p.offset) > 0.01 {
				return err
			}
			found++
			if !m.worth(g) {
				t.Errorf("pair %d, %.1f s in common at %.0f dB: height %.1f passed over", i, common, snr, g.height)
			}
			return err
		})
		if err = errors.Join(err, l.Close()); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d of %d places worth a look, %d right ones", worth, places, found)
	if found == 0 || worth > places/2 {
		t.Errorf("%d right places found, %d of %d looked at, want some and at most half", found, worth, places)
	}
}

// The same for short clips that lie in a long recording as a whole, and such
// a clip's strangers are hardly looked at: it has up to 24 likeliest places.
func TestWorthOfShortClips(t *testing.T) {
	clips, pairs := slices.Concat(syncVoices(t, "en"), syncVoices(t, "es")), 10
	if syncSlow {
		pairs = 140
	}
	found, strange := 0, 0
	for i := range pairs {
		r := rand.New(rand.NewPCG(777, uint64(i)))
		p := makeSyncPair(r, clips, 200, 5, 0)
		from := int(150*r.Float64()) * p.rate
		length := int([]float64{2.5, 4, 6, 8, 15}[i%5] * float64(p.rate))
		snr := []float64{10, 3}[i/5%2]
		ra := SyncRecording{"a", syncFrom(p.rate, syncNoise(r, p.a, snr))}
		rb := SyncRecording{"b", syncFrom(p.rate, syncNoise(r, p.b[from:from+length], snr))}
		var l Lineup
		err := l.places(t.Context(), ra, rb, func(m *matcher, g guess) error {
			if math.Abs(g.apart-5-float64(from)/float64(p.rate)) > 0.1 {
				if m.worth(g) && i%5 >= 2 {
					strange++
				}
				return nil
			}
			got, err := m.try(t.Context(), g)
			if got.found {
				found++
				if !m.worth(g) {
					t.Errorf("pair %d, %.1f s at %.0f dB: height %.1f passed over", i, float64(length)/float64(p.rate), snr, g.height)
				}
			}
			return err
		})
		if err = errors.Join(err, l.Close()); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d of %d found; of clips of 6 s and more %d wrong places worth a look", found, pairs, strange)
	if most := 4 * pairs * 3 / 5; found < pairs/2 || strange > most { // four a clip
		t.Errorf("%d of %d found, %d wrong places, want half of them and at most %d", found, pairs, strange, most)
	}
}

// packed is a recording that a decoder unpacks: to seek starts it anew.
type packed struct {
	SyncReader
	seeks *int
}

func (p packed) Info() sound.Info {
	info := p.SyncReader.Info()
	info.Codec = "aac"
	return info
}

func (p packed) SeekFrame(frame int64) error {
	*p.seeks++
	return p.SyncReader.SeekFrame(frame)
}

// A packed recording is read on from window to window, not sought: the
// windows of each pass lie in order.
func TestSynchronisePacked(t *testing.T) {
	p, a, b := talkPair(t, 57, 400, 4, 20)
	seeks := 0
	open := syncFrom(p.rate, b)
	s := synchronise(t, syncFrom(p.rate, a), func() (SyncReader, error) {
		r, err := open()
		return packed{r, &seeks}, err
	}, SyncOptions{})
	wantSync(t, p, s, 1, 3)
	if t.Logf("%d windows, %d seeks", len(s.Windows), seeks); seeks > 8 {
		t.Errorf("%d seeks, want at most 8", seeks)
	}
}

// places calls each with the likeliest places of two recordings.
func (l *Lineup) places(ctx context.Context, a, b SyncRecording, each func(m *matcher, g guess) error) error {
	ta, err := l.track(ctx, "a", a)
	if err != nil {
		return err
	}
	tb, err := l.track(ctx, "b", b)
	if err != nil {
		return err
	}
	m := newMatcher(ta, tb, 200e-6)
	la, lb, err := l.bothLevels(ctx, a, b, m, &syncProgress{})
	if err != nil {
		return err
	}
	m.lively = [2]liveliness{la.liveliness(), lb.liveliness()}
	seen, err := sightings(ctx, la, lb, func(float64) {})
	most := syncTries
	if min(ta.seconds(), tb.seconds()) < shortOverlap {
		most *= 4
	}
	for _, g := range hypotheses(seen, m.drift, most) {
		err = errors.Join(err, each(m, g))
	}
	return errors.Join(err, ta.close(), tb.close())
}

// Levels that the shelf sets aside come back as they were, from memory, from
// the file, and where no file can be made.
func TestLevelShelf(t *testing.T) {
	for _, folder := range []string{t.TempDir(), "/nowhere"} {
		t.Setenv("TMPDIR", folder)
		var s levelShelf
		var put []*bandLevels
		var at []shelved
		for i := range 4 { // each over a third of what is kept in memory
			l := &bandLevels{}
			for b := range l {
				l[b] = make([]uint8, shelfInMind/scanBands/3+i+1)
				for k := range l[b] {
					l[b][k] = uint8(k*(i+b+2) + k>>8)
				}
			}
			put, at = append(put, l), append(at, s.put(l))
		}
		filed := 0
		for i, x := range at {
			if x.inMind == nil {
				filed++
			}
			l, err := s.get(x)
			if err != nil {
				t.Fatal(err)
			}
			for b := range l {
				if !slices.Equal(l[b], put[i][b]) {
					t.Fatalf("%s: levels %d, band %d are not what they were", folder, i, b)
				}
			}
		}
		if want := map[bool]int{true: 0, false: 2}[folder == "/nowhere"]; filed != want {
			t.Errorf("%s: %d of 4 in the file, want %d", folder, filed, want)
		}
		if err := errors.Join(s.close(), s.close()); err != nil {
			t.Error(err)
		}
	}
}

// By hand: every 4/5 of a frame; next to silence nothing is mixed.
func TestStretchedLevels(t *testing.T) {
	l := &bandLevels{{10, 20, 30, 0, 40}}
	for b := 1; b < scanBands; b++ {
		l[b] = l[0]
	}
	if got, want := l.stretched(0.8)[0], []uint8{10, 18, 26, 30, 0, 40}; !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
	if got := l.stretched(1)[0]; !slices.Equal(got, l[0]) {
		t.Errorf("got %v, want the same", got)
	}
	if got := (&bandLevels{}).stretched(0.8).frames(); got != 0 {
		t.Errorf("%d frames of none", got)
	}
}
