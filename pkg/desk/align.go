package desk

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"strings"

	"rushlight/pkg/bank"
	"rushlight/pkg/quotes"
	"rushlight/pkg/story"
)

// Aligned says how surely the words of a reel lie on its sound.
type Aligned struct {
	Reel string `json:"reel"`
	// Quotes are all of the reel; their "in_by" and "out_by" say how each
	// time was found.
	Quotes []story.Quote `json:"quotes"`
	// Confidence is how sure in and out of each quote are, 0 to 1.
	Confidence []float64 `json:"confidence"`
	// Edges counts ins and outs by how they were found.
	Edges map[story.Precision]int `json:"edges"`
	// Look are the quotes that a person should listen to.
	Look []story.Code `json:"look"`
	// Clock is how the transcript's clock runs beside the sound, nil if that
	// isn't known; ClockNote says it in words.
	Clock     *TextClock `json:"clock"`
	ClockNote string     `json:"clock_note"`
	// Offset is what was added to all of the transcript's times.
	Offset float64 `json:"offset_seconds"`
	// Doubtful tells that the words fit the sound no better than by chance.
	Doubtful bool `json:"doubtful"`
}

// TextClock is the drift of a transcript's clock.
type TextClock struct {
	// DriftPPM is above 0 where the transcript's clock is slow.
	DriftPPM float64 `json:"drift_ppm"`
	// ErrorPPM is the standard error of it.
	ErrorPPM float64 `json:"error_ppm"`
	// Times is how many times of the transcript lie where speech begins.
	Times int `json:"times"`
	// Corrected tells that the quotes' times were moved by it.
	Corrected bool `json:"corrected"`
}

// Alignment tells how surely each quote's in and out are known, and how the
// transcript's clock drifts, as far as its file is still there.
func (d *Desk) Alignment(ctx context.Context, reel string) (Aligned, error) {
	rec, err := d.recording(ctx, reel)
	if err != nil {
		return Aligned{}, err
	}
	heard, err := d.bank.Heard(ctx, rec.Reel)
	if err != nil && !errors.Is(err, bank.ErrNotFound) {
		return Aligned{}, err
	}
	out := Aligned{Reel: rec.Reel, Quotes: []story.Quote{}, Edges: map[story.Precision]int{}, Look: []story.Code{}}
	for q, err := range d.bank.Quotes(ctx, bank.Filter{Reel: rec.Reel}) {
		if err != nil {
			return out, err
		}
		out.Quotes = append(out.Quotes, q)
		out.Edges[q.InBy]++
		out.Edges[q.OutBy]++
	}
	out.Confidence = quotes.Confidence(out.Quotes, heard)
	placed, note := d.placedText(ctx, rec, heard)
	placed.kept = placed.leftAlone(ctx, out.Quotes)
	placed.belongs.Doubt(out.Confidence)
	for i, c := range out.Confidence {
		out.Confidence[i] = math.Round(c*100) / 100
		if c < quotes.SureEnough {
			out.Look = append(out.Look, out.Quotes[i].Code)
		}
	}
	if out.ClockNote = note; note == "" {
		out.Clock, out.ClockNote = placed.clock()
	}
	if out.Doubtful = placed.belongs.Doubtful; !placed.kept {
		out.Offset = placed.belongs.Offset.Seconds()
	}
	return out, nil
}

// unknownClock begins what is said where the clock isn't known.
const unknownClock = "how the transcript's clock runs isn't known: "

// placedText reads the transcript of a reel once more and lays it on the sound;
// else it says why not.
func (d *Desk) placedText(ctx context.Context, rec story.Recording, heard *story.Heard) (onSound, string) {
	switch {
	case rec.Transcript.Path == "":
		return onSound{}, unknownClock + "the reel has no transcript"
	case heard == nil:
		return onSound{}, unknownClock + "the reel has no sound"
	}
	in := &ingest{Desk: d, base: rec.Clock.Base}
	if sum, err := d.bank.Summary(ctx); err == nil && sum.Base.Rate.Known() {
		in.base = sum.Base
	}
	doc, digest, err := in.readText(ctx, rec.Transcript.Path, rec.Clock.Base)
	if err != nil || digest != rec.Transcript.Digest {
		return onSound{}, unknownClock + filepath.Base(rec.Transcript.Path) + " is gone or has changed"
	}
	return putOnSound(ctx, quotes.Source{Recording: rec, Document: doc, Heard: heard}, false), ""
}

// clock says how the transcript's clock runs; nil if that isn't known.
func (o onSound) clock() (*TextClock, string) {
	said := strings.Join(o.warnings(), "; ")
	if !o.times {
		if said == "" {
			said = unknownClock + "too few of its times lie where speech begins"
		}
		return nil, said
	}
	c := &TextClock{math.Round(o.drift.PPM*10) / 10, math.Round(o.drift.Error*10) / 10, o.drift.Times, o.drift.Sure && !o.kept}
	if said == "" {
		said = fmt.Sprintf("the transcript's clock keeps the time of the sound (%s)", count(o.drift.Times, "time", "times"))
	}
	return c, said
}

// describeDrift says what was found.
func describeDrift(d quotes.Drift) string {
	how := "slow"
	if d.PPM < 0 {
		how = "fast"
	}
	share := math.Abs(d.PPM) / 1e6
	return fmt.Sprintf("the transcript's clock runs %.2f %% %s, %.1f s an hour", 100*share, how, 3600*share)
}
