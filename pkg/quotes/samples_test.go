package quotes

import (
	"cmp"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// sampleTruth is what the sample shoot's renderer knows of a reel.
type sampleTruth struct {
	Seconds   float64
	Speech    map[string][][2]float64
	Sentences []struct {
		Speaker string
		In, Out float64
		Text    string
	}
}

// hears makes of the truth what a perfect listener would hear; silences under
// 150 ms are none.
func (s sampleTruth) hears() *story.Heard {
	var all []timecode.Span
	h := &story.Heard{Duration: timecode.FromSeconds(s.Seconds)}
	for who, spans := range s.Speech {
		for _, p := range spans {
			span := timecode.Span{In: timecode.FromSeconds(p[0]), Out: timecode.FromSeconds(p[1])}
			all = append(all, span)
			h.Turns = append(h.Turns, story.Turn{Speaker: who, Span: span, Source: story.ByChannel})
		}
	}
	byIn := func(a, b timecode.Span) int { return cmp.Compare(a.In, b.In) }
	slices.SortFunc(all, byIn)
	slices.SortFunc(h.Turns, func(a, b story.Turn) int { return byIn(a.Span, b.Span) })
	for _, s := range all {
		if n := len(h.Speech); n > 0 && s.In-h.Speech[n-1].Out < 150*timecode.Millisecond {
			h.Speech[n-1].Out = max(h.Speech[n-1].Out, s.Out)
			continue
		}
		h.Speech = append(h.Speech, s)
	}
	return h
}

// The sample shoot's transcripts, one of each kind, against the times at
// which its sentences were rendered.
func TestSamples(t *testing.T) {
	folder := filepath.Join("..", "..", "samples")
	data, err := os.ReadFile(filepath.Join(folder, "truth.json"))
	if err != nil {
		t.Skip("samples/truth.json not found: it comes with the repository")
	}
	var truth map[string]sampleTruth
	if err := json.Unmarshal(data, &truth); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"day1/D1-INT1.srt", "day1/D1-WILF.vtt", "day2/D2-INT2.txt", "day2/D2-WALK.json"} {
		t.Run(name, func(t *testing.T) {
			file, err := os.Open(filepath.Join(folder, name))
			if err != nil {
				t.Fatal(err)
			}
			defer file.Close()
			clock := timecode.Clock{Base: timecode.Base{Rate: timecode.Rate25}}
			doc, err := timedtext.Read(file, timedtext.ReadOptions{Name: filepath.Base(name), Base: clock.Base})
			if err != nil {
				t.Fatal(err)
			}
			if doc.Labels {
				clock.Start = 10 * timecode.Hour
			}
			want := truth[strings.TrimSuffix(filepath.Base(name), filepath.Ext(name))]
			h := want.hears()
			res := build(t, Source{Recording: story.Recording{Reel: "R", Duration: h.Duration, Clock: clock}, Document: doc, Heard: h})
			if len(res.Quotes) != len(want.Sentences) || len(res.Warnings) > 0 {
				t.Fatalf("got %d quotes and warnings %v, want %d quotes", len(res.Quotes), res.Warnings, len(want.Sentences))
			}
			off := 0
			for i, q := range res.Quotes {
				s := want.Sentences[i]
				if q.Text != s.Text || q.Speaker != s.Speaker {
					t.Errorf("quote %d: got %s: %q, want %s: %q", i, q.Speaker, q.Text, s.Speaker, s.Text)
				}
				in, out := q.In.Seconds()-s.In, q.Out.Seconds()-s.Out
				if max(in, -in) > 0.2 || max(out, -out) > 0.2 {
					off++
					t.Logf("%s (%s, %s) %q: in %+.3f s, out %+.3f s", q.Span, q.InBy, q.OutBy, q.Text, in, out)
				}
			}
			t.Logf("%d of %d more than 0.2 s off", off, len(res.Quotes))
			// What is off are sayings that the next speaker talks into.
			if off > len(res.Quotes)/14 {
				t.Errorf("got %d of %d quotes more than 0.2 s off, want %d at most", off, len(res.Quotes), len(res.Quotes)/14)
			}
		})
	}
}
