package quotes

import (
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Quotes whose in and out are right (within 200 ms, built talks with known
// times) must rank above those that are wrong: the share of pairs in the right
// order (area under the curve), 0.5 by chance. Own bound.
func TestConfidence(t *testing.T) {
	for _, c := range []struct {
		name   string
		coarse bool
		want   float64
	}{{"cues", false, 0.65}, {"a time each 25 s", true, 0.7}} {
		var right, wrong []float64
		for seed := uint64(0); seed < 8; seed++ {
			v := makeInterview(seed, 10)
			doc := v.subtitles(seed)
			if c.coarse {
				doc = v.coarse(25)
			}
			rec := reel(0)
			rec.Duration = v.heard.Duration
			res := build(t, Source{Recording: rec, Document: doc, Heard: v.heard})
			for i, sure := range Confidence(res.Quotes, v.heard) {
				if sure < 0 || sure > 1 {
					t.Fatalf("confidence %v", sure)
				}
				good := true
				for _, d := range []timecode.Ticks{res.Quotes[i].In - v.truth[i].In, res.Quotes[i].Out - v.truth[i].Out} {
					good = good && max(d, -d) <= 200*ms
				}
				if good {
					right = append(right, sure)
				} else {
					wrong = append(wrong, sure)
				}
			}
		}
		order, low, lost := 0.0, 0, 0
		for _, w := range wrong {
			if w < SureEnough {
				low++
			}
			for _, r := range right {
				switch {
				case r > w:
					order++
				case r == w:
					order += 0.5
				}
			}
		}
		for _, r := range right {
			if r < SureEnough {
				lost++
			}
		}
		order /= float64(len(right) * len(wrong))
		t.Logf("%s: %.2f of pairs in order; to be looked at %d of %d wrong, %d of %d right", c.name, order, low, len(wrong), lost, len(right))
		if order < c.want {
			t.Errorf("%s: %.2f of pairs in order, want %.2f", c.name, order, c.want)
		}
	}
}

func TestConfidenceByKind(t *testing.T) {
	q := func(by story.Precision) story.Quote {
		return story.Quote{Span: span(0, 1000), Text: "Nobody rings.", InBy: by, OutBy: story.FromWords}
	}
	got := Confidence([]story.Quote{q(story.FromWords), q(story.FromPause), q(story.FromShare), q(story.FromGuess)}, nil)
	for i := 1; i < len(got); i++ {
		if got[i] >= got[i-1] {
			t.Errorf("got %v, want them to fall", got)
		}
	}
	if len(Confidence(nil, nil)) != 0 {
		t.Error("no quotes: want no confidence")
	}
}
