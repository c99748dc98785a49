package quotes

import (
	"strings"
	"testing"

	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// Built talks with known words (see makeInterview): a transcript with its own
// talk's words is never doubted, in subtitles, with a time each 25 s, and with
// a time only at the start; that of another talk always is; times that are all
// off by the same are found again within 1.5 s, and none is moved for nothing.
func TestBelongs(t *testing.T) {
	for seed := uint64(0); seed < 2; seed++ {
		v, other := makeInterview(seed, 8), makeInterview(seed+100, 8)
		for _, c := range []struct {
			name  string
			doc   *timedtext.Document
			off   float64
			doubt bool
		}{
			{"subtitles", v.subtitles(seed), 0, false},
			{"a time each 25 s", v.coarse(25), 0, false},
			{"a time at the start", v.coarse(10_000), 0, false},
			{"subtitles 1 s late", v.subtitles(seed), 1, false},
			{"subtitles 3 s late", v.subtitles(seed), 3, false},
			{"a time each 25 s, 7 s late", v.coarse(25), 7, false},
			{"subtitles 20 s early", v.subtitles(seed), -20, false},
			{"words 7 s late", worded(v.subtitles(seed)), 7, false},
			{"another talk's words", worded(other.subtitles(seed)), 0, true},
			{"another talk's subtitles", other.subtitles(seed), 0, true},
			{"another talk, a time each 25 s", other.coarse(25), 0, true},
			{"another talk, a time at the start", other.coarse(10_000), 0, true},
		} {
			rec := reel(0)
			rec.Duration = v.heard.Duration
			src := Source{Recording: rec, Document: c.doc, Heard: v.heard}
			src.Document = Drift{Offset: timecode.FromSeconds(c.off)}.Correct(src)
			b, ok := Belongs(t.Context(), src)
			t.Logf("seed %d, %s: fit %.2f, chance %.2f, spread %.3f, offset %.1f s, astray %.2f", seed, c.name, b.Fit, b.Chance, b.Spread, b.Offset.Seconds(), b.Astray)
			if !ok || b.Doubtful != c.doubt {
				t.Errorf("seed %d, %s: known %v, doubtful %v, want %v", seed, c.name, ok, b.Doubtful, c.doubt)
			}
			want := 0.0
			if !c.doubt {
				want = -c.off
			}
			if got := b.Offset.Seconds(); got < want-1.5 || got > want+1.5 || want == 0 && got != 0 {
				t.Errorf("seed %d, %s: offset %.1f s, want %.1f", seed, c.name, got, want)
			}
			if !c.doubt && b.Astray >= 0.25 {
				t.Errorf("seed %d, %s: %.2f astray", seed, c.name, b.Astray)
			}
		}
	}
}

// worded gives each line a time of its own, as a transcript with word times has.
func worded(doc *timedtext.Document) *timedtext.Document {
	for _, c := range doc.Cues {
		for _, l := range c.Lines {
			for r := range l {
				l[r].Words = []timedtext.Word{{Text: l[r].Text, Span: c.Span}}
			}
		}
	}
	return doc
}

// Times that count 25 frames a second as 24 don't fit, and the rates are named;
// at the end of the recording alone that doesn't show where talk stops early.
func TestBelongsRate(t *testing.T) {
	v := makeInterview(2, 10)
	rec := reel(0)
	rec.Duration = v.heard.Duration + 5*timecode.Minute
	src := Source{Recording: rec, Document: v.coarse(25), Heard: v.heard}
	// 24 and 23.976 are a second in ten minutes apart, and the clock's drift mends that.
	for want, ppm := range map[string]float64{" read as 24": 1e6 / 24, " read as 25": -1e6 / 25} {
		off := src
		off.Document = Drift{PPM: ppm}.Correct(src)
		if b, ok := Belongs(t.Context(), off); !ok || !b.Doubtful || !strings.HasSuffix(b.Rate, want) {
			t.Errorf("known %v, doubtful %v, rate %q, want %q", ok, b.Doubtful, b.Rate, want)
		}
	}
}

// Where two passages stand in each other's place, the quotes there lose their
// confidence and the others keep it.
func TestDoubtOfSwappedPassages(t *testing.T) {
	v := makeInterview(4, 10)
	n := len(v.texts)
	a, b, size := n/5, 3*n/5, n/5
	for i := range size {
		v.texts[a+i], v.texts[b+i] = v.texts[b+i], v.texts[a+i]
	}
	rec := reel(0)
	rec.Duration = v.heard.Duration
	src := Source{Recording: rec, Document: v.coarse(25), Heard: v.heard}
	res := build(t, src)
	before := Confidence(res.Quotes, v.heard)
	after := Confidence(res.Quotes, v.heard)
	belonging, _ := Belongs(t.Context(), src)
	belonging.Doubt(after)
	low := func(sure []float64, wrong bool) (n, all int) {
		for i, s := range sure {
			if in := i >= a && i < a+size || i >= b && i < b+size; in == wrong {
				all++
				if s < SureEnough {
					n++
				}
			}
		}
		return n, all
	}
	was, all := low(before, true)
	now, _ := low(after, true)
	rightWas, right := low(before, false)
	rightNow, _ := low(after, false)
	t.Logf("marked of %d wrong ones: %d, were %d; of %d right ones: %d, were %d; astray %.2f", all, now, was, right, rightNow, rightWas, belonging.Astray)
	if 10*now < 7*all || 10*(rightNow-rightWas) > 2*right {
		t.Errorf("marked %d of %d wrong ones, %d of %d right ones", now, all, rightNow, right)
	}
}

// Too little to tell anything is not doubted.
func TestBelongsUnknown(t *testing.T) {
	v := makeInterview(1, 8)
	rec := reel(0)
	rec.Duration = v.heard.Duration
	for name, src := range map[string]Source{
		"no transcript": {Recording: rec, Heard: v.heard},
		"no sound":      {Recording: rec, Document: v.coarse(25)},
		"few words":     {Recording: rec, Heard: v.heard, Document: document(said(1000, 3000, "Nobody rings."))},
	} {
		b, ok := Belongs(t.Context(), src)
		if ok || b.Doubtful {
			t.Errorf("%s: known %v, doubtful %v", name, ok, b.Doubtful)
		}
	}
}
