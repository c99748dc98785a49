//go:build unix

package themes

import (
	"context"
	"fmt"
	"math"
	"math/rand"
	"os"
	"runtime"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// wordsPerHour is that of ordinary talk: 150 a minute.
const wordsPerHour = 9000

// longShoot streams so many hours of talk made of real meetings: turns in
// turn from all of them, an hour to a reel, six reels to a day. Every eighth
// word is exchanged for one of a vocabulary that grows with the talk by Heaps'
// law, with an exponent of 0.6.
func longShoot(ms []meeting, hours int) func(func(story.Quote, error) bool) {
	return func(yield func(story.Quote, error) bool) {
		r := rand.New(rand.NewSource(7))
		turns := []story.Quote{}
		for q := range meetingQuotes(ms) {
			turns = append(turns, q)
		}
		r.Shuffle(len(turns), func(i, j int) { turns[i], turns[j] = turns[j], turns[i] })
		said, order, reel := 0, 0, -1
		for i := 0; said < hours*wordsPerHour; i++ {
			if at := said / wordsPerHour; at != reel {
				reel, order = at, 0
			}
			q := turns[i%len(turns)]
			vocabulary := 1 + int(10*math.Pow(float64(said), 0.6))
			words := strings.Fields(q.Text)
			for k, w := range words {
				if w[0] >= 'A' {
					said++
				}
				if r.Intn(8) == 0 && w[0] >= 'A' {
					words[k] = coined(r.Intn(vocabulary))
				}
			}
			q.Text = strings.Join(words, " ")
			q.Reel, q.Day, q.Order = fmt.Sprintf("R%05d", reel), fmt.Sprintf("D%04d", reel/6), order
			q.Code = story.Code(fmt.Sprint(i))
			q.In = timecode.Ticks(said%wordsPerHour) * timecode.Second * 2 / 5
			q.Out = q.In + timecode.Ticks(len(words))*timecode.Second*2/5
			order++
			if !yield(q, nil) {
				return
			}
		}
	}
}

// coined makes a word from a number.
func coined(n int) string {
	syllables := strings.Fields("ba co di fe gu la mo ni pe ru sa to vi we zo")
	var b strings.Builder
	for n += 15 * 15; n > 0; n /= 15 {
		b.WriteString(syllables[n%15])
	}
	return b.String()
}

// cost is what one Find takes beyond making the talk.
type cost struct {
	cpu, wall time.Duration
	peakMiB   float64
	words     int
}

// measureFind runs Find on a shoot of so many hours that is held ready, and
// measures processor time, and the highest heap above what was there before,
// looked at every 5 ms.
func measureFind(t *testing.T, ms []meeting, hours int) cost {
	t.Helper()
	quotes := []story.Quote{}
	for q := range longShoot(ms, hours) {
		quotes = append(quotes, q)
	}
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	before, peak, done := m.HeapAlloc, atomic.Uint64{}, make(chan bool)
	go func() {
		for {
			select {
			case <-done:
				return
			case <-time.After(5 * time.Millisecond):
				var m runtime.MemStats
				runtime.ReadMemStats(&m)
				peak.Store(max(peak.Load(), m.HeapAlloc))
			}
		}
	}()
	start, cpu := time.Now(), processorTime()
	got, err := Find(context.Background(), func(yield func(story.Quote, error) bool) {
		for _, q := range quotes {
			if !yield(q, nil) {
				return
			}
		}
	}, Options{})
	c := cost{wall: time.Since(start), cpu: processorTime() - cpu, words: got.Words}
	close(done)
	if err != nil || len(got.Recurring) == 0 {
		t.Fatalf("got %d candidates, %v", len(got.Recurring), err)
	}
	c.peakMiB = max(0, float64(peak.Load())-float64(before)) / (1 << 20)
	return c
}

func processorTime() time.Duration {
	var u syscall.Rusage
	if syscall.Getrusage(syscall.RUSAGE_SELF, &u) != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// TestLongShoots: 100 hours of talk (900,000 words) take at most 5 s and 500
// MiB, and time grows no faster than the words do; 1,000 hours where
// RUSHLIGHT_SLOW is set. Processor time is what is compared: the machine may
// be busy.
func TestLongShoots(t *testing.T) {
	if testing.Short() {
		t.Skip("100 hours of talk: left out by -short")
	}
	ms := meetings(t)
	hours := []int{10, 100}
	if os.Getenv("RUSHLIGHT_SLOW") != "" {
		hours = append(hours, 1000)
	}
	var last cost
	for _, h := range hours {
		// The best of four runs of 10 hours, of two of 100.
		c := measureFind(t, ms, h)
		for range min(3, 100/h) {
			if again := measureFind(t, ms, h); again.cpu < c.cpu {
				c = again
			}
		}
		t.Logf("%4d hours, %8d words: %.2f s of processor, %.2f s on the clock, %.0f MiB above the talk itself, %.2f µs a word",
			h, c.words, c.cpu.Seconds(), c.wall.Seconds(), c.peakMiB, c.cpu.Seconds()*1e6/float64(c.words))
		if h == 100 && (c.cpu > 5*time.Second || c.peakMiB > 500) {
			t.Errorf("100 hours took %v and %.0f MiB, want at most 5 s and 500 MiB", c.cpu, c.peakMiB)
		}
		if last.words > 0 {
			growth := c.cpu.Seconds() / last.cpu.Seconds() / (float64(c.words) / float64(last.words))
			t.Logf("     time grew %.2f times as fast as the words", growth)
			// A quarter is what a busy machine with small caches is off by.
			if growth > 1.25 {
				t.Errorf("%d hours: time grew %.2f times as fast as the words, want about 1 at most", h, growth)
			}
		}
		last = c
	}
}
