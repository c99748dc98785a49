// Package samples holds the demo shoot; it has no code but this check of what
// the renderer left.
package samples

import (
	"encoding/json"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

type reel struct {
	File      string
	Seconds   float64
	Speech    map[string][][2]float64
	Pauses    [][2]float64
	Sentences []struct {
		Speaker, Text string
		In, Out       float64
	}
}

func truth(t *testing.T) map[string]reel {
	t.Helper()
	b, err := os.ReadFile("truth.json")
	if err != nil {
		t.Fatal(err)
	}
	var m map[string]reel
	if err := json.Unmarshal(b, &m); err != nil {
		t.Fatal(err)
	}
	return m
}

func TestSize(t *testing.T) {
	var got int64
	for _, day := range []string{"day1", "day2"} {
		err := filepath.WalkDir(day, func(_ string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			info, err := d.Info()
			if err == nil {
				got += info.Size()
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if want := int64(15_000_000); got >= want {
		t.Errorf("the demo shoot takes %d bytes, want less than %d", got, want)
	}
}

func TestTruth(t *testing.T) {
	m := truth(t)
	if got, want := len(m), 7; got != want {
		t.Fatalf("%d reels, want %d", got, want)
	}
	for name, r := range m {
		if _, err := os.Stat(r.File); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		last := map[string]float64{}
		for _, s := range r.Sentences {
			if s.In < last[s.Speaker] || s.Out <= s.In || s.Out > r.Seconds {
				t.Errorf("%s: %q lies at %v-%v, want after %v and within %v", name, s.Text, s.In, s.Out, last[s.Speaker], r.Seconds)
			}
			last[s.Speaker] = s.Out
		}
		for _, p := range r.Pauses {
			for who, spans := range r.Speech {
				for _, s := range spans {
					if s[0] < p[1] && p[0] < s[1] {
						t.Errorf("%s: %s speaks at %v inside the pause %v", name, who, s, p)
					}
				}
			}
		}
	}
}

// marks is what a transcript holds besides the words.
var marks = regexp.MustCompile(`(?m)^WEBVTT.*$|^NOTE.*$|^\d+$|^[\d:.,]+ --> .*$|^\[[\d:]+\]$|</?v[^>]*>|(?:Ines Corrigan|Joss Adeyemi|Petra Vance): `)

func TestTranscriptsSayWhatIsSaid(t *testing.T) {
	m := truth(t)
	for name, path := range map[string]string{
		"D1-INT1": "day1/D1-INT1.srt", "D1-WILF": "day1/D1-WILF.vtt", "D2-INT2": "day2/D2-INT2.txt",
	} {
		b, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		var said []string
		for _, s := range m[name].Sentences {
			said = append(said, s.Text)
		}
		got := strings.Join(strings.Fields(marks.ReplaceAllString(string(b), " ")), " ")
		if want := strings.Join(said, " "); got != want {
			t.Errorf("%s:\n got %q\nwant %q", path, got, want)
		}
	}
}
