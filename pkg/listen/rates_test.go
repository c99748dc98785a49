package listen

import (
	"context"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"

	"rushlight/pkg/sound"
	"rushlight/pkg/timecode"
)

// One recording is heard alike at every sample rate, low voices too: SoX
// resamples the first interview of the samples, a man's and a woman's voice.
func TestRatesAgree(t *testing.T) {
	sox, err := exec.LookPath("sox")
	if err != nil {
		t.Skip("no sox: apt-get install sox")
	}
	from := filepath.Join("..", "..", "samples", "day1", "D1-INT1.wav")
	heard := func(path string) (speech timecode.Ticks, stretches int, most float64) {
		r, err := sound.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer r.Close()
		h, err := Hear(context.Background(), r, Options{})
		if err != nil {
			t.Fatal(err)
		}
		by := map[string]timecode.Ticks{}
		var all timecode.Ticks
		for _, s := range h.Speech {
			speech += s.Length()
		}
		for _, u := range h.Turns {
			by[u.Speaker] += u.Length()
			all += u.Length()
		}
		for _, n := range by {
			most = max(most, float64(n)/float64(all))
		}
		return speech, len(h.Speech), most
	}
	want, stretches, share := heard(from)
	for _, rate := range []int{8000, 11025, 12000, 22050, 44100, 48000, 88200} {
		path := filepath.Join(t.TempDir(), strconv.Itoa(rate)+".wav")
		if out, err := exec.Command(sox, from, "-r", strconv.Itoa(rate), path).CombinedOutput(); err != nil {
			t.Fatalf("sox: %v\n%s", err, out)
		}
		got, n, most := heard(path)
		if off := float64(got-want) / float64(want); off < -0.03 || off > 0.03 {
			t.Errorf("%d Hz: %s of speech, want %s", rate, got, want)
		}
		if n < stretches-4 || n > stretches+4 {
			t.Errorf("%d Hz: %d stretches, want about %d", rate, n, stretches)
		}
		if most < share-0.05 || most > share+0.05 {
			t.Errorf("%d Hz: who talks most has %.2f, want about %.2f", rate, most, share)
		}
	}
}
