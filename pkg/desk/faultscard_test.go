package desk

import (
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// What is odd on a card is told of the few, not of the many, and the channels
// of one take may start together.
func TestCardFaults(t *testing.T) {
	at25, at24 := timecode.Base{Rate: timecode.Rate25}, timecode.Base{Rate: timecode.Rate24}
	take := func(reel string, rate int, base timecode.Base, start, length timecode.Ticks) FileFaults {
		return FileFaults{rated: true, Recording: story.Recording{
			Reel: reel, Path: "/card/" + reel + ".wav", SampleRate: rate, Duration: length, Day: "D1",
			Clock: timecode.Clock{Base: base, Start: start},
		}}
	}
	const h, m = timecode.Hour, timecode.Minute
	for _, tt := range []struct {
		name  string
		files []FileFaults
		want  []string // a part of each file's one fault, "" for none
	}{
		{"all alike", []FileFaults{take("A", 48000, at25, 9*h, m), take("B", 48000, at25, 10*h, m), take("C", 48000, at25, 11*h, 2*m)}, []string{"", "", ""}},
		{
			"rates",
			[]FileFaults{take("A", 48000, at25, 9*h, m), take("B", 44100, at25, 10*h, m), take("C", 48000, at25, 11*h, m), take("D", 48000, at24, 12*h, m)},
			[]string{"", "44.1 kHz, where 3 other", "", "24 frames/s, where 3 other"},
		},
		{"two against two", []FileFaults{take("A", 48000, at25, 9*h, m), take("B", 44100, at25, 10*h, m), take("C", 48000, at25, 11*h, m), take("D", 44100, at25, 12*h, m)}, []string{"", "", "", ""}},
		{
			"a clock that begins anew",
			[]FileFaults{take("A", 48000, at25, h, m), take("B", 48000, at25, h, 2*m), take("C", 48000, at25, h, 3*m), take("D", 48000, at25, 5*h, m)},
			[]string{"starts at 01:00:00:00 like B, C", "like A, C", "like A, B", ""},
		},
		{"channels of one take", []FileFaults{take("A1", 48000, at25, h, m), take("A2", 48000, at25, h, m), take("A3", 48000, at25, h, m)}, []string{"", "", ""}},
		{"no timecode", []FileFaults{take("A", 48000, at25, 0, m), take("B", 48000, at25, 0, 2*m), take("C", 48000, at25, 0, 3*m)}, []string{"", "", ""}},
	} {
		cardFaults(tt.files)
		for i, f := range tt.files {
			var got []string
			for _, x := range f.Faults {
				got = append(got, x.What)
			}
			if all := strings.Join(got, "; "); (tt.want[i] == "") != (all == "") || len(got) > 1 || !strings.Contains(all, tt.want[i]) {
				t.Errorf("%s: %s: got %q, want %q", tt.name, f.Recording.Reel, all, tt.want[i])
			}
		}
	}
}
