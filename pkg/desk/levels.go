package desk

import (
	"context"
	"encoding/json"

	"rushlight/pkg/bank"
	"rushlight/pkg/listen"
	"rushlight/pkg/sound"
	"rushlight/pkg/story"
	"rushlight/pkg/timecode"
)

// Levels are the loudness figures of a reel and of each of its quotes.
type Levels struct {
	Reel   string        `json:"reel"`
	Whole  Loudness      `json:"whole"`
	Quotes []QuoteLevels `json:"quotes"`
}

// QuoteLevels are those of one quote.
type QuoteLevels struct {
	Quote story.Quote
	Loudness
}

// MarshalJSON writes {"code", "in", "out", …} with the figures of Loudness.
func (q QuoteLevels) MarshalJSON() ([]byte, error) {
	return json.Marshal(struct {
		Code story.Code      `json:"code"`
		In   timecode.Moment `json:"in"`
		Out  timecode.Moment `json:"out"`
		loudnessJSON
	}{q.Quote.Code, q.Quote.Clock.In(q.Quote.In), q.Quote.Clock.Out(q.Quote.Out), q.json()})
}

// Loudness is what EBU R 128 asks of a programme.
type Loudness struct{ listen.Measured }

type loudnessJSON struct {
	Integrated *float64 `json:"integrated_lufs"`
	Momentary  *float64 `json:"momentary_max_lufs"`
	ShortTerm  *float64 `json:"short_term_max_lufs"`
	Range      float64  `json:"range_lu"`
	TruePeak   *float64 `json:"true_peak_dbtp"`
}

func (l Loudness) json() loudnessJSON {
	return loudnessJSON{
		finite(l.IntegratedLUFS), finite(l.MomentaryMaxLUFS), finite(l.ShortTermMaxLUFS), *finite(l.RangeLU), finite(l.TruePeakDBTP),
	}
}

// MarshalJSON writes the figures; one that has no value (too short, nothing
// above the gate) is null.
func (l Loudness) MarshalJSON() ([]byte, error) { return json.Marshal(l.json()) }

// Levels measures a reel and each of its quotes, in one pass.
func (d *Desk) Levels(ctx context.Context, reel string) (Levels, error) {
	rec, err := d.recording(ctx, reel)
	if err != nil {
		return Levels{}, err
	}
	if err := heardFrom(rec); err != nil {
		return Levels{}, err
	}
	out := Levels{Reel: rec.Reel, Quotes: []QuoteLevels{}}
	spans := []timecode.Span{{In: 0, Out: rec.Duration}}
	for q, err := range d.bank.Quotes(ctx, bank.Filter{Reel: rec.Reel}) {
		if err != nil {
			return out, err
		}
		out.Quotes = append(out.Quotes, QuoteLevels{Quote: q})
		spans = append(spans, q.Span)
	}
	rd, err := sound.OpenMedia(ctx, rec.Path)
	if err != nil {
		return out, err
	}
	defer rd.Close()
	rd.SkipEssence()
	measured, err := listen.MeasureSpans(ctx, rd, spans)
	if err != nil {
		return out, err
	}
	out.Whole.Measured = measured[0]
	for i := range out.Quotes {
		out.Quotes[i].Measured = measured[i+1]
	}
	return out, nil
}
