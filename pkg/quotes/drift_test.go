package quotes

import (
	"math"
	"math/rand/v2"
	"testing"

	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
	"rushlight/pkg/timedtext"
)

// spokenFor makes sentences of 1.5 to 6 s with gaps of 0.4 to 1.6 s: what is
// heard of them, pauses inside some of them included.
func spokenFor(r *rand.Rand, minutes float64) (sentences []timecode.Span, h *story.Heard) {
	at := 1.0
	h = &story.Heard{Duration: timecode.FromSeconds(minutes * 60)}
	for at < minutes*60-8 {
		s := timecode.Span{In: timecode.FromSeconds(at), Out: timecode.FromSeconds(at + 1.5 + 4.5*r.Float64())}
		sentences = append(sentences, s)
		if mid := s.In + s.Length()/2; r.IntN(3) == 0 {
			h.Speech = append(h.Speech, timecode.Span{In: s.In, Out: mid}, timecode.Span{In: mid + 350*ms, Out: s.Out})
		} else {
			h.Speech = append(h.Speech, s)
		}
		at = s.Out.Seconds() + 0.4 + 1.2*r.Float64()
	}
	return sentences, h
}

// writtenDown is a transcript of sentences by a clock that calls at what is at
// (1 + ppm/1e6) at: each with an in that is off by up to 0.3 s, or one time each
// 25 s in whole seconds.
func writtenDown(r *rand.Rand, sentences []timecode.Span, ppm float64, coarse bool) *timedtext.Document {
	doc := &timedtext.Document{Format: timedtext.SRT, Language: "en", Coarse: coarse}
	next := 0.0
	for i, s := range sentences {
		in, out := s.In.Seconds()/(1+ppm/1e6), s.Out.Seconds()/(1+ppm/1e6)
		if coarse {
			if in < next {
				continue
			}
			next, in = in+25, math.Floor(in)
		} else {
			in += 0.3 * (2*r.Float64() - 1)
		}
		c := said(int64(in*1000), int64(out*1000), "Nobody rings the bell.")
		c.Line, c.OpenEnd = i+1, coarse
		doc.Cues = append(doc.Cues, c)
	}
	return doc
}

// Own aims (common practice, no source): the drift of a clock is known to 0.2 s
// over the recording, none is found where there is none, and none where the
// transcript belongs to another recording.
func TestClockDrift(t *testing.T) {
	for _, c := range []struct {
		minutes float64
		coarse  bool
	}{{10, true}, {60, true}, {10, false}, {60, false}} {
		for _, ppm := range []float64{0, 100, -1000, 1001, -4000, 10000} {
			for seed := range uint64(5) {
				r := rand.New(rand.NewPCG(seed, 11))
				sentences, h := spokenFor(r, c.minutes)
				rec := reel(int64(c.minutes * 60_000))
				d, ok := ClockDrift(t.Context(), Source{Recording: rec, Document: writtenDown(r, sentences, ppm, c.coarse), Heard: h})
				off := (d.PPM - ppm) / 1e6 * c.minutes * 60
				most := 0.2
				if c.coarse {
					most = 0.7
				}
				moves := math.Abs(ppm)/1e6*c.minutes*60 > 1.5
				if !ok || math.Abs(off) > most || d.Sure != moves && (ppm == 0 || moves) {
					t.Errorf("%v min, coarse %v, %v ppm, seed %d: %+v, %v; off by %.2f s at the end", c.minutes, c.coarse, ppm, seed, d, ok, off)
				}
			}
		}
	}
}

func TestClockDriftOfStrangers(t *testing.T) {
	found := 0
	for seed := range uint64(200) {
		r := rand.New(rand.NewPCG(seed, 12))
		minutes := 5 + 40*r.Float64()
		_, h := spokenFor(r, minutes)
		others, _ := spokenFor(r, minutes)
		d, _ := ClockDrift(t.Context(), Source{Recording: reel(int64(minutes * 60_000)), Document: writtenDown(r, others, 0, seed%2 == 0), Heard: h})
		if d.Sure {
			t.Logf("seed %d, %.0f min: %+v", seed, minutes, d)
			found++
		}
	}
	if found > 0 {
		t.Errorf("%d of 200 transcripts of other recordings have a drift", found)
	}
}
